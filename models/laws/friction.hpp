// Friction of seals and bushings: a bristle that bends before it slips.
//
//   dz/dt = v - sigma0 |v|/g(v) z            z: mean bristle deflection [m], v: travel speed [m/s]
//   F = sigma0 z + sigma1 dz/dt + sigma2 v                       resists v [N]
//   g(v) = F_C + (F_S - F_C) exp(-(v/v_s)^2),   F_S = ratio F_C
//   F_C = seal + mu (|R_upper| + |R_lower|)
//   R_upper = (N_n a - B R)/b,   R_lower = (N_n (a + b) - B R)/b
//   N_n: load across the legs at the axle (quarter_rider.hpp)
//
// The bushings sit in the lower legs: a from axle to lower bushing, b between them; their
// reactions balance the load N_n across the legs at the axle and the couple B R of the brake, which
// turns the legs the same way as a rearward load. So braking stiffens a fork, and a bump, whose
// push from the front takes load off the bushings, frees it. Where a bushing's load changes sides
// F_C has a corner.
// The bristle stores sigma0 z^2/2; the rest of F v is dissipated, never negative as long as
// sigma1 |v| <= 4 g(v) (Barabanov & Ortega 2000, IEEE Trans. Autom. Control 45).
// Held at rest the bristle carries the load for ever: dz/dt = 0 at v = 0, no drift.
//
// At speed the equation is stiff (rate sigma0 |v|/g up to 2e4 1/s), but along the way u = |x - x0|
// of a stroke in one direction it is linear: r = sigma0 |z|, dr/dq = g - r, dq = sigma0 du/g. Up to
// the point Q of the stroke (slid()) the Coulomb level is taken as quadratic in q and the Stribeck
// bell as exponential, which it is at constant acceleration (v^2 - v0^2 ~ u):
//   r = F_C - (s - c) p1 - (e + c) p2 + b_Q + (r0 - F_C0) e^-Q
//   p1 = (1 - e^-Q)/Q,  p2 = 2 (1 - p1)/Q,  s + e = F_C - F_C0
//   b_Q = Q (b - b0 e^-Q)/(Q - B),  b = g - F_C,  B = ln(b0/b) = K + ln(F_C0/F_C)
//   Q = sigma0 u/M,  1/M = (1/F_C0 + 4/F_Cm + 1/F_C)/6 (1 + ln((1 + b/F_C)/(1 + b0/F_C0))/K)
//   F_Cm = F_C0 + (s + F_C - F_C0)/4,  K = (v^2 - v0^2)/v_s^2
//   c = 6 (F_C0 + s/2 + e/3 + (b0 - b)/B - M)
// c bends g(q) so that its mean is M, as dq = sigma0 du/g wants it. s is the change of F_C at its
// slope at the start; F_C goes as a parabola in time through both ends, with the slope F_C' there:
//   e = (rho (F_C - F_C0) - F_C' t)/(1 + (1 - rho)^2),   rho = v0 t/u
// exact at an even speed (rho = 1), led by the slope at the faster end otherwise. Exact for
// constant g, third order in its change, and never stiff. slid_evenly() is the same for short
// steps, with F_C linear in q and 1/M = 2/(g0 + g), which leaves no logarithm: second order.
//
// Source: Canudas de Wit, Olsson, Astrom & Lischinsky 1995, IEEE Trans. Autom. Control 40, 419;
// bushing reactions: statics of a beam on two supports.
#pragma once

#include "models/laws/numeric.hpp"

namespace plunge {

template <class S>
struct SideLoad {
  S load{};    // N_n [N]
  S couple{};  // B R [N.m]
};

// One number for each bushing.
template <class S>
struct Bushings {
  S upper{};
  S lower{};
};

// Where a stroke in one direction began, or any point on its way.
template <class S>
struct StrokeStart {
  S travel{};        // x0 [m]
  S speed{};         // v0 [m/s]
  S bristle{};       // z0 [m]
  S coulomb{};       // F_C0 [N]
  S slip_level{};    // g0 [N]
  S coulomb_rate{};  // F_C' there [N/s]
  S elapsed{};       // t, time since then [s]
};

template <class S>
struct Friction {
  S seal{};                     // [N]
  S bushing{};                  // mu [1]
  S reach{};                    // a [m]
  Divisor<S> spacing{};         // b [m]
  S static_ratio{};             // F_S/F_C [1]
  Divisor<S> stribeck_speed{};  // v_s [m/s]
  Divisor<S> stiffness{};       // sigma0 [N/m]
  S damping{};                  // sigma1 [N.s/m]
  S viscous{};                  // sigma2 [N.s/m]

  // Largest bend of F_C that is followed, over the smaller F_C: it stays above a quarter of that.
  static constexpr double kMostBend = 3.0;
  // A bell fainter than this share of the level is left out of the way's length.
  static constexpr double kFaintBell = 1e-9;
  // (v/v_s)^2 past which the bell is less than the rounding of the level.
  static constexpr double kBellEnds = 40.0;

  // b R_upper and b R_lower [N.m].
  Bushings<S> moments(const SideLoad<S>& side) const {
    return {side.load * reach - side.couple, side.load * (reach + spacing) - side.couple};
  }
  // On which side each bushing is loaded [+1, -1].
  static Bushings<S> sides(const Bushings<S>& moment) {
    return {select(moment.upper < S(0.0), S(-1.0), S(1.0)),
            select(moment.lower < S(0.0), S(-1.0), S(1.0))};
  }

  // F_C with the bushings loaded on given sides.
  S coulomb(const Bushings<S>& moment, const Bushings<S>& on) const {
    return seal + bushing * (on.upper * moment.upper + on.lower * moment.lower) * spacing.inverse();
  }
  S coulomb(const SideLoad<S>& side) const {
    const Bushings<S> moment = moments(side);
    return coulomb(moment, sides(moment));
  }

  // dF_C/dN_n.
  S coulomb_by_load(const Bushings<S>& on) const {
    return bushing * spacing.inverse() * (on.upper * reach + on.lower * (reach + spacing));
  }

  // g(v) for a Coulomb level F_C.
  S level(S coulomb_level, S v) const {
    using std::exp;
    const S past = square(v * stribeck_speed.inverse());
    if (!any(past < kBellEnds)) return coulomb_level;
    return coulomb_level * (1.0 + (static_ratio - 1.0) * exp(-past));
  }

  // dz/dt; speed: |v|, given apart so that an integrator can freeze the sign of v in a step.
  S bristle_rate(S z, S v, S speed, S slip_level) const {
    return v - stiffness * speed / slip_level * z;
  }

  // z at travel x and speed v of a stroke; way: +1 in compression, -1 in rebound.
  S slid(const StrokeStart<S>& start, S x, S v, S way, S coulomb_level, S slip_level) const {
    using std::exp;
    using std::log;
    using std::log1p;
    using std::max;
    using std::min;
    const S u = way * (x - start.travel);
    const S change = coulomb_level - start.coulomb;
    const S even = way * start.speed * start.elapsed;
    const S spread = square(u) + square(u - even);
    const Mask<S> moved = spread > 0.0;
    const S most = kMostBend * min(start.coulomb, coulomb_level);
    const S bent = select(moved,
                          (even * change - u * start.coulomb_rate * start.elapsed) * u /
                              select(moved, spread, S(1.0)),
                          S(0.0));
    const S first = change - min(max(bent, -most), most);
    const S b0 = start.slip_level - start.coulomb;
    const S b = slip_level - coulomb_level;
    const S middle =
        max(start.coulomb + 0.25 * (change + first), 0.5 * min(start.coulomb, coulomb_level));
    // (1/F_C0 + 4/F_Cm + 1/F_C)/6
    S mean_inverse =
        (middle * (start.coulomb + coulomb_level) + 4.0 * start.coulomb * coulomb_level) /
        (6.0 * start.coulomb * middle * coulomb_level);
    S mean = start.coulomb + 0.5 * first + (change - first) / 3.0;
    const Mask<S> rings = max(b0, b) > kFaintBell * coulomb_level;
    S bell_fall{};
    if (any(rings)) {
      const S share0 = b0 / start.coulomb;
      const S share = b / coulomb_level;
      const S fall = (square(v) - square(start.speed)) * square(stribeck_speed.inverse());
      const Mask<S> level = square(fall) < 1e-8;
      mean_inverse *= 1.0 + select(level, 2.0 / (2.0 + share0 + share) - 1.0,
                                   (log1p(share) - log1p(share0)) / select(level, S(1.0), fall));
      bell_fall = fall + log(start.coulomb / coulomb_level);
      const Mask<S> even_bell = square(bell_fall) < 1e-8;
      mean += select(even_bell, 0.5 * (b0 + b), (b0 - b) / select(even_bell, S(1.0), bell_fall));
    }
    const S c = 6.0 * (mean - 1.0 / mean_inverse);
    const S q = stiffness * u * mean_inverse;
    const S decay = exp(-q);
    // A series stands in where a difference would lose digits.
    const Mask<S> small = square(q) < 1e-6;
    const S inverse = 1.0 / select(small, S(1.0), q);
    const S p1 = select(small, 1.0 - q * (0.5 - q / 6.0), (1.0 - decay) * inverse);
    const S p2 = select(small, 1.0 - q * (1.0 / 3.0 - q / 12.0), 2.0 * (1.0 - p1) * inverse);
    S bell{};
    if (any(rings)) {
      const S d = q - bell_fall;
      const Mask<S> near = square(d) < 1e-6;
      bell = q * select(near, b * (1.0 - d * (0.5 - d / 6.0)),
                        (b - b0 * decay) / select(near, S(1.0), d));
    }
    const S r0 = stiffness * way * start.bristle;
    const S r = coulomb_level - (first - c) * p1 - (change - first + c) * p2 + bell +
                (r0 - start.coulomb) * decay;
    return way * r * stiffness.inverse();
  }

  // The same after a way u >= 0, with F_C as linear in q and without logarithms, for short steps.
  S slid_evenly(const StrokeStart<S>& start, S u, S v, S way, S coulomb_level, S slip_level) const {
    using std::exp;
    const S q = 2.0 * stiffness * u / (start.slip_level + slip_level);
    const S change = coulomb_level - start.coulomb;
    const S fall = (square(v) - square(start.speed)) * square(stribeck_speed.inverse());
    const S d = q - fall + 2.0 * change / (start.coulomb + coulomb_level);
    // A series stands in where a difference would lose digits. The divisions come before the
    // exponential, which they need not wait for.
    const Mask<S> small = square(q) < 1e-4;
    const Mask<S> near = square(d) < 1e-3;
    const S inverse_q = 1.0 / select(small, S(1.0), q);
    const S inverse_d = 1.0 / select(near, S(1.0), d);
    const S decay = exp(-q);
    const S p1 = select(small, 1.0 - q * (0.5 - q / 6.0), (1.0 - decay) * inverse_q);
    const S b0 = start.slip_level - start.coulomb;
    const S b = slip_level - coulomb_level;
    const S bell = q * select(near, b * (1.0 - d * (0.5 - d / 6.0)), (b - b0 * decay) * inverse_d);
    const S r0 = stiffness * way * start.bristle;
    return way * stiffness.inverse() *
           (coulomb_level - change * p1 + bell + (r0 - start.coulomb) * decay);
  }

  S force(S z, S z_rate, S v) const { return stiffness * z + damping * z_rate + viscous * v; }
  S stored_energy(S z) const { return 0.5 * stiffness * square(z); }
};

}  // namespace plunge
