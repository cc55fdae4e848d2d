// Samples of the rides in lanes at k/rate, from the polynomials of each step.
#pragma once

#include <bit>
#include <cstddef>
#include <cstdint>

#include "sim/lanes/lane_curve.hpp"
#include "sim/lanes/lane_state.hpp"
#include "sim/lanes/lane_wish.hpp"

namespace plunge {

template <class S>
class LaneSampler {
 public:
  // Samples are written a register at a time.
  static constexpr std::size_t kSlack = 3 + S::kSize;

  // on: whether any channel is sampled.
  LaneSampler(const LaneWish& wish, bool on) : wish_(wish), on_(on) {
    if (!on_) return;
    sample_time_ = 1.0 / wish.sample_rate;
    for (std::size_t l = 0; l < kLanes; ++l) numbers_[l] = static_cast<Real>(l);
  }

  // Lane l writes there from now on; nothing before start().
  void open(std::size_t l, float* const (&out)[kLaneChannels]) {
    next_sample_[l] = 0;
    next_time_[l] = 1e300;
    for (std::size_t c = 0; c < kLaneChannels; ++c) out_[c][l] = out[c];
  }

  bool awaits_start(std::size_t l) const { return on_ && next_sample_[l] == 0; }

  // The first sample of a lane's ride, as its state has it.
  void start(const LaneState<S>& lanes, std::size_t l) {
    Real values[kLaneChannels];
    values[kLaneTravel] = lanes.state[kTravel][l];
    values[kLaneTravelSpeed] = lanes.state[kTravelSpeed][l];
    values[kLaneSprungSpeed] = lanes.state[kSprungSpeed][l];
    values[kLaneSprungAcceleration] = lanes.output[kOutSprungAcceleration][l];
    values[kLaneHandForce] = lanes.output[kOutHandForce][l];
    values[kLaneGroundForce] = lanes.output[kOutTyreForce][l];
    values[kLaneForkForce] = lanes.output[kOutForkForce][l];
    for (std::size_t c = 0; c < kLaneChannels; ++c) {
      if (wish_.channels[c]) out_[c][l][0] = static_cast<float>(values[c]);
    }
    next_sample_[l] = 1;
    next_time_[l] = sample_time_;
  }

  // How many samples a lane has.
  std::uint64_t count(std::size_t l) const { return next_sample_[l]; }

  // The samples of a step; time: that of its end, as accept() leaves it.
  void sample(const LaneState<S>& lanes, const Trial<S>& t, const Rates<S>& k) {
    if (!on_) return;
    Due due;
    find_due(lanes, t, due);
    if (due.bits == 0) return;
    constexpr double kNoLeast = -1e30;
    const auto cubic = [&](LaneChannel channel, StateIndex i) {
      const Cubic<S> f = Cubic<S>::between(t.h, t.y0[i], k[0][i], t.y1[i], k[4][i]);
      put(due, channel, f, kNoLeast);
    };
    const auto parabola = [&](LaneChannel channel, LaneOutput what, double least) {
      const S a = t.begin[what];
      const S b = t.middle[what];
      const S c = t.end[what];
      put(due, channel, {a, 4.0 * b - 3.0 * a - c, 2.0 * (a + c - 2.0 * b), S(0.0)}, least);
    };
    cubic(kLaneTravel, kTravel);
    cubic(kLaneTravelSpeed, kTravelSpeed);
    cubic(kLaneSprungSpeed, kSprungSpeed);
    parabola(kLaneSprungAcceleration, kOutSprungAcceleration, kNoLeast);
    parabola(kLaneHandForce, kOutHandForce, kNoLeast);
    parabola(kLaneGroundForce, kOutTyreForce, 0.0);
    parabola(kLaneForkForce, kOutForkForce, kNoLeast);
    for (std::uint32_t bits = due.bits; bits != 0; bits &= bits - 1) {
      const auto l = static_cast<std::size_t>(std::countr_zero(bits));
      next_sample_[l] += due.counts[l];
      next_time_[l] = static_cast<double>(next_sample_[l]) * sample_time_;
    }
  }

 private:
  using Real = typename S::Real;
  static constexpr std::size_t kLanes = S::kSize;
  using Row = Real[kLanes];

  // A sample nearer to the end of a step is on its edge [samples].
  static constexpr double kNearSample = 1e-6;

  // The lanes that have samples in a step: how many, the first one's share of the step, and from
  // one to the next.
  struct Due {
    std::uint32_t bits = 0;
    std::size_t counts[kLanes];
    alignas(64) Row starts;
    alignas(64) Row gaps;
  };

  void find_due(const LaneState<S>& lanes, const Trial<S>& t, Due& due) const {
    alignas(64) double samples[kLanes];  // since the next one
    alignas(64) Row late;                // [s]
    alignas(64) Row since;
    for (std::size_t l = 0; l < kLanes; ++l) {
      const double after = lanes.time[l] - next_time_[l];
      samples[l] = after * wish_.sample_rate + kNearSample;
      late[l] = static_cast<Real>(after);
      since[l] = static_cast<Real>(samples[l]);
    }
    due.bits = lane_bits(t.counted && S::load(since) >= S(0.0));
    if (due.bits == 0) return;
    const S inverse = 1.0 / max(t.h, S(1e-12));
    (1.0 - S::load(late) * inverse).store(due.starts);
    (inverse * sample_time_).store(due.gaps);
    for (std::uint32_t bits = due.bits; bits != 0; bits &= bits - 1) {
      const auto l = static_cast<std::size_t>(std::countr_zero(bits));
      std::size_t count = static_cast<std::size_t>(samples[l]) + 1;
      const double part = samples[l] - static_cast<double>(count - 1);
      // On the edge the rule itself decides: sample k lies at k/rate.
      if (part < 2.0 * kNearSample) {
        const auto last = static_cast<double>(next_sample_[l] + count - 1);
        if (last / wish_.sample_rate > lanes.time[l]) --count;
      }
      due.counts[l] = count;
    }
  }

  // A polynomial's samples, none below `least`; one lane after the other, samples side by side,
  // those of a whole register though fewer may be due.
  void put(const Due& due, LaneChannel channel, const Cubic<S>& f, double least) {
    if (!wish_.channels[channel]) return;
    alignas(64) Row a;
    alignas(64) Row b;
    alignas(64) Row c;
    alignas(64) Row d;
    f.a.store(a);
    f.b.store(b);
    f.c.store(c);
    f.d.store(d);
    for (std::uint32_t bits = due.bits; bits != 0; bits &= bits - 1) {
      const auto l = static_cast<std::size_t>(std::countr_zero(bits));
      const auto all = [l](const Row& row) { return S(static_cast<double>(row[l])); };
      float* const to = out_[channel][l] + next_sample_[l];
      for (std::size_t j = 0; j < due.counts[l]; j += kLanes) {
        const S t = all(due.starts) + all(due.gaps) * (S::load(numbers_) + static_cast<double>(j));
        max(all(a) + t * (all(b) + t * (all(c) + t * all(d))), S(least)).store(to + j);
      }
    }
  }

  const LaneWish& wish_;
  bool on_;
  double sample_time_ = 1.0;      // [s]
  alignas(64) Row numbers_ = {};  // 0, 1, 2, ...
  std::uint64_t next_sample_[kLanes] = {};
  alignas(64) double next_time_[kLanes] = {};
  float* out_[kLaneChannels][kLanes] = {};
};

}  // namespace plunge
