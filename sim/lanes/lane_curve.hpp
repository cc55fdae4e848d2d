// Values over a step of every lane, as polynomials of its share t: dense output between the ends.
#pragma once

#include "models/laws/numeric.hpp"

namespace plunge {

// A cubic a + t (b + t (c + t d)) that takes the values and rates at the ends of a step.
template <class S>
struct Cubic {
  S a, b, c, d;

  static Cubic between(const S& h, const S& from, const S& rate0, const S& to, const S& rate1) {
    const S change = to - from;
    const S p = h * rate0;
    const S q = h * rate1;
    return {from, p, 3.0 * change - 2.0 * p - q, p + q - 2.0 * change};
  }

  // The root near t, in [0, 1], where the value goes the way of `sign`; elsewhere the slope is
  // taken for `blunt`.
  S root(S t, const S& sign, const S& blunt) const {
    for (int i = 0; i < 3; ++i) {
      const S slope = b + t * (2.0 * c + t * (3.0 * d));
      const S value = a + t * (b + t * (c + t * d));
      t = min(max(t - value / select(sign * slope > S(0.0), slope, blunt), S(0.0)), S(1.0));
    }
    return t;
  }
};

// The largest (sign 1) or smallest (sign -1) value of a parabola through values at 0, 1/2 and 1.
template <class S>
struct Extreme {
  S value;
  S place;         // as a share of the step
  Mask<S> curved;  // the parabola bends that way

  static Extreme of(double sign, const S& a, const S& b, const S& c) {
    const S bend = 2.0 * (a + c - 2.0 * b);
    const S fall = 4.0 * b - 3.0 * a - c;
    const Mask<S> curved = S(sign) * bend < S(-1e-20);
    const S place = -0.5 * fall / select(curved, bend, S(1.0));
    return {a - 0.25 * fall * fall / select(curved, bend, S(1.0)), place, curved};
  }

  // Whether it lies within the step, or past its ends by no more than a share `wide` of it.
  Mask<S> inside(double wide) const { return curved && place > S(-wide) && place < S(1.0 + wide); }
};

}  // namespace plunge
