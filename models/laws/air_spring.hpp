// The air spring: a main chamber that carries the rider and a negative chamber that softens the
// start, joined near full extension by a transfer port; optionally the air in the lower legs.
//
//   V+(x) = V0 - n v_spacer - v_oil - A+ x         V-(x) = V0- + A- x
//   F_air = (p+ - p_amb) A+ - (p- - p_amb) A- + (p_leg - p_amb) A_leg      [N], > 0 extends
//
// The pump's gauge pressure is read at full extension at wall temperature; after the fork has been
// cycled both chambers hold the same pressure at x_port. That fixes the two masses:
//   m+ = (p_pump + p_amb) V+(0) / (R T),   p+(x_port) = p-(x_port)  at T
// The lower legs are sealed at ambient pressure at full extension.
//
// Not here: what a gas does (gas_chamber.hpp), the port (transfer_port.hpp), stops.
#pragma once

#include "models/laws/gas_chamber.hpp"
#include "models/laws/transfer_port.hpp"

namespace plunge {

// Gas in each chamber of the fork [kg].
template <class S>
struct AirMasses {
  S main{};
  S negative{};
  S leg{};
};

template <class S>
struct AirSpring {
  GasChamber<S> main;
  GasChamber<S> negative;  // area 0: none
  GasChamber<S> leg;       // area 0: none
  TransferPort<S> port;
  S ambient{};  // p_amb where it is ridden [Pa]

  // Masses after inflation to a gauge pressure [Pa] with ambient pressure and wall temperature at
  // the pump.
  AirMasses<S> inflated(S gauge, S pump_ambient, S pump_temperature) const {
    const S zero(0.0);
    const S at_rest = gauge + pump_ambient;
    AirMasses<S> masses;
    masses.main = main.mass_at(at_rest, pump_temperature, zero);
    const S shared = main.pressure(masses.main, pump_temperature, port.position);
    masses.negative = negative.mass_at(shared, pump_temperature, port.position);
    masses.leg = leg.mass_at(pump_ambient, pump_temperature, zero);
    return masses;
  }

  S force(S main_pressure, S negative_pressure, S leg_pressure) const {
    return (ambient - main_pressure) * main.area + (ambient - negative_pressure) * negative.area +
           (ambient - leg_pressure) * leg.area;
  }

  // Slow (isothermal) force at travel x with the port shut [N].
  S slow_force(const AirMasses<S>& masses, S x) const {
    return force(main.pressure(masses.main, main.wall, x),
                 negative.pressure(masses.negative, negative.wall, x),
                 leg.pressure(masses.leg, leg.wall, x));
  }

  // Fast (isentropic) force at x after a slow approach to `from` [N].
  S fast_force(const AirMasses<S>& masses, S from, S x) const {
    using std::pow;
    const auto pressure = [&](const GasChamber<S>& chamber, S mass) {
      return chamber.pressure(mass, chamber.wall, from) *
             pow(chamber.volume_at(from) / chamber.volume_at(x), S(kGamma));
    };
    return force(pressure(main, masses.main), pressure(negative, masses.negative),
                 pressure(leg, masses.leg));
  }
};

// Gauge reading after a hose of volume V_h at ambient pressure is screwed on to a chamber of
// volume V that holds gauge pressure p, at constant temperature: p V/(V + V_h).
inline double reading_with_hose(double gauge, double volume, double hose_volume) {
  return gauge * volume / (volume + hose_volume);
}

// Gauge reading of a sealed chamber set to `gauge` at one ambient pressure and temperature, read
// at another.
inline double gauge_elsewhere(double gauge, double ambient_set, double temperature_set,
                              double ambient_read, double temperature_read) {
  return (gauge + ambient_set) * temperature_read / temperature_set - ambient_read;
}

}  // namespace plunge
