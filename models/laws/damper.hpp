// The damper: one monotone force-speed law for each direction of travel.
//
//   F(v)   v: speed in the law's own direction [m/s], F: force that resists it [N]
//   F(0) = 0, F has the sign of v and never falls as v rises: it only takes energy out.
//
// slopes     F = c_h v + (c_l - c_h) v/sqrt(1 + (v/v_k)^2)
//            Slope c_l at rest, c_h far above the knee speed v_k; the asymptote is the line of
//            slope c_h through the knee (v_k, c_l v_k). c_l, c_h >= 0 [N.s/m].
// table      cubic pieces F = F_i + u (s_i + u (c2_i + u c3_i)), u = v - v_i, from the readings
//            of a dynamometer or from the equations of the hydraulics (models/setup/damper.hpp).
//
// An integrator freezes the direction inside a step until it has located v = 0, so a law goes on
// past v = 0: `slopes` as its own odd function, the tables as the line of their slope at 0.
//
// Not here: how a set-up becomes a law (models/setup/damper.hpp), hydraulic bottom-out
// (hydraulic_stop.hpp).
// Source: our own closed form.
#pragma once

#include <cmath>
#include <type_traits>

#include "models/laws/numeric.hpp"

namespace plunge {

// F = force + u (slope + u (c2 + u c3)), u = v - start.
struct ForcePiece {
  double start = 0.0;
  double force = 0.0;
  double slope = 0.0;
  double c2 = 0.0;
  double c3 = 0.0;

  double at(double v) const {
    const double u = v - start;
    return force + u * (slope + u * (c2 + u * c3));
  }
};

// The tabled law of a direction, by scalar. A scalar that stands for several rides brings a table
// of its own, which holds each one's law; any other has slopes only.
template <class S>
struct LawTable {
  explicit operator bool() const { return false; }
  S force(S) const { return S{}; }
  S force_either_way(S, Mask<S>) const { return S{}; }
};

// The tables of a single ride own memory: models/setup/damper.hpp defines them.
template <>
struct LawTable<double>;

template <class S>
struct DamperLaw {
  S low_speed{};      // c_l [N.s/m]
  S high_speed{};     // c_h [N.s/m]
  S knee{};           // v_k [m/s]
  LawTable<S> table;  // points, hydraulic

  S force(S v) const { return table ? table.force(v) : slopes(v); }
  S slopes(S v) const { return slopes(low_speed, high_speed, knee, v); }
  static S slopes(S low, S high, S at, S v) {
    using std::sqrt;
    return high * v + (low - high) * v * at / sqrt(square(at) + square(v));
  }
};

// The laws of both directions. v > 0 compresses; the force is positive where it resists
// compression.
template <class S>
struct Damper {
  DamperLaw<S> compression;
  DamperLaw<S> rebound;

  S force(S v, Mask<S> compressing) const {
    if constexpr (std::is_same_v<Mask<S>, bool>) {
      return compressing ? compression.force(v) : -rebound.force(-v);
    } else {
      // Each lane has one direction at a time: its law is chosen first and worked out once.
      if (compression.table) return compression.table.force_either_way(v, compressing);
      const auto chosen = [&](S DamperLaw<S>::*number) {
        return select(compressing, compression.*number, rebound.*number);
      };
      return DamperLaw<S>::slopes(chosen(&DamperLaw<S>::low_speed),
                                  chosen(&DamperLaw<S>::high_speed), chosen(&DamperLaw<S>::knee),
                                  v);
    }
  }
};

}  // namespace plunge
