// Friction of seals and bushings: a bristle that bends before it slips.
//
//   dz/dt = v - sigma0 |v|/g(v) z            z: mean bristle deflection [m], v: travel speed [m/s]
//   F = sigma0 z + sigma1 dz/dt + sigma2 v                       resists v [N]
//   g(v) = F_C + (F_S - F_C) exp(-(v/v_s)^2),   F_S = ratio F_C
//   F_C = seal + mu (|R_upper| + |R_lower|)
//   R_upper = (N_n a - B R)/b,   R_lower = (N_n (a + b) - B R)/b
//   N_n = N_z (cos(theta) - h' sin(theta)) - B sin(theta)
//
// The bushings sit in the lower legs: a from axle to lower bushing, b between them; their
// reactions balance the load N_n across the legs at the axle and the couple B R of the brake, which
// turns the legs the same way as a rearward load. So braking stiffens a fork, and a bump, whose
// push from the front takes load off the bushings, frees it.
// The bristle stores sigma0 z^2/2; the rest of F v is dissipated, never negative as long as
// sigma1 |v| <= 4 g(v) (Barabanov & Ortega 2000, IEEE Trans. Autom. Control 45).
// Held at rest the bristle carries the load for ever: dz/dt = 0 at v = 0, no drift.
//
// At speed the equation is stiff (rate sigma0 |v|/g up to 2e4 1/s), but along the way u = |x - x0|
// of a stroke in one direction it is linear, r = sigma0 |z| with dr/dq = g - r, dq = sigma0 du/g.
// With g going linearly in q from g0 to g that is solved in closed form:
//   r = g - (g - g0) (1 - e^-q)/q + (r0 - g0) e^-q,   q = sigma0 u/((g0 + g)/2)
// exact for constant g, second order in the change of g otherwise, and never stiff (slid()).
//
// Source: Canudas de Wit, Olsson, Astrom & Lischinsky 1995, IEEE Trans. Autom. Control 40, 419;
// bushing reactions: statics of a beam on two supports.
#pragma once

#include "models/numeric.hpp"

namespace plunge {

template <class S>
struct SideLoad {
  S load{};    // N_n [N]
  S couple{};  // B R [N.m]
};

// Where a stroke in one direction began, or any point on its way.
template <class S>
struct StrokeStart {
  S travel{};      // x0 [m]
  S bristle{};     // z0 [m]
  S slip_level{};  // g0 [N]
};

template <class S>
struct Friction {
  S seal{};            // [N]
  S bushing{};         // mu [1]
  S reach{};           // a [m]
  S spacing{};         // b [m]
  S static_ratio{};    // F_S/F_C [1]
  S stribeck_speed{};  // v_s [m/s]
  S stiffness{};       // sigma0 [N/m]
  S damping{};         // sigma1 [N.s/m]
  S viscous{};         // sigma2 [N.s/m]

  S coulomb(const SideLoad<S>& side) const {
    using std::abs;
    const S upper = abs(side.load * reach - side.couple);
    const S lower = abs(side.load * (reach + spacing) - side.couple);
    return seal + bushing * (upper + lower) / spacing;
  }

  // g(v) for a Coulomb level F_C.
  S level(S coulomb_level, S v) const {
    using std::exp;
    const S bell = exp(-square(v / stribeck_speed));
    return coulomb_level * (1.0 + (static_ratio - 1.0) * bell);
  }

  // dz/dt; speed: |v|, given apart so that an integrator can freeze the sign of v in a step.
  S bristle_rate(S z, S v, S speed, S slip_level) const {
    return v - stiffness * speed / slip_level * z;
  }

  // z at travel x of a stroke; way: +1 in compression, -1 in rebound.
  S slid(const StrokeStart<S>& start, S x, S way, S slip_level) const {
    using std::exp;
    const S q = 2.0 * stiffness * way * (x - start.travel) / (start.slip_level + slip_level);
    const S decay = exp(-q);
    // (1 - e^-q)/q, by its series where the difference would lose digits.
    const S small = 1.0 - 0.5 * q * (1.0 - q / 3.0);
    const Mask<S> is_small = square(q) < 1e-8;
    const S mean = select(is_small, small, (1.0 - decay) / select(is_small, S(1.0), q));
    const S r0 = stiffness * way * start.bristle;
    const S r =
        slip_level - (slip_level - start.slip_level) * mean + (r0 - start.slip_level) * decay;
    return way * r / stiffness;
  }

  S force(S z, S z_rate, S v) const { return stiffness * z + damping * z_rate + viscous * v; }
  S stored_energy(S z) const { return 0.5 * stiffness * square(z); }
};

}  // namespace plunge
