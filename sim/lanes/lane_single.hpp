// One lane of a plain float: what stands in for a Pack where there is one ride and no register.
//
// It rounds as the lanes of a pack do but for what a register's exp() rounds otherwise and what a
// compiler fuses. A double or an int in an expression is rounded to float once.
#pragma once

#include <cmath>
#include <cstddef>
#include <cstdint>

namespace plunge {

struct SingleMask {
  bool on;

  explicit SingleMask(bool all = false) : on(all) {}

  friend SingleMask operator&&(SingleMask a, SingleMask b) { return SingleMask(a.on && b.on); }
  friend SingleMask operator||(SingleMask a, SingleMask b) { return SingleMask(a.on || b.on); }
  friend SingleMask operator!(SingleMask a) { return SingleMask(!a.on); }
  friend bool any(SingleMask a) { return a.on; }
  friend std::uint32_t lane_bits(SingleMask a) { return a.on ? 1 : 0; }
};

struct Single {
  using Real = float;
  using MaskType = SingleMask;
  static constexpr std::size_t kSize = 1;
  float value;

  Single() = default;  // Single{} is 0, Single s; is not set
  Single(double all) : value(static_cast<float>(all)) {}

  static Single from(float value) {
    Single single;
    single.value = value;
    return single;
  }
  static Single load(const float* lanes) { return from(*lanes); }
  void store(float* lanes) const { *lanes = value; }

  friend Single operator+(Single a, Single b) { return from(a.value + b.value); }
  friend Single operator-(Single a, Single b) { return from(a.value - b.value); }
  friend Single operator*(Single a, Single b) { return from(a.value * b.value); }
  friend Single operator/(Single a, Single b) { return from(a.value / b.value); }
  friend Single operator-(Single a) { return from(-a.value); }
  Single& operator+=(Single b) { return *this = *this + b; }
  Single& operator-=(Single b) { return *this = *this - b; }
  Single& operator*=(Single b) { return *this = *this * b; }

  friend SingleMask operator<(Single a, Single b) { return SingleMask(a.value < b.value); }
  friend SingleMask operator>(Single a, Single b) { return b < a; }
  friend SingleMask operator<=(Single a, Single b) { return SingleMask(a.value <= b.value); }
  friend SingleMask operator>=(Single a, Single b) { return b <= a; }

  friend Single select(SingleMask mask, Single if_true, Single if_false) {
    return mask.on ? if_true : if_false;
  }
  friend Single sqrt(Single a) { return from(std::sqrt(a.value)); }
  friend Single exp(Single a) { return from(std::exp(a.value)); }
  friend Single abs(Single a) { return from(std::abs(a.value)); }
  // The second where one is NaN, as registers have it.
  friend Single min(Single a, Single b) { return a.value < b.value ? a : b; }
  friend Single max(Single a, Single b) { return a.value > b.value ? a : b; }
};

}  // namespace plunge
