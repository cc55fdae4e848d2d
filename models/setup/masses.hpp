// The masses that the front wheel carries, from bike, rider and fork.
//
//   m_front  = front_share (m_rider + m_bike)        on the front tyre at rest      [kg]
//   m_body   = body_share front_share m_rider         upper body on legs and arms   [kg]
//   m_sprung = m_front - m_unsprung - m_body         carried rigidly by the fork    [kg]
//   m_total  = m_rider + m_bike                      braked by both wheels          [kg]
//
// rider.body_mass and rider.sprung_mass each take the place of their own computed value only.
// Limits: static shares on level ground; what rides on the rear wheel is not followed.
#pragma once

#include <cmath>

#include "models/setup/setup.hpp"

namespace plunge {

// Least mass carried rigidly on the fork [kg]: chosen, so that its motion can be followed.
inline constexpr double kLeastSprungMass = 0.01;

inline double total_mass(const Setup& setup) { return setup.rider.mass + setup.bike.mass; }

inline double body_mass(const Setup& setup) {
  const RiderSetup& rider = setup.rider;
  if (!std::isnan(rider.body_mass)) return rider.body_mass;
  return rider.body_share * rider.front_share * rider.mass;
}

inline double sprung_mass(const Setup& setup) {
  const RiderSetup& rider = setup.rider;
  if (!std::isnan(rider.sprung_mass)) return rider.sprung_mass;
  const double computed_body = rider.body_share * rider.front_share * rider.mass;
  return rider.front_share * total_mass(setup) - setup.fork.unsprung_mass - computed_body;
}

inline double front_mass(const Setup& setup) {
  return sprung_mass(setup) + body_mass(setup) + setup.fork.unsprung_mass;
}

// The air where the fork was pumped: that of the ride where none is given.
inline AirState pumped_air(const Setup& setup) {
  AirState air = setup.ambient;
  if (!std::isnan(setup.pumped.altitude)) air.altitude = setup.pumped.altitude;
  if (!std::isnan(setup.pumped.temperature)) air.temperature = setup.pumped.temperature;
  return air;
}

}  // namespace plunge
