// The port that joins main and negative chamber over a few millimetres near full extension.
//
//   w = C window(x) (p+^2 - p-^2) / sqrt(R T_up (|p+^2 - p-^2| + e p_hi^2))      [kg/s]
//   window(x) = (1 - u^2)^2 for |u| < 1, else 0;  u = (2x - 2 x_port + l)/l
//
// w > 0 flows from main to negative. C: effective flow area of the wide open port [m2]. The
// window spans [x_port - l, x_port]: its deep edge is the last travel at which the chambers are
// joined, so a slow stroke leaves it with both chambers at one pressure at x_port. T_up is the
// temperature of the chamber that gives. Far from balance w follows the elliptic law of a subsonic
// restriction (w ~ sqrt(p_hi^2 - p_lo^2), exactly choked towards vacuum); within e = 1e-3 of
// balance it turns linear, as laminar flow does, so that the equation stays smooth.
//
// Source: the elliptic approximation of ISO 6358-1 with critical ratio 0; e is our choice.
#pragma once

#include "models/laws/constants.hpp"
#include "models/laws/numeric.hpp"

namespace plunge {

template <class S>
struct TransferPort {
  S position{};         // x_port [m]
  Divisor<S> length{};  // l [m]
  S area{};             // C [m2]

  static constexpr double kLaminar = 1e-3;  // e

  S shallow_edge() const { return position - length; }
  S deep_edge() const { return position; }

  S window(S x) const {
    const S u = (2.0 * (x - position) + length) * length.inverse();
    return square(positive_part(1.0 - u * u));
  }

  // Mass flow from main to negative [kg/s]. Zero outside the window.
  S flow(S x, S main_pressure, S main_temperature, S negative_pressure,
         S negative_temperature) const {
    using std::abs;
    using std::max;
    using std::sqrt;
    const S difference = square(main_pressure) - square(negative_pressure);
    const S high = max(main_pressure, negative_pressure);
    const S upstream = select(difference > 0.0, main_temperature, negative_temperature);
    return area * window(x) * difference /
           sqrt(kAirConstant * upstream * (abs(difference) + kLaminar * square(high)));
  }
};

}  // namespace plunge
