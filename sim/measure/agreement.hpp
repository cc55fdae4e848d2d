// How closely two ways to the same number must agree: two integrators, two tolerances.
//
//   exact      |a - b| = 0                          a count, or what one function works out for
//   both relative   |a - b| <= tolerance max(|b|, small)   a value below `small` is as good as that
//   one absolute   |a - b| <= tolerance
//
// SI units. Numbers that neither has (NaN) agree; one that only one has does not.
#pragma once

#include <algorithm>
#include <cmath>

namespace plunge {

struct Agreement {
  enum class Kind { exact, relative, absolute };

  Kind kind = Kind::exact;
  double tolerance = 0.0;  // [1] of the value, or in its unit
  double small = 0.0;      // in the unit of the value

  static constexpr Agreement exact() { return {}; }
  static constexpr Agreement relative(double tolerance, double small) {
    return {Kind::relative, tolerance, small};
  }
  static constexpr Agreement absolute(double tolerance) { return {Kind::absolute, tolerance, 0.0}; }

  // |a - b| over the largest that is allowed against b, which is the better of the two: at most 1
  // where they agree, infinite where exact numbers differ or only one is there.
  double strain(double a, double b) const {
    if (a == b || (std::isnan(a) && std::isnan(b))) return 0.0;
    const double allowed =
        kind == Kind::relative ? tolerance * std::max(std::abs(b), small) : tolerance;
    const double strain = std::abs(a - b) / allowed;
    return std::isnan(strain) ? HUGE_VAL : strain;
  }

  bool holds(double a, double b) const { return strain(a, b) <= 1.0; }
};

}  // namespace plunge
