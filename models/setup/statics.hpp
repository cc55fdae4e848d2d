// The fork at rest: force-travel curves, sag, breakaway, the pressure that holds a sag.
//
//   slow     every gas at wall temperature (isothermal); springs and stops, no damper, no friction
//   fast     isentropic from a slow approach to a starting travel
//   sag      travel x_s at which the slow force carries the sprung mass and the body on level
//            ground:  F_slow(x_s) = (m_s + m_r) g sin(theta)
//   sag band travels between which friction leaves the fork at rest under that load: the slow force
//            there is the load less, and plus, the static friction of seals and bushings under it
//   breakaway force   slow force at the port, where both chambers hold one pressure, plus the
//                     static friction of seals and bushings: what the first movement asks for [N]
//   progression       slow stiffness at 90 % of travel over that at 50 % (stops left out)
//
// In the transfer window the chambers share one pressure; elsewhere each keeps the gas that it
// had at x_port.
// Throws InputError where no pressure (or preload) within the fork's limits holds a sag.
#pragma once

#include <functional>

#include "models/setup/assemble.hpp"
#include "models/setup/setup.hpp"

namespace plunge {

// Gas in the main chamber after the fork has come slowly to x [kg].
double settled_main_mass(const Rider& rider, double x);

// Springs alone, and springs with bumper, metal and top-out [N].
double slow_spring_force(const Rider& rider, double x);
double slow_force(const Rider& rider, double x);
double fast_spring_force(const Rider& rider, double from, double x);

// dF/dx of the springs alone [N/m], central difference over 0.1 mm.
double slow_stiffness(const Rider& rider, double x);
double fast_stiffness(const Rider& rider, double x);

// Travel at which slow_force carries a load along the legs [m]; a little below 0 or above the
// travel where the stops carry it.
double travel_under(const Rider& rider, double load);

// Load along the legs at standstill on level ground [N].
double static_load(const Rider& rider);

double sag(const Rider& rider);

// Where the fork may stay at rest on level ground [m].
struct TravelBand {
  double least = 0.0;
  double most = 0.0;
};
TravelBand sag_band(const Rider& rider);

// Of seals and bushings, these loaded as at rest; of a fork without a rider unloaded [N].
double static_friction(const Rider& rider);
double breakaway_force(const Rider& rider);
double progression(const Rider& rider);

// Deflection at which the tyre carries a load [m]; 0 where there is none to carry.
double tyre_deflection_under(const Rider& rider, double load);

// The rider of a Setup, ready to be ridden: with the travel at rest, from which the dive counts.
Rider assemble_ridden(const Setup& setup, const Damper<double>& damper);
Rider assemble_ridden(const Setup& setup);

// Path of the wheel's centre over the distance along the ground [m].
using PathAt = std::function<PathPoint<double>(double)>;

// State of a rider who follows a path at a speed, a grade and with the brakes or the drive that
// they ask for, in equilibrium: springs, tyre, legs and arms carry weights and transferred load,
// gas at wall temperature, bristles unbent. The wheel stands at s - x cos(theta), so that travel
// and slope under the wheel depend on each other; both are solved together. Where the front would
// lift, nothing holds it: the wheel hangs, its tyre just at the ground.
State<double> state_at_rest_on(const Rider& rider, const PathAt& path,
                               const Motion<double>& motion);

// Travel of that rider [m], and the force of the ground along the normal of the path [N].
struct Equilibrium {
  double travel = 0.0;
  double ground_force = 0.0;
};
Equilibrium equilibrium(const Rider& rider, const PathAt& path, const Motion<double>& motion);

// Solves fork.pressure (air) or fork.coil.preload (coil) so that the sag is a share of travel.
void hold_sag(Setup& setup, double share);

}  // namespace plunge
