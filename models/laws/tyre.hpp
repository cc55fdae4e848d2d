// The tyre: a spring and a damper between ground and wheel that can push but not pull.
//
//   d = h(s_w) - z_u                             deflection [m]; z_u: wheel centre, 0 as it touches
//   F_el = k d                                   or, with an onset d_o > 0,
//          2/3 k d sqrt(d/d_o)  for d < d_o,  k (d - d_o/3) beyond       (equal value and slope)
//          + k_rim (d - d_rim)  for d > d_rim                             the rim is struck
//   N = max(0, F_el + c d')  for d > 0, else 0                            vertical force [N]
//
// Stored: the integral of F_el over d. Not here: grip (quarter_rider.hpp), the wheel's roundness
// (wheel_path.hpp). Source: linear point-follower tyre of the quarter car (Sayers & Karamihas
// 1998); d^1.5 as a growing contact patch (Hertz).
#pragma once

#include "models/laws/numeric.hpp"

namespace plunge {

template <class S>
struct Tyre {
  S stiffness{};      // k [N/m]
  S damping{};        // c [N.s/m]
  S onset{};          // d_o [m], 0: linear from the start
  S rim_depth{};      // d_rim [m]
  S rim_stiffness{};  // k_rim [N/m]

  // Below the onset the law goes on as an odd function, so that a step may overshoot d = 0.
  S elastic(S d, Mask<S> on_rim) const {
    using std::abs;
    using std::sqrt;
    const S rim = select(on_rim, rim_stiffness * (d - rim_depth), S(0.0));
    const S grown = stiffness * (d - onset / 3.0);
    const Mask<S> grows = onset > 0.0;
    if (!any(grows)) return grown + rim;
    const S growing = (2.0 / 3.0) * stiffness * d * sqrt(abs(d) / select(grows, onset, S(1.0)));
    return select(grows, select(d < onset, growing, grown), grown) + rim;
  }

  S force(S d, S rate, Mask<S> touching, Mask<S> on_rim) const {
    return select(touching, elastic(d, on_rim) + damping * rate, S(0.0));
  }

  S stored_energy(S d) const {
    using std::sqrt;
    const S down = positive_part(d);
    const S growing =
        (4.0 / 15.0) * stiffness * square(down) * sqrt(down / select(onset > 0.0, onset, S(1.0)));
    const S grown = stiffness * (0.5 * square(down) - onset * down / 3.0 + square(onset) / 10.0);
    return select(onset > 0.0, select(down < onset, growing, grown), grown) +
           0.5 * rim_stiffness * square(positive_part(d - rim_depth));
  }
};

}  // namespace plunge
