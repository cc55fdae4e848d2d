// Whether both wheels carry the bike along its line at the prescribed speed.
//
//   rear   N_r - dive(x) > 0     while P > 0 brakes the bike
//   front  N + dive(x) > 0       while D > 0 drives it
//
// N_r, N, dive, P and D of course.hpp; x: travel in equilibrium with that speed, brake and grade on
// ground as steep as the line. On level ground, without resistance and dive, the rear wheel lifts
// at a braking of g (1 - phi) L/h, the front wheel at an acceleration of g phi L/h.
//
// Looked at where a phase of the ride begins or ends and at every node of the grade line between,
// which are a thirty-second of its window apart; the equilibrium is solved only where the loads
// without the dive are within its reach. Bumps shorter than the window do not tip the bike. A crest
// that takes more than half of the weight off both wheels (g0 + kappa < g0/2) is a jump and not a
// grade: there nothing is judged. Nor is grip, which limits a brake before it tips the bike or not.
//
// To blame is, in this order, the rate of the event that brakes or accelerates there, if the bike
// would stay on its wheels without it; the feature whose grade it is, if it would on level ground;
// the speed. The limit is that of the blamed number, all else as it is at that place; of all places
// the first is named at which the load is the least share of what presses both wheels.
// Source: moments about the wheel that stays down; half of the weight is chosen.
#pragma once

#include <optional>

#include "models/setup/assemble.hpp"
#include "models/setup/fault.hpp"
#include "models/setup/ride_line.hpp"
#include "sim/ground/grade_line.hpp"

namespace plunge {

// What stands in the way of a ride. The Setup must have passed judge() and judge_ground(), the
// rider is that of assemble_ridden().
Faults judge_balance(const Setup& setup, const Rider& rider, const GradeLine& grade,
                     const RideLine& line);

// What stands in the way of a steady ride on an even grade [rad]: a wheel that lifts.
std::optional<Fault> judge_even_grade(const Rider& rider, double speed, double grade);

// Grades steeper than this are past what the model is trusted for [rad]: README, how far to trust.
inline constexpr double kTrustedGrade = 30.0 * kPi / 180.0;

// Where the bike first is on a grade past that [m].
std::optional<double> first_past_trust(const GradeLine& grade, const RideLine& line);

}  // namespace plunge
