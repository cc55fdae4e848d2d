// The quarter rider: a sprung mass on a sloping fork, an unsprung mass that slides along it, and
// the rider's upper body on the arms.
//
//   (m_s+m_u) z_s'' + m_u sin x''  = N - (m_s+m_u) g + F_arm - F_transfer
//    m_u sin z_s''  + m_u x''      = N (sin + h' cos) + B cos + m_u a cos - F_fork - m_u g sin
//    m_r z_r''                     = -m_r g - F_arm
//   z_u = z_s + x sin,  s_w = s - x cos,  d = h(s_w) - z_u,  d' = h' (v - x' cos) - z_u'
//   F_transfer = -m_total a h_cg / wheelbase,   B = min(B_wanted, mu N)
//   F_fork = springs + damper + friction + bumper + metal + top-out      [N], > 0 extends
//   F_axle = (1 - k) G + k F_fork,   G = N (sin + h' cos) + B cos
//
// F_axle: what the wheel, a share k of m_u, presses into the lower legs at the axle along the legs,
// > 0 compresses. Wheel and lower legs move as one, so with a their acceleration along the legs and
// g sin of weight m_u a = G - F_fork - m_u g sin and k m_u a = G - F_axle - k m_u g sin.
// k = 0.79 unless given: a wheel of 3 kg in 3.8 kg. Estimate.
//
// z up, x travel > 0 in compression, head angle theta from the horizontal (sin, cos above);
// s, v, a: prescribed forward motion of the frame; g: load along the bike's plane, g0/cos(lean).
// Derived by virtual work from the energies with the forward motion prescribed; a test derives it
// again numerically. The energy integrals are part of the state, so that the audit is integrated
// by the same rule as the motion:
//   gravity -g sum(m z'),  ground N h' v,  brake B cos x',  carry m_u a cos x',
//   transfer -F_transfer z_s'      go in;      damper, friction, stops, tyre, arms, heat go out.
// Friction is counted with the millijoules that its bristles hold.
//
// Non-smooth parts are switched by Modes. In a step an integrator holds the modes and watches the
// indicators; a fixed-step sweep takes them from the state each time.
#pragma once

#include <array>
#include <cstddef>

#include "models/laws/air_spring.hpp"
#include "models/laws/arms.hpp"
#include "models/laws/coil_spring.hpp"
#include "models/laws/damper.hpp"
#include "models/laws/friction.hpp"
#include "models/laws/hydraulic_stop.hpp"
#include "models/laws/motion.hpp"
#include "models/laws/stops.hpp"
#include "models/laws/tyre.hpp"

namespace plunge {

// Indices into the state vector: what moves, then the integrals of power.
enum StateIndex : std::size_t {
  kSprungHeight,               // z_s [m]
  kSprungSpeed,                // [m/s]
  kTravel,                     // x [m]
  kTravelSpeed,                // [m/s]
  kBodyHeight,                 // z_r [m]
  kBodySpeed,                  // [m/s]
  kMainTemperature,            // [K]
  kNegativeTemperature,        // [K]
  kLegTemperature,             // [K]
  kMainMass,                   // gas in the main chamber [kg]
  kBristle,                    // z of the friction law [m]
  kMotionStates,               // number of states that move
  kGravityIn = kMotionStates,  // all [J]
  kGroundIn,
  kBrakeIn,
  kCarryIn,
  kTransferIn,
  kDamperOut,
  kFrictionOut,
  kStopsOut,
  kTyreOut,
  kArmsOut,
  kHeatOut,
  kStates
};

template <class S>
using State = std::array<S, kStates>;

// The modes that can switch. Each has an indicator; it is on while its indicator is positive.
enum Switch : std::size_t {
  kTyreTouches,
  kRimTouches,
  kBumperTouches,
  kMetalTouches,
  kTopOutTouches,
  kPastHydraulicStop,  // deeper than where it starts
  kCoilTouches,        // the negative coil
  kPastPortTop,        // deeper than the shallow edge of the transfer window
  kPastPort,           // deeper than its deep edge
  kCompresses,         // x' > 0
  kBrakeSlips,         // grip limits the brake
  kSwitches
};

// Switches whose indicator follows from travel and deflection alone.
inline constexpr Switch kSwitchesByPlace[] = {kRimTouches,    kBumperTouches,     kMetalTouches,
                                              kTopOutTouches, kPastHydraulicStop, kCoilTouches,
                                              kPastPortTop,   kPastPort};

template <class S>
using Modes = std::array<Mask<S>, kSwitches>;

template <class S>
using Indicators = std::array<S, kSwitches>;

// Everything that acts at one instant [N where no unit stands]. Uninitialised until forces_with()
// sets it all: to set it to 0 first would cost lanes a tenth of their time.
template <class S>
struct Forces {
  S air;
  S coil;    // main and negative coil
  S damper;  // with the hydraulic stop
  S friction;
  S bumper;
  S metal;
  S top_out;
  S fork;       // their sum, F_fork
  S tyre;       // N, vertical
  S tyre_free;  // what the tyre's law gives before "it can't pull"
  S brake;      // B
  S arms;       // F_arm
  S transfer;
  S side;                 // N_n, across the legs at the axle
  S coulomb;              // F_C of the friction law
  S slip_level;           // g(v) of the friction law
  S bristle;              // z [m]
  S bristle_rate;         // dz/dt [m/s]
  S deflection;           // d [m]
  S deflection_rate;      // d' [m/s]
  S main_pressure;        // absolute [Pa]
  S negative_pressure;    // [Pa]
  S leg_pressure;         // [Pa]
  S port_flow;            // [kg/s]
  S sprung_acceleration;  // z_s'' [m/s2]
  S travel_acceleration;  // x'' [m/s2]
  S body_acceleration;    // z_r'' [m/s2]
  S axle;                 // F_axle, along the legs, > 0 compresses
};

template <class S>
struct QuarterRider {
  S sprung_mass{};         // m_s [kg]
  S unsprung_mass{};       // m_u [kg]
  S wheel_share{};         // k, of the wheel in the unsprung mass [1]
  Divisor<S> body_mass{};  // m_r, 0: no rider on the arms [kg]
  S total_mass{};          // bike and rider, for the load transfer [kg]
  S sine{};                // of the head angle
  S cosine{};
  S travel{};          // L [m]
  S wheel_radius{};    // R, lever of the brake [m]
  S transfer_lever{};  // h_cg / wheelbase [1]
  S grip{};            // mu of tyre on ground [1]
  AirSpring<S> air;
  S gas_mass{};           // main and negative chamber together [kg]
  S main_mass_at_port{};  // in the main chamber, both at one pressure at x_port [kg]
  S leg_gas_mass{};       // [kg]
  CoilSpring<S> coil;
  NegativeCoil<S> negative_coil;
  Damper<S> damper;
  HydraulicStop<S> hydraulic_stop;
  Friction<S> friction;
  Bumper<S> bumper;
  MetalStop<S> metal;
  TopOut<S> top_out;
  Tyre<S> tyre;
  Arms<S> arms;

  bool has_air = true;  // an air spring, or air in the legs
  bool has_leg_air = false;
  bool has_body = true;
  bool has_friction = true;

  S wheel_position(const State<S>& y, S distance) const { return distance - y[kTravel] * cosine; }

  // All forces and accelerations. The bristle is the state's, or, where the start of a stroke is
  // given, what it has become since then.
  Forces<S> forces(const State<S>& y, const Motion<S>& motion, const PathPoint<S>& point,
                   const Modes<S>& mode, const StrokeStart<S>* stroke = nullptr) const {
    return forces_with(y, motion, point, mode, [&](S way, S coulomb, S slip_level) {
      return stroke ? friction.slid(*stroke, y[kTravel], y[kTravelSpeed], way, coulomb, slip_level)
                    : y[kBristle];
    });
  }

  // The same with a bristle that bristle(way, coulomb level, slip level) gives.
  template <class BristleOf>
  Forces<S> forces_with(const State<S>& y, const Motion<S>& motion, const PathPoint<S>& point,
                        const Modes<S>& mode, const BristleOf& bristle) const;

  // dy/dt from the forces at the same instant.
  State<S> rates(const State<S>& y, const Motion<S>& motion, const PathPoint<S>& point,
                 const Modes<S>& mode, const Forces<S>& f) const;

  Indicators<S> indicators(const State<S>& y, const Motion<S>& motion, const Forces<S>& f,
                           const Modes<S>& mode) const;

  // Sets the indicators of kSwitchesByPlace; d: deflection of the tyre.
  void indicate_by_place(S x, S d, Indicators<S>& value) const {
    value[kRimTouches] = d - tyre.rim_depth;
    value[kBumperTouches] = bumper.depth(x);
    value[kMetalTouches] = metal.depth(x);
    value[kTopOutTouches] = top_out.depth(x);
    value[kPastHydraulicStop] = hydraulic_stop.depth(x);
    value[kCoilTouches] = negative_coil.reach(x);
    value[kPastPortTop] = x - air.port.shallow_edge();
    value[kPastPort] = x - air.port.deep_edge();
  }

  // Stored energy by part [J].
  struct Stores {
    S kinetic{};
    S gas{};  // internal energy and the work against the atmosphere
    S coil{};
    S stops{};
    S tyre{};
    S arms{};
    S total() const { return kinetic + gas + coil + stops + tyre + arms; }
  };
  Stores stores(const State<S>& y, S deflection) const;
};

template <class S>
template <class BristleOf>
Forces<S> QuarterRider<S>::forces_with(const State<S>& y, const Motion<S>& motion,
                                       const PathPoint<S>& point, const Modes<S>& mode,
                                       const BristleOf& bristle) const {
  Forces<S> f;
  const S x = y[kTravel];
  const S v = y[kTravelSpeed];

  f.deflection = point.height - y[kSprungHeight] - x * sine;
  f.deflection_rate = point.slope * (motion.speed - v * cosine) - y[kSprungSpeed] - v * sine;
  f.tyre_free = tyre.force(f.deflection, f.deflection_rate, Mask<S>(true), mode[kRimTouches]);
  f.tyre = select(mode[kTyreTouches], f.tyre_free, S(0.0));
  f.brake = select(mode[kBrakeSlips], grip * f.tyre, motion.brake_wanted);
  f.side = f.tyre * (cosine - point.slope * sine) - f.brake * sine;

  if (has_air) {
    f.main_pressure = air.main.pressure(y[kMainMass], y[kMainTemperature], x);
    f.negative_pressure =
        air.negative.pressure(gas_mass - y[kMainMass], y[kNegativeTemperature], x);
    f.leg_pressure =
        has_leg_air ? air.leg.pressure(leg_gas_mass, y[kLegTemperature], x) : air.ambient;
    f.air = air.force(f.main_pressure, f.negative_pressure, f.leg_pressure);
    const Mask<S> joined = mode[kPastPortTop] && !mode[kPastPort];
    if (any(joined)) {
      f.port_flow = select(joined,
                           air.port.flow(x, f.main_pressure, y[kMainTemperature],
                                         f.negative_pressure, y[kNegativeTemperature]),
                           S(0.0));
    } else {
      f.port_flow = S(0.0);
    }
  } else {
    f.air = f.main_pressure = f.negative_pressure = f.leg_pressure = f.port_flow = S(0.0);
  }
  f.coil = coil.force(x) + negative_coil.force(x, mode[kCoilTouches]);
  f.damper = damper.force(v, mode[kCompresses]) +
             hydraulic_stop.force(x, v, mode[kPastHydraulicStop] && mode[kCompresses]);
  if (has_friction) {
    const S way = select(mode[kCompresses], S(1.0), S(-1.0));
    f.coulomb = friction.coulomb({f.side, f.brake * wheel_radius});
    f.slip_level = friction.level(f.coulomb, v);
    f.bristle = bristle(way, f.coulomb, f.slip_level);
    f.bristle_rate = friction.bristle_rate(f.bristle, v, way * v, f.slip_level);
    f.friction = friction.force(f.bristle, f.bristle_rate, v);
  } else {
    f.friction = f.coulomb = f.slip_level = f.bristle = f.bristle_rate = S(0.0);
  }
  f.bumper = bumper.force(x, v, mode[kBumperTouches]);
  f.metal = metal.force(x, v, mode[kMetalTouches]);
  f.top_out = top_out.force(x, v, mode[kTopOutTouches]);
  f.fork = f.air + f.coil + f.damper + f.friction + f.bumper + f.metal + f.top_out;

  if (has_body) {
    f.arms = arms.force(y[kBodyHeight] - y[kSprungHeight], y[kBodySpeed] - y[kSprungSpeed]);
    f.body_acceleration = -motion.gravity - f.arms * body_mass.inverse();
  } else {
    f.arms = f.body_acceleration = S(0.0);
  }
  f.transfer = -total_mass * motion.acceleration * transfer_lever;

  const S both = sprung_mass + unsprung_mass;
  const S vertical = f.tyre - both * motion.gravity + f.arms - f.transfer;
  const S ground = f.tyre * (sine + point.slope * cosine) + f.brake * cosine;
  f.axle = (1.0 - wheel_share) * ground + wheel_share * f.fork;
  const S along =
      ground + unsprung_mass * (motion.acceleration * cosine - motion.gravity * sine) - f.fork;
  const S coupling = unsprung_mass * sine;
  const S inverse = 1.0 / (unsprung_mass * (both - coupling * sine));
  f.sprung_acceleration = (unsprung_mass * vertical - coupling * along) * inverse;
  f.travel_acceleration = (both * along - coupling * vertical) * inverse;
  return f;
}

template <class S>
State<S> QuarterRider<S>::rates(const State<S>& y, const Motion<S>& motion,
                                const PathPoint<S>& point, const Modes<S>& mode,
                                const Forces<S>& f) const {
  State<S> rate;  // each is set below
  const S x = y[kTravel];
  const S v = y[kTravelSpeed];
  rate[kSprungHeight] = y[kSprungSpeed];
  rate[kSprungSpeed] = f.sprung_acceleration;
  rate[kTravel] = v;
  rate[kTravelSpeed] = f.travel_acceleration;
  if (has_body) {
    rate[kBodyHeight] = y[kBodySpeed];
    rate[kBodySpeed] = f.body_acceleration;
    const S stretch_rate = y[kBodySpeed] - y[kSprungSpeed];
    rate[kArmsOut] = arms.dissipation(stretch_rate);
  } else {
    rate[kBodyHeight] = rate[kBodySpeed] = rate[kArmsOut] = S(0.0);
  }
  if (has_air) {
    const S negative_mass = gas_mass - y[kMainMass];
    rate[kMainTemperature] = air.main.heating(y[kMainTemperature], x, v);
    rate[kNegativeTemperature] = air.negative.heating(y[kNegativeTemperature], x, v);
    rate[kHeatOut] = air.main.heat_out(y[kMainMass], y[kMainTemperature]) +
                     air.negative.heat_out(negative_mass, y[kNegativeTemperature]);
    if (any(mode[kPastPortTop] && !mode[kPastPort])) {
      const S upstream = select(f.port_flow > 0.0, y[kMainTemperature], y[kNegativeTemperature]);
      rate[kMainMass] = -f.port_flow;
      rate[kMainTemperature] +=
          GasChamber<S>::flow_heating(-f.port_flow, y[kMainMass], y[kMainTemperature], upstream);
      rate[kNegativeTemperature] += GasChamber<S>::flow_heating(f.port_flow, negative_mass,
                                                                y[kNegativeTemperature], upstream);
    } else {
      rate[kMainMass] = S(0.0);
    }
    if (has_leg_air) {
      rate[kLegTemperature] = air.leg.heating(y[kLegTemperature], x, v);
      rate[kHeatOut] += air.leg.heat_out(leg_gas_mass, y[kLegTemperature]);
    } else {
      rate[kLegTemperature] = S(0.0);
    }
  } else {
    rate[kMainTemperature] = rate[kNegativeTemperature] = rate[kLegTemperature] = S(0.0);
    rate[kMainMass] = rate[kHeatOut] = S(0.0);
  }
  if (has_friction) {
    rate[kBristle] = f.bristle_rate;
    rate[kFrictionOut] = f.friction * v;
  } else {
    rate[kBristle] = rate[kFrictionOut] = S(0.0);
  }

  const S wheel_speed = y[kSprungSpeed] + v * sine;
  rate[kGravityIn] =
      -motion.gravity * (sprung_mass * y[kSprungSpeed] + unsprung_mass * wheel_speed);
  if (has_body) rate[kGravityIn] -= motion.gravity * body_mass * y[kBodySpeed];
  rate[kGroundIn] = f.tyre * point.slope * motion.speed;
  rate[kBrakeIn] = f.brake * cosine * v;
  rate[kCarryIn] = unsprung_mass * motion.acceleration * cosine * v;
  rate[kTransferIn] = -f.transfer * y[kSprungSpeed];
  rate[kDamperOut] = f.damper * v;
  const S stops_elastic = select(mode[kBumperTouches], bumper.elastic(bumper.depth(x)), S(0.0)) +
                          metal.force(x, S(0.0), mode[kMetalTouches]) -
                          select(mode[kTopOutTouches], top_out.elastic(top_out.depth(x)), S(0.0));
  rate[kStopsOut] = (f.bumper + f.metal + f.top_out - stops_elastic) * v;
  // While the tyre is off the ground its law relaxes at once: what it still stored is lost.
  rate[kTyreOut] =
      select(mode[kTyreTouches], tyre.damping * square(f.deflection_rate),
             select(f.deflection > 0.0,
                    -tyre.elastic(f.deflection, mode[kRimTouches]) * f.deflection_rate, S(0.0)));
  return rate;
}

template <class S>
Indicators<S> QuarterRider<S>::indicators(const State<S>& y, const Motion<S>& motion,
                                          const Forces<S>& f, const Modes<S>& mode) const {
  using std::min;
  Indicators<S> value;
  value[kTyreTouches] =
      select(mode[kTyreTouches], f.tyre_free, min(f.deflection * tyre.stiffness, f.tyre_free));
  indicate_by_place(y[kTravel], f.deflection, value);
  value[kCompresses] = y[kTravelSpeed];
  value[kBrakeSlips] = motion.brake_wanted - grip * f.tyre;
  return value;
}

template <class S>
typename QuarterRider<S>::Stores QuarterRider<S>::stores(const State<S>& y, S deflection) const {
  Stores e;
  const S x = y[kTravel];
  const S v = y[kTravelSpeed];
  e.kinetic = 0.5 * (sprung_mass * square(y[kSprungSpeed]) +
                     unsprung_mass * (square(y[kSprungSpeed] + v * sine) + square(v * cosine)));
  if (has_body) {
    e.kinetic += 0.5 * body_mass * square(y[kBodySpeed]);
    e.arms = arms.stored_energy(y[kBodyHeight] - y[kSprungHeight]);
  }
  if (has_air) {
    e.gas = GasChamber<S>::stored_energy(y[kMainMass], y[kMainTemperature]) +
            GasChamber<S>::stored_energy(gas_mass - y[kMainMass], y[kNegativeTemperature]) +
            air.ambient * x * (air.main.area + air.negative.area + air.leg.area);
    if (has_leg_air) {
      e.gas += GasChamber<S>::stored_energy(leg_gas_mass, y[kLegTemperature]);
    }
  }
  e.coil = coil.stored_energy(x) + negative_coil.stored_energy(x);
  e.stops = bumper.stored_energy(x) + metal.stored_energy(x) + top_out.stored_energy(x);
  e.tyre = tyre.stored_energy(deflection);
  return e;
}

}  // namespace plunge
