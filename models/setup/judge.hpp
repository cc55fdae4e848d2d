// The judge of a set-up: every number in its range, and every relation between numbers.
//
// Ranges come from the parameter table. The relations:
//   spacers <= spacer_limit, pressure <= pressure_limit (the maker's limits)
//   V_open = V0 - n v_spacer - v_oil,  V_shut = V_open - A+ (L + kMetalReserve)
//   V_shut >= V_open/kHighestCompression: the chamber still holds air when metal meets metal
//   V0 <= kMostChamber A+ L, negative chamber and its area within shares of the main one's
//   kLeastCarrying <= (m_s + m_r) g sin(theta)/A+ <= kMostCarrying
//   port_position < L/2, port_length <= port_position, bumper, hydraulic stop and negative
//   coil shorter than the travel, tyre_onset < tyre_height
//   masses positive, an upper body needs arms that carry it
//   features that fit into their own length, events in order and on the ground
//   sizes that a machine can hold
// Damper and oil: their own judges (damper.hpp). Each condition says what must hold, so that NaN
// fails it. A key that is out of its range is not judged again by the relations. Where several
// numbers contradict each other, the one that forks are least likely to have is blamed, and what
// they have is said. Keys are dotted names; rows, features and events are numbered from 0:
// "terrain[0].height".
#pragma once

#include <cstddef>
#include <vector>

#include "models/setup/fault.hpp"
#include "models/setup/setup.hpp"

namespace plunge {

// Travel past the metal stop that the air chamber must leave room for [m]: chosen; what the chassis
// gives under 1.25 kN. Past it the last of the air pushes back without bound.
inline constexpr double kMetalReserve = 5e-3;

// Highest ratio of the open to the shut main chamber [1]: chosen, well past any fork.
inline constexpr double kHighestCompression = 60.0;

// Main chamber over the stroke volume A+ L, at most [1]: engineering estimate, twice the largest
// (220 cm3 over 7 cm2) for 100 mm of travel.
inline constexpr double kMostChamber = 6.0;

// Negative chamber and its area over those of the main chamber, least and most [1]: engineering
// estimates, well past the 0.05 to 0.3 and 0.85 to 0.95 of forks.
inline constexpr double kNegativeShare[] = {0.01, 0.5};
inline constexpr double kNegativeAreaShare[] = {0.4, 1.2};

// Pressure that what the fork carries asks of the main piston alone, least and most [Pa]:
// engineering estimate; forks are pumped to 4 to 8.5 bar.
inline constexpr double kLeastCarrying = 0.2e5;
inline constexpr double kMostCarrying = 25e5;

// Sizes past which a ride is refused: chosen, so that it fits into a small machine.
inline constexpr double kLongestGround = 20e3;  // [m]
inline constexpr std::size_t kMostGroundPoints = 1'000'000;
inline constexpr std::size_t kMostFeatures = 10'000;
inline constexpr std::size_t kMostEvents = 1'000;
inline constexpr std::size_t kMostRows = 10'000;  // of a click table or dynamometer points
inline constexpr double kMostSamples = 5e7;

// Sag that can be held, as a share of the travel [1]: chosen.
inline constexpr double kLeastSag = 0.01;
inline constexpr double kMostSag = 0.9;

// Shortest fade of rough ground, other than none [m]: chosen; as the finest ground that matters to
// a wheel.
inline constexpr double kShortestFade = 0.01;

// The unknown of a hold, which may still be unset: the pressure of an air spring, the preload of a
// coil.
enum class Held { nothing, sag };

Faults judge(const Setup& setup, Held held = Held::nothing);

// One part alone, with the relations inside it. A fork alone may be without pressure.
Faults judge(const ForkSetup& fork);
Faults judge(const BikeSetup& bike);
Faults judge(const RiderSetup& rider);
Faults judge(const std::vector<Feature>& terrain);

// A sag to hold, as a share of the travel.
Faults judge_hold(double sag);

// Horizontal length of a feature [m].
double feature_length(const Feature& feature);
// Of all features together.
double terrain_length(const std::vector<Feature>& terrain);

}  // namespace plunge
