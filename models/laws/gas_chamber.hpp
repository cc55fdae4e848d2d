// One sealed chamber whose gas trades heat with its wall.
//
//   p = m R T / V(x),  V(x) = V0 + A x                   absolute pressure [Pa], volume [m3]
//   dT/dt = -(gamma-1) T V'/V - (T - T_wall)/tau         slow is isothermal, fast is isentropic
//           + (w/m) (gamma T_up - T)                     mass flow w [kg/s] into the chamber
//
// x: travel [m], 0 extended. A > 0 where the chamber grows in compression (negative chamber),
// A < 0 where it shrinks (main chamber). T_up: temperature of the gas that flows, the other
// chamber's when w > 0 and this one's when w < 0. tau: thermal time constant [s].
// The gas stores m c_v T and loses m c_v (T - T_wall)/tau to the wall, so that with the work
// -p V' and the enthalpy w c_p T_up its energy balance closes exactly.
//
// Limits: ideal gas (real air departs by 0.7 % at 30 bar and 300 K), one temperature throughout.
// Not here: the port between chambers (transfer_port.hpp), seal drag (friction.hpp).
// Source: Pourmovahed & Otis 1990, J. Dyn. Sys. Meas. Control 112, thermal time constant model.
#pragma once

#include "models/laws/constants.hpp"
#include "models/laws/numeric.hpp"

namespace plunge {

template <class S>
struct GasChamber {
  S volume{};         // V0, at full extension [m3]
  S area{};           // dV/dx, signed [m2]
  Divisor<S> time{};  // tau [s]
  S wall{};           // T_wall [K]

  S volume_at(S x) const { return volume + area * x; }

  S inverse_volume(S x) const { return 1.0 / volume_at(x); }

  S pressure(S mass, S temperature, S x) const {
    return mass * kAirConstant * temperature * inverse_volume(x);
  }

  // Mass that fills the chamber at pressure p and temperature T.
  S mass_at(S pressure, S temperature, S x) const {
    return pressure * volume_at(x) / (kAirConstant * temperature);
  }

  // dT/dt of a closed chamber [K/s]; v: speed of the travel [m/s].
  S heating(S temperature, S x, S v) const {
    return (1.0 - kGamma) * temperature * area * v * inverse_volume(x) -
           (temperature - wall) * time.inverse();
  }

  // The share of dT/dt that a mass flow into the chamber causes [K/s].
  static S flow_heating(S inflow, S mass, S temperature, S upstream_temperature) {
    return inflow / mass * (kGamma * upstream_temperature - temperature);
  }

  static S stored_energy(S mass, S temperature) { return mass * kAirHeatCapacity * temperature; }

  // Heat that leaves through the wall [W].
  S heat_out(S mass, S temperature) const {
    return mass * kAirHeatCapacity * (temperature - wall) * time.inverse();
  }
};

// Complex stiffness ratio of small strokes at angular frequency w: n* = (1 + j g w tau)/(1 + j w
// tau), from the same equation, linear. Real part: stiffness over the isothermal one.
struct PolytropicRatio {
  double real = 0.0;
  double imaginary = 0.0;
};

inline PolytropicRatio polytropic_ratio(double angular_frequency, double time) {
  const double y = angular_frequency * time;
  return {(1.0 + kGamma * y * y) / (1.0 + y * y), (kGamma - 1.0) * y / (1.0 + y * y)};
}

}  // namespace plunge
