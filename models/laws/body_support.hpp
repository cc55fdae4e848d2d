// The rider's legs and arms: two paths side by side between the frame and the upper body.
//
//   F      = (k_l + k_a)(z_r - z_s) + (c_l + c_a)(z_r' - z_s')   [N], lifts the frame if pulled
//   F_hand = F_0 - k_a (z_r - z_s) - c_a (z_r' - z_s')           [N], presses the bar down
//
// z_r, z_s: height of upper body and of the sprung mass [m]; the distance at no force is taken into
// z_r. F_0 is what the arms carry more than their share of the stiffness, so that at rest the hands
// carry the part of the body's weight that they are given: the legs then carry F_0 less, and F is
// free of it. Stored: (k_l + k_a)(z_r - z_s)^2/2. Dissipated: (c_l + c_a)(z_r' - z_s')^2.
// Source: lumped hand-arm supports of ISO 10068 in form; engineering values.
#pragma once

#include "models/laws/numeric.hpp"

namespace plunge {

template <class S>
struct BodySupport {
  S stiffness{};      // k_l + k_a [N/m]
  S damping{};        // c_l + c_a [N.s/m]
  S arm_stiffness{};  // k_a [N/m]
  S arm_damping{};    // c_a [N.s/m]
  S preload{};        // F_0 [N]

  S force(S stretch, S stretch_rate) const { return stiffness * stretch + damping * stretch_rate; }
  S hand_force(S stretch, S stretch_rate) const {
    return preload - arm_stiffness * stretch - arm_damping * stretch_rate;
  }
  S stored_energy(S stretch) const { return 0.5 * stiffness * square(stretch); }
  S dissipation(S stretch_rate) const { return damping * square(stretch_rate); }
};

}  // namespace plunge
