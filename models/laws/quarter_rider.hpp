// The quarter rider: a sprung mass on a sloping fork, an unsprung mass that slides along it, and
// the rider's upper body on legs and arms, on a bike that follows its line over slopes.
//
//   z_u = z_s + p,  p = x sin,  s_w = s - q,  q = x cos,  d = h(s_w) - z_u,  w = s_w' = v - q'
//   N = F_el(d cos_w) + c d' cos_w, >= 0      along the normal of the wheel's path, tan_w = h'(s_w)
//   (m_s+m_u) z_s'' + m_u p'' = N cos_w - B sin_w - (m_s+m_u) g + F_body - F_tr
//   m_u (x'' - x theta'^2 + z_s'' sin - a cos) = N sin(theta+beta_w) + B cos(theta+beta_w)
//                                                + F_spin - F_fork - m_u g sin
//   m_r z_r'' = -m_r g - F_body
//   F_spin = e (I/r^2) w' cos,   B = min(B_wanted, mu N),   e: how far the tyre is on the ground
//   F_tr of course.hpp, then + N sin(beta_w - beta)(h - r)/L: a face pushes against the ride and
//   tips the bike
//   F_fork = springs + damper + friction + bumper + metal + top-out      [N], > 0 extends
//   F_axle = (1 - k) G + k F_fork,   G = N sin(theta+beta_w) + B cos(theta+beta_w) + F_spin
//   N_n = N cos(theta+beta_w) - B sin(theta+beta_w)
//         - m_u [(g + z_s'') cos + a sin + 2 x' theta' + x theta'']          across the legs
//
// theta: head angle from the horizontal less the grade, which moves with it (sin, cos, theta',
// theta'' of course.hpp); z up, x travel > 0 in compression; s, v, a: prescribed forward motion of
// the frame; g: load along the bike's plane, g0/cos(lean). B is the brake's torque over r.
// F_axle: what the wheel, a share k of m_u, presses into the lower legs at the axle along the legs,
// > 0 compresses. Wheel and lower legs move as one, so with a their acceleration along the legs and
// g sin of weight m_u a = G - F_fork - m_u g sin and k m_u a = G - F_axle - k m_u g sin.
// k = 0.79 unless given: a wheel of 3 kg in 3.8 kg. Estimate.
//
// The friction of the bushings follows from N_n, N_n from z_s'', and z_s'' from the friction, whose
// share in N_n is m_u cos m_u sin/(m_u (m_s + m_u cos^2)), about a tenth. The three are solved
// together: by Newton's rule until nothing changes, or in one step from a near value.
//
// Derived by virtual work from the energies with forward motion and pitch prescribed; a test
// derives it again numerically. The energy integrals are part of the state, so that the audit is
// integrated by the same rule as the motion:
//   gravity -g sum(m z'),  ground N sin_w v - F_el d sin_w beta_w',
//   brake B (q' cos_w - z_u' sin_w),  carry m_u a q',  transfer -F_tr z_s',
//   pitch -N_n x theta',  spin F_spin x'      go in;
//   damper, friction, stops, tyre, body, heat go out.
// The ground's second part is the work of its normal as it turns; at a kink of the path, where the
// normal turns at once, the tyre's energy jumps (turned()). Friction is counted with the
// millijoules that its bristles hold. A tyre that leaves the ground relaxes at once: what it still
// stores is lost there, and comes back where it lands deflected.
//
// Non-smooth parts are switched by Modes. In a step an integrator holds the modes and watches the
// indicators; a fixed-step sweep takes them from the state each time.
#pragma once

#include <array>
#include <cstddef>

#include "models/laws/air_spring.hpp"
#include "models/laws/body_support.hpp"
#include "models/laws/coil_spring.hpp"
#include "models/laws/course.hpp"
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
  kPitchIn,
  kSpinIn,
  kDamperOut,
  kFrictionOut,
  kStopsOut,
  kTyreOut,
  kBodyOut,
  kHeatOut,
  kStates
};

template <class S>
using State = std::array<S, kStates>;

// A friction force is found when it changes by less than this share of the Coulomb level [1].
inline constexpr double kFrictionFound = 1e-13;

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
  kUpperBushing,       // loaded on the side that N_n > 0 loads
  kLowerBushing,
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
  S fork;                 // their sum, F_fork
  S tyre;                 // N, along the normal of the wheel's path
  S tyre_free;            // what the tyre's law gives before "it can't pull"
  S brake;                // B
  S spin;                 // F_spin
  S body;                 // F_body
  S hands;                // F_hand, > 0 presses the bar down
  S transfer;             // F_tr
  S side;                 // N_n, across the legs at the axle
  S coulomb;              // F_C of the friction law
  S slip_level;           // g(v) of the friction law
  S bristle;              // z [m]
  S bristle_rate;         // dz/dt [m/s]
  S deflection;           // d cos_w [m]
  S deflection_rate;      // d' cos_w [m/s]
  S main_pressure;        // absolute [Pa]
  S negative_pressure;    // [Pa]
  S leg_pressure;         // [Pa]
  S port_flow;            // [kg/s]
  S sprung_acceleration;  // z_s'' [m/s2]
  S travel_acceleration;  // x'' [m/s2]
  S body_acceleration;    // z_r'' [m/s2]
  S axle;                 // F_axle, along the legs, > 0 compresses
};

// Where the tyre is against the ground.
template <class S>
struct GroundContact {
  S sine{};  // of beta_w
  S cosine{};
  S wheel_speed{};      // w [m/s]
  S gap{};              // d [m]
  S deflection{};       // d cos_w [m]
  S deflection_rate{};  // d' cos_w [m/s]
};

template <class S>
struct QuarterRider {
  S sprung_mass{};         // m_s [kg]
  S unsprung_mass{};       // m_u [kg]
  S wheel_share{};         // k, of the wheel in the unsprung mass [1]
  Divisor<S> body_mass{};  // m_r, 0: no rider on legs and arms [kg]
  S spin_mass{};           // I/r^2 of the front wheel [kg]
  BikeLine<S> bike;
  S travel{};        // L [m]
  S wheel_radius{};  // r, lever of the brake [m]
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
  BodySupport<S> body;

  bool has_air = true;  // an air spring, or air in the legs
  bool has_leg_air = false;
  bool has_body = true;
  bool has_friction = true;

  Course<S> course(const Motion<S>& motion) const { return bike.course(motion); }

  S wheel_position(const State<S>& y, S distance, const Course<S>& line) const {
    return distance - y[kTravel] * line.cosine;
  }

  GroundContact<S> ground_contact(const State<S>& y, const Course<S>& line,
                                  const PathPoint<S>& point) const;

  // All forces and accelerations. The bristle is the state's, or, where the start of a stroke is
  // given, what it has become since then; along a stroke the bushings are loaded on the sides that
  // the modes have.
  Forces<S> forces(const State<S>& y, const Course<S>& line, const PathPoint<S>& point,
                   const Modes<S>& mode, const StrokeStart<S>* stroke = nullptr) const {
    return forces_with(
        y, line, ground_contact(y, line, point), mode,
        {S(0.0), kMostFrictionPasses, stroke != nullptr}, [&](S way, S coulomb, S slip_level) {
          return stroke
                     ? friction.slid(*stroke, y[kTravel], y[kTravelSpeed], way, coulomb, slip_level)
                     : y[kBristle];
        });
  }

  // How the friction is found: from which force, by how many evaluations at most, and with the
  // bushings loaded as the modes have it or as their load has it.
  struct FrictionSearch {
    S near;
    int passes;
    bool by_modes = false;
  };
  static constexpr int kMostFrictionPasses = 12;

  // The same with a bristle that bristle(way, coulomb level, slip level) gives.
  template <class BristleOf>
  Forces<S> forces_with(const State<S>& y, const Course<S>& line, const GroundContact<S>& contact,
                        const Modes<S>& mode, const FrictionSearch& search,
                        const BristleOf& bristle) const;

  // dy/dt from the forces at the same instant.
  State<S> rates(const State<S>& y, const Course<S>& line, const PathPoint<S>& point,
                 const Modes<S>& mode, const Forces<S>& f) const;

  // What the tyre's energy gains where the normal of the path turns at once, from one point of the
  // path to another at the same place.
  S turned(const State<S>& y, const Course<S>& line, const PathPoint<S>& before,
           const PathPoint<S>& after) const {
    return tyre.stored_energy(ground_contact(y, line, after).deflection) -
           tyre.stored_energy(ground_contact(y, line, before).deflection);
  }

  Indicators<S> indicators(const State<S>& y, const Course<S>& line, const Forces<S>& f,
                           const Modes<S>& mode) const;

  // Sets the indicators of kSwitchesByPlace; d: deflection of the tyre along its normal.
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

  // Stored energy by part [J]; deflection: of a tyre that touches, else 0.
  struct Stores {
    S kinetic{};
    S gas{};  // internal energy and the work against the atmosphere
    S coil{};
    S stops{};
    S tyre{};
    S body{};
    S total() const { return kinetic + gas + coil + stops + tyre + body; }
  };
  Stores stores(const State<S>& y, const Course<S>& line, S deflection) const;

 private:
  // What moves but for the friction, F.
  struct Balance {
    S both;                // m_s + m_u [kg]
    S ground;              // along the legs, without F_spin [N]
    S spinning;            // e (I/r^2) cos [kg]
    S spun;                // F_spin without x'' [N]
    S vertical;            // on both masses, without p'' [N]
    S free;                // along the legs, without F [N]
    S coupling;            // m_u sin [kg]
    S inverse;             // of the determinant of the masses [1/kg2]
    S sprung_free;         // z_s'' without F [m/s2]
    S by_friction;         // dz_s''/dF [1/kg]
    S across;              // N_n without F [N]
    S across_by_friction;  // dN_n/dF [1]
  };

  // The parts of forces_with(): each sets its own of the forces.
  void spring_and_damp(const State<S>& y, const Modes<S>& mode, Forces<S>& f) const;
  void carry(const State<S>& y, const Course<S>& line, const GroundContact<S>& contact,
             const Modes<S>& mode, S& grounded, Forces<S>& f) const;
  Balance balance(const State<S>& y, const Course<S>& line, const GroundContact<S>& contact,
                  const S& grounded, const Forces<S>& f) const;
  template <class BristleOf>
  void rub(const S& v, const Modes<S>& mode, const Balance& m, const FrictionSearch& search,
           const BristleOf& bristle, Forces<S>& f) const;
};

template <class S>
GroundContact<S> QuarterRider<S>::ground_contact(const State<S>& y, const Course<S>& line,
                                                 const PathPoint<S>& point) const {
  GroundContact<S> contact;
  const S x = y[kTravel];
  const S v = y[kTravelSpeed];
  contact.cosine = inverse_root_of_one_plus(square(point.slope));
  contact.sine = point.slope * contact.cosine;
  contact.wheel_speed = line.speed - v * line.cosine + x * line.sine * line.pitch_rate;
  contact.gap = point.height - y[kSprungHeight] - x * line.sine;
  const S gap_rate = point.slope * contact.wheel_speed - y[kSprungSpeed] - v * line.sine -
                     x * line.cosine * line.pitch_rate;
  contact.deflection = contact.gap * contact.cosine;
  contact.deflection_rate = gap_rate * contact.cosine;
  return contact;
}

template <class S>
void QuarterRider<S>::spring_and_damp(const State<S>& y, const Modes<S>& mode, Forces<S>& f) const {
  const S x = y[kTravel];
  const S v = y[kTravelSpeed];
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
  f.bumper = bumper.force(x, v, mode[kBumperTouches]);
  f.metal = metal.force(x, v, mode[kMetalTouches]);
  f.top_out = top_out.force(x, v, mode[kTopOutTouches]);
  f.fork = f.air + f.coil + f.damper + f.bumper + f.metal + f.top_out;  // and friction, below
}

template <class S>
void QuarterRider<S>::carry(const State<S>& y, const Course<S>& line,
                            const GroundContact<S>& contact, const Modes<S>& mode, S& grounded,
                            Forces<S>& f) const {
  f.deflection = contact.deflection;
  f.deflection_rate = contact.deflection_rate;
  f.tyre_free = tyre.force(f.deflection, f.deflection_rate, Mask<S>(true), mode[kRimTouches]);
  f.tyre = select(mode[kTyreTouches], f.tyre_free, S(0.0));
  f.brake = select(mode[kBrakeSlips], bike.grip * f.tyre, line.brake_wanted);
  grounded = bike.grounded(f.tyre);

  if (has_body) {
    const S stretch = y[kBodyHeight] - y[kSprungHeight];
    const S stretch_rate = y[kBodySpeed] - y[kSprungSpeed];
    f.body = body.force(stretch, stretch_rate);
    f.hands = body.hand_force(stretch, stretch_rate);
    f.body_acceleration = -line.gravity - f.body * body_mass.inverse();
  } else {
    f.body = f.hands = f.body_acceleration = S(0.0);
  }
  const S over = contact.sine * line.grade_cosine - contact.cosine * line.grade_sine;
  f.transfer = line.transfer_in_air +
               grounded * (line.transfer + f.brake * line.transfer_by_brake +
                           line.transfer_by_travel * (y[kTravel] - bike.rest_travel) -
                           line.transfer_in_air) +
               f.tyre * over * bike.axle_lever;
}

template <class S>
typename QuarterRider<S>::Balance QuarterRider<S>::balance(const State<S>& y, const Course<S>& line,
                                                           const GroundContact<S>& contact,
                                                           const S& grounded,
                                                           const Forces<S>& f) const {
  Balance m;
  const S x = y[kTravel];
  const S v = y[kTravelSpeed];
  // Wheel path and legs: sine and cosine of theta + beta_w.
  const S along_sine = line.sine * contact.cosine + line.cosine * contact.sine;
  const S along_cosine = line.cosine * contact.cosine - line.sine * contact.sine;
  const S turn2 = x * square(line.pitch_rate);
  const S bend = 2.0 * v * line.pitch_rate + x * line.pitch_acceleration;  // across the legs
  m.both = sprung_mass + unsprung_mass;
  m.vertical = f.tyre * contact.cosine - f.brake * contact.sine - m.both * line.gravity + f.body -
               f.transfer - unsprung_mass * (bend * line.cosine - turn2 * line.sine);
  m.ground = f.tyre * along_sine + f.brake * along_cosine;
  // The wheel spins up with w', of which x'' takes -cos.
  m.spinning = grounded * spin_mass * line.cosine;
  m.spun = m.spinning * (line.acceleration + bend * line.sine + turn2 * line.cosine);
  m.free = m.ground + m.spun - f.fork +
           unsprung_mass * (line.acceleration * line.cosine + turn2 - line.gravity * line.sine);
  const S mass_along = unsprung_mass + m.spinning * line.cosine;
  m.coupling = unsprung_mass * line.sine;
  m.inverse = 1.0 / (mass_along * m.both - square(m.coupling));
  m.sprung_free = (mass_along * m.vertical - m.coupling * m.free) * m.inverse;
  m.by_friction = m.coupling * m.inverse;  // dz_s''/dF
  m.across = f.tyre * along_cosine - f.brake * along_sine -
             unsprung_mass * ((line.gravity + m.sprung_free) * line.cosine +
                              line.acceleration * line.sine + bend);
  m.across_by_friction = -unsprung_mass * line.cosine * m.by_friction;
  return m;
}

template <class S>
template <class BristleOf>
void QuarterRider<S>::rub(const S& v, const Modes<S>& mode, const Balance& m,
                          const FrictionSearch& search, const BristleOf& bristle,
                          Forces<S>& f) const {
  using std::abs;
  using std::max;
  if (has_friction) {
    const S way = select(mode[kCompresses], S(1.0), S(-1.0));
    Bushings<S> on;
    if (search.by_modes) {
      on = {select(mode[kUpperBushing], S(1.0), S(-1.0)),
            select(mode[kLowerBushing], S(1.0), S(-1.0))};
    }
    S guess = search.near;
    for (int pass = 1;; ++pass) {
      f.side = m.across + m.across_by_friction * guess;
      const Bushings<S> moment = friction.moments({f.side, f.brake * wheel_radius});
      const Bushings<S> loaded = Friction<S>::sides(moment);
      if (!search.by_modes) on = loaded;
      f.coulomb = friction.coulomb(moment, on);
      // A trial step may run far past where a bushing changes sides; a level stays positive.
      if (search.by_modes) f.coulomb = max(f.coulomb, 0.5 * friction.coulomb(moment, loaded));
      f.slip_level = friction.level(f.coulomb, v);
      f.bristle = bristle(way, f.coulomb, f.slip_level);
      f.bristle_rate = friction.bristle_rate(f.bristle, v, way * v, f.slip_level);
      const S found = friction.force(f.bristle, f.bristle_rate, v);
      // The level goes with the side load, and what the bristle gives, where it slips, with the
      // level; what grows with speed does not. A single pass takes it for slipping.
      const S share = search.passes == 1 ? way : (found - friction.viscous * v) / f.coulomb;
      const S gain = m.across_by_friction * share * friction.coulomb_by_load(on);
      const S change = (found - guess) * (1.0 + gain);  // 1/(1 - gain), which is a hundredth
      guess = guess + change;
      if (pass >= search.passes || !any(abs(change) > kFrictionFound * f.coulomb)) break;
    }
    f.friction = guess;
  } else {
    f.friction = f.coulomb = f.slip_level = f.bristle = f.bristle_rate = S(0.0);
  }
  f.side = m.across + m.across_by_friction * f.friction;
}

template <class S>
template <class BristleOf>
Forces<S> QuarterRider<S>::forces_with(const State<S>& y, const Course<S>& line,
                                       const GroundContact<S>& contact, const Modes<S>& mode,
                                       const FrictionSearch& search,
                                       const BristleOf& bristle) const {
  Forces<S> f;
  S grounded;
  spring_and_damp(y, mode, f);
  carry(y, line, contact, mode, grounded, f);
  const Balance m = balance(y, line, contact, grounded, f);
  rub(y[kTravelSpeed], mode, m, search, bristle, f);
  f.fork = f.fork + f.friction;
  f.sprung_acceleration = m.sprung_free + m.by_friction * f.friction;
  f.travel_acceleration = (m.both * (m.free - f.friction) - m.coupling * m.vertical) * m.inverse;
  f.spin = m.spun - m.spinning * line.cosine * f.travel_acceleration;
  f.axle = (1.0 - wheel_share) * (m.ground + f.spin) + wheel_share * f.fork;
  return f;
}

template <class S>
State<S> QuarterRider<S>::rates(const State<S>& y, const Course<S>& line, const PathPoint<S>& point,
                                const Modes<S>& mode, const Forces<S>& f) const {
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
    rate[kBodyOut] = body.dissipation(stretch_rate);
  } else {
    rate[kBodyHeight] = rate[kBodySpeed] = rate[kBodyOut] = S(0.0);
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

  const GroundContact<S> contact = ground_contact(y, line, point);
  const S rise = y[kSprungSpeed] + v * line.sine + x * line.cosine * line.pitch_rate;  // z_u'
  const S back = line.speed - contact.wheel_speed;                                     // q'
  const S elastic =
      select(mode[kTyreTouches], tyre.elastic(f.deflection, mode[kRimTouches]), S(0.0));
  const S turn = point.curvature * square(contact.cosine) * contact.wheel_speed;  // beta_w'
  rate[kGravityIn] = -line.gravity * (sprung_mass * y[kSprungSpeed] + unsprung_mass * rise);
  if (has_body) rate[kGravityIn] -= line.gravity * body_mass * y[kBodySpeed];
  rate[kGroundIn] =
      f.tyre * contact.sine * line.speed - elastic * contact.gap * contact.sine * turn;
  rate[kBrakeIn] = f.brake * (back * contact.cosine - rise * contact.sine);
  rate[kCarryIn] = unsprung_mass * line.acceleration * back;
  rate[kTransferIn] = -f.transfer * y[kSprungSpeed];
  rate[kPitchIn] = -f.side * x * line.pitch_rate;
  rate[kSpinIn] = f.spin * v;
  rate[kDamperOut] = f.damper * v;
  const S stops_elastic = select(mode[kBumperTouches], bumper.elastic(bumper.depth(x)), S(0.0)) +
                          metal.force(x, S(0.0), mode[kMetalTouches]) -
                          select(mode[kTopOutTouches], top_out.elastic(top_out.depth(x)), S(0.0));
  rate[kStopsOut] = (f.bumper + f.metal + f.top_out - stops_elastic) * v;
  rate[kTyreOut] = select(mode[kTyreTouches], tyre.damping * square(f.deflection_rate), S(0.0));
  return rate;
}

template <class S>
Indicators<S> QuarterRider<S>::indicators(const State<S>& y, const Course<S>& line,
                                          const Forces<S>& f, const Modes<S>& mode) const {
  using std::min;
  Indicators<S> value;
  value[kTyreTouches] =
      select(mode[kTyreTouches], f.tyre_free, min(f.deflection * tyre.stiffness, f.tyre_free));
  indicate_by_place(y[kTravel], f.deflection, value);
  value[kCompresses] = y[kTravelSpeed];
  value[kBrakeSlips] = line.brake_wanted - bike.grip * f.tyre;
  // Bushings that do not rub may be loaded as they like.
  const Mask<S> rubs = friction.bushing > 0.0;
  const Bushings<S> moment = friction.moments({f.side, f.brake * wheel_radius});
  value[kUpperBushing] = select(rubs, moment.upper, S(1.0));
  value[kLowerBushing] = select(rubs, moment.lower, S(1.0));
  return value;
}

template <class S>
typename QuarterRider<S>::Stores QuarterRider<S>::stores(const State<S>& y, const Course<S>& line,
                                                         S deflection) const {
  Stores e;
  const S x = y[kTravel];
  const S v = y[kTravelSpeed];
  const S rise = y[kSprungSpeed] + v * line.sine + x * line.cosine * line.pitch_rate;
  const S back = v * line.cosine - x * line.sine * line.pitch_rate;
  e.kinetic =
      0.5 * (sprung_mass * square(y[kSprungSpeed]) + unsprung_mass * (square(rise) + square(back)));
  if (has_body) {
    e.kinetic += 0.5 * body_mass * square(y[kBodySpeed]);
    e.body = body.stored_energy(y[kBodyHeight] - y[kSprungHeight]);
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
