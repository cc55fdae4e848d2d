// A scalar that is many: what the laws of models/ are instantiated with in a sweep.
//
// Pack<Batch, K> is K registers of xsimd side by side, one ride a lane, so that the latency of one
// register's chain is hidden behind the other's. It has the arithmetic, the functions and the
// masks that the laws ask of a scalar (models/laws/numeric.hpp); a double or an int in an
// expression stands for the same number in every lane, rounded to the lane's type once. Every
// operation works lane by lane: a lane's number never depends on its neighbours.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <xsimd/xsimd.hpp>

namespace plunge {

template <class Batch, std::size_t K>
struct PackMask {
  using Part = typename Batch::batch_bool_type;
  std::array<Part, K> part;

  explicit PackMask(bool all = false) { part.fill(Part(all)); }

  template <class F>
  static PackMask from(const F& f) {
    PackMask mask;
    for (std::size_t k = 0; k < K; ++k) mask.part[k] = f(k);
    return mask;
  }

  friend PackMask operator&&(const PackMask& a, const PackMask& b) {
    return from([&](std::size_t k) { return a.part[k] & b.part[k]; });
  }
  friend PackMask operator||(const PackMask& a, const PackMask& b) {
    return from([&](std::size_t k) { return a.part[k] | b.part[k]; });
  }
  friend PackMask operator!(const PackMask& a) {
    return from([&](std::size_t k) { return ~a.part[k]; });
  }
  // The lanes as bits, the first lowest.
  friend std::uint32_t lane_bits(const PackMask& a) {
    constexpr std::size_t kPart = Batch::size;
    std::uint32_t bits = 0;
    for (std::size_t k = 0; k < K; ++k) {
      std::uint32_t part = 0;
#if defined(__AVX512F__)
      part = static_cast<std::uint32_t>(a.part[k].data);
#elif defined(__AVX__)
      part = static_cast<std::uint32_t>(_mm256_movemask_ps(a.part[k].data));
#elif defined(__SSE2__)
      part = static_cast<std::uint32_t>(_mm_movemask_ps(a.part[k].data));
#else
      bool lanes[kPart];
      a.part[k].store_unaligned(lanes);
      for (std::size_t l = 0; l < kPart; ++l) part |= static_cast<std::uint32_t>(lanes[l]) << l;
#endif
      bits |= part << (k * kPart);
    }
    return bits;
  }
  friend bool any(const PackMask& a) {
    bool found = false;
    for (const Part& part : a.part) found = xsimd::any(part) || found;
    return found;
  }
};

template <class Batch, std::size_t K>
struct Pack {
  using Real = typename Batch::value_type;
  using MaskType = PackMask<Batch, K>;
  static constexpr std::size_t kPart = Batch::size;
  static constexpr std::size_t kSize = kPart * K;
  std::array<Batch, K> part;

  Pack() = default;  // Pack{} is 0, Pack p; is not set
  Pack(double all) { part.fill(Batch(static_cast<Real>(all))); }

  template <class F>
  static Pack from(const F& f) {
    Pack pack;
    for (std::size_t k = 0; k < K; ++k) pack.part[k] = f(k);
    return pack;
  }
  static Pack load(const Real* lanes) {
    return from([&](std::size_t k) { return Batch::load_unaligned(lanes + k * kPart); });
  }
  void store(Real* lanes) const {
    for (std::size_t k = 0; k < K; ++k) part[k].store_unaligned(lanes + k * kPart);
  }

  friend Pack operator+(const Pack& a, const Pack& b) {
    return from([&](std::size_t k) { return a.part[k] + b.part[k]; });
  }
  friend Pack operator-(const Pack& a, const Pack& b) {
    return from([&](std::size_t k) { return a.part[k] - b.part[k]; });
  }
  friend Pack operator*(const Pack& a, const Pack& b) {
    return from([&](std::size_t k) { return a.part[k] * b.part[k]; });
  }
  friend Pack operator/(const Pack& a, const Pack& b) {
    return from([&](std::size_t k) { return a.part[k] / b.part[k]; });
  }
  friend Pack operator-(const Pack& a) {
    return from([&](std::size_t k) { return -a.part[k]; });
  }
  Pack& operator+=(const Pack& b) { return *this = *this + b; }
  Pack& operator-=(const Pack& b) { return *this = *this - b; }
  Pack& operator*=(const Pack& b) { return *this = *this * b; }

  friend MaskType operator<(const Pack& a, const Pack& b) {
    return MaskType::from([&](std::size_t k) { return a.part[k] < b.part[k]; });
  }
  friend MaskType operator>(const Pack& a, const Pack& b) { return b < a; }
  friend MaskType operator<=(const Pack& a, const Pack& b) {
    return MaskType::from([&](std::size_t k) { return a.part[k] <= b.part[k]; });
  }
  friend MaskType operator>=(const Pack& a, const Pack& b) { return b <= a; }

  friend Pack select(const MaskType& mask, const Pack& if_true, const Pack& if_false) {
    return from([&](std::size_t k) {
      return xsimd::select(mask.part[k], if_true.part[k], if_false.part[k]);
    });
  }
  friend Pack sqrt(const Pack& a) {
    return from([&](std::size_t k) { return xsimd::sqrt(a.part[k]); });
  }
  friend Pack exp(const Pack& a) {
    return from([&](std::size_t k) { return xsimd::exp(a.part[k]); });
  }
  friend Pack abs(const Pack& a) {
    return from([&](std::size_t k) { return xsimd::abs(a.part[k]); });
  }
  friend Pack min(const Pack& a, const Pack& b) {
    return from([&](std::size_t k) { return xsimd::min(a.part[k], b.part[k]); });
  }
  friend Pack max(const Pack& a, const Pack& b) {
    return from([&](std::size_t k) { return xsimd::max(a.part[k], b.part[k]); });
  }
};

}  // namespace plunge
