// The few operations that the laws need beyond arithmetic, on any scalar.
//
// A law is a template over its scalar S: double here, a SIMD batch in a sweep. Conditions are
// masks (bool for double), chosen with select(mask, if_true, if_false) so that the same line runs
// on both. Batch libraries bring their own select, sqrt, max, ... found by argument lookup.
#pragma once

#include <algorithm>
#include <cmath>
#include <type_traits>

namespace plunge {

inline double select(bool mask, double if_true, double if_false) {
  return mask ? if_true : if_false;
}

// True if the mask holds anywhere: for a batch, in any of its lanes.
inline bool any(bool mask) { return mask; }

template <class S>
S square(S x) {
  return x * x;
}

template <class S>
S positive_part(S x) {
  using std::max;
  return max(x, S(0.0));
}

// A number that others are divided by: its inverse is worked out once.
template <class S>
class Divisor {
 public:
  Divisor() = default;
  // Stands for its value, both ways.
  template <class T>
  requires std::is_convertible_v<T, S> Divisor(const T& value)
      : value_(value), inverse_(1.0 / value_) {}
  template <class T>
  Divisor(const Divisor<T>& other) : Divisor(S(static_cast<T>(other))) {}
  operator S() const { return value_; }
  S inverse() const { return inverse_; }

 private:
  S value_{};
  S inverse_{};
};

// The condition type that comparing two scalars of type S gives.
template <class S>
using Mask = decltype(S{} > S{});

// 1/sqrt(1 + t), t >= 0: the cosine of a slope whose square is t. Packs of floats take it from a
// polynomial where the slope is at most a half, as a root and a division take as long as all else
// that a tyre needs: within 2e-8, half of a float's last digit. Coefficients: Chebyshev's, of
// degree 5 over 0 to 1/4.
template <class S>
S inverse_root_of_one_plus(S t) {
  using std::sqrt;
  if constexpr (!std::is_same_v<Mask<S>, bool>) {
    const S near =
        1.0 + t * (-0.499996041 +
                   t * (0.374810031 + t * (-0.309117236 + t * (0.245405276 + t * -0.131155781))));
    const Mask<S> steep = t > 0.25;
    if (!any(steep)) return near;
    return select(steep, 1.0 / sqrt(1.0 + t), near);
  }
  return 1.0 / sqrt(1.0 + t);
}

}  // namespace plunge
