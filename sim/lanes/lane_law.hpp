// The damper's tabled laws of every lane.
//
// Successive evaluations of a lane often lie on one piece of its law, so the last one is kept: only
// lanes that have left it are looked up.
#pragma once

#include <bit>
#include <cstddef>
#include <cstdint>
#include <limits>

#include "models/laws/damper.hpp"
#include "sim/lanes/lane_pieces.hpp"

namespace plunge {

// A scalar that is a number of lanes: Pack or Single.
template <class S>
concept LaneScalar = requires(const S& pack, float* lanes) {
  {S::load(lanes)};
  {pack.store(lanes)};
  {lane_bits(pack > S{})};
};

template <LaneScalar S>
struct LawTable<S> {
  explicit operator bool() const { return in_use_; }

  // Lane l has these laws from now on; without pieces: slopes, and then no lane has others.
  void set(std::size_t l, const LawView& compression, const LawView& rebound) {
    in_use_ = compression.pieces != nullptr;
    compression_[l] = compression;
    rebound_[l] = rebound;
    from_[l] = std::numeric_limits<Real>::quiet_NaN();
  }

  S force_either_way(const S& v, const Mask<S>& compressing) const {
    const S speed = select(compressing, v, -v);
    const S way = select(compressing, S(1.0), S(-1.0));
    // The last piece ends nowhere: its `to` is NaN.
    const Mask<S> on_it =
        speed >= S::load(from_) && !(speed >= S::load(to_)) && way * S::load(way_) > S(0.0);
    if (const std::uint32_t bits = lane_bits(!on_it); bits != 0) look_up(bits, speed, way);
    const S u = speed - S::load(start_);
    const S force = S::load(force_) + u * (S::load(slope_) + u * (S::load(c2_) + u * S::load(c3_)));
    return select(compressing, force, -force);
  }

 private:
  using Real = typename S::Real;
  using Row = Real[S::kSize];

  void look_up(std::uint32_t bits, const S& speed, const S& way) const {
    constexpr std::uint32_t kShift = 20;  // leaves three bits of the fraction
    constexpr std::uint32_t kFirst =
        std::bit_cast<std::uint32_t>(1.0F / (1 << -kLaneFirstOctave)) >> kShift;
    constexpr auto kLast = static_cast<std::uint32_t>(kLaneBuckets - 1);
    alignas(64) Row speeds;
    speed.store(speeds);
    alignas(64) Row ways;
    way.store(ways);
    for (; bits != 0; bits &= bits - 1) {
      const auto l = static_cast<std::size_t>(std::countr_zero(bits));
      const float at = speeds[l];
      const std::uint32_t key = std::bit_cast<std::uint32_t>(at) >> kShift;
      const std::uint32_t past = key < kFirst ? 0 : key - kFirst + 1;
      const std::uint32_t bucket = at > 0.0F ? (past < kLast ? past : kLast) : 0;
      const LawView& law = (ways[l] > 0 ? compression_ : rebound_)[l];
      const LawPiece* piece = law.pieces + law.first[bucket];
      while (at >= piece[1].start) ++piece;
      // The first goes on below its start: a step may overshoot a turn.
      from_[l] = piece == law.pieces ? -std::numeric_limits<Real>::infinity() : piece->start;
      to_[l] = piece[1].start;
      way_[l] = ways[l];
      start_[l] = piece->start;
      force_[l] = piece->force;
      slope_[l] = piece->slope;
      c2_[l] = piece->c2;
      c3_[l] = piece->c3;
    }
  }

  bool in_use_ = false;
  LawView compression_[S::kSize] = {};
  LawView rebound_[S::kSize] = {};
  // The piece that each lane was on last.
  alignas(64) mutable Row from_ = {};
  alignas(64) mutable Row to_ = {};
  alignas(64) mutable Row way_ = {};
  alignas(64) mutable Row start_ = {};
  alignas(64) mutable Row force_ = {};
  alignas(64) mutable Row slope_ = {};
  alignas(64) mutable Row c2_ = {};
  alignas(64) mutable Row c3_ = {};
};

}  // namespace plunge
