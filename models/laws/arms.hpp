// The rider's arms between handlebar and upper body.
//
//   F = k (z_r - z_s - l) + c (z_r' - z_s')        [N]; lifts the bar when the arms are pulled
//
// z_r, z_s: height of upper body and of the sprung mass [m]. l, the distance at no force, is taken
// into z_r, so that l = 0 here. Stored: k (z_r - z_s)^2/2. Dissipated: c (z_r' - z_s')^2.
// Source: lumped hand-arm supports of ISO 10068 in form; both arms together, engineering values.
#pragma once

#include "models/laws/numeric.hpp"

namespace plunge {

template <class S>
struct Arms {
  S stiffness{};  // k [N/m]
  S damping{};    // c [N.s/m]

  S force(S stretch, S stretch_rate) const { return stiffness * stretch + damping * stretch_rate; }
  S stored_energy(S stretch) const { return 0.5 * stiffness * square(stretch); }
  S dissipation(S stretch_rate) const { return damping * square(stretch_rate); }
};

}  // namespace plunge
