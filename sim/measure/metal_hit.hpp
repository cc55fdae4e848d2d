// How hard metal meets metal: what the fork still moves with, and the force that this takes.
//
//   m_x x'' = D - F_fork,   m_x = m_u (m_s + m_u cos^2)/(m_s + m_u)
//
// m_x: mass of a fork that closes, all else left free. D: what drives the fork together, from the
// ground and the weights: known from acceleration and force as metal meets metal and held from
// there on, as what springs and friction give is but for the stiffness of the springs. Damper,
// stops and metal follow their laws. That contact of one degree of freedom is ridden until the fork
// turns, and its largest F_fork is the force of the hit.
//
// How stiff the contact is, and chassis and steerer behind it, is not known of any fork: the band
// is that force for the softest and the stiffest of both, kContactStiffness and kChassisStiffness,
// or what the fork has where that lies outside. Where the fork already slows down by itself most
// of it is the force that it meets metal with, and the band is narrow.
//
// Source: our own definition; ranges: engineering estimates.
#pragma once

#include "models/setup/assemble.hpp"

namespace plunge {

inline constexpr double kContactStiffness[] = {3e7, 3e8};    // k_m, least and most [N/m^1.5]
inline constexpr double kChassisStiffness[] = {1.5e5, 4e5};  // k_c [N/m]

// Metal meets metal: the speed as it does, and what acts then or a step of the ride later.
struct Closing {
  double time = 0.0;          // [s]
  double speed = 0.0;         // at the end of the travel [m/s]
  double travel = 0.0;        // where the following are known [m]
  double travel_speed = 0.0;  // [m/s]
  double acceleration = 0.0;  // x'' [m/s2]
  double fork_force = 0.0;    // F_fork [N]
};

// m_x [kg].
double closing_mass(const Rider& rider);

// Largest force of the fork in a hit on metal that is as stiff as the rider's own [N].
double force_of_hit(const Rider& rider, const Closing& hit);

// The same with the softest and the stiffest metal and chassis [N].
struct ForceBand {
  double low = 0.0;
  double high = 0.0;
};
ForceBand band_of_hit(const Rider& rider, const Closing& hit);

}  // namespace plunge
