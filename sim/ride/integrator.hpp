// Rides a quarter rider over its path: adaptive, event-located, with dense output.
//
//   Odeint's Dormand-Prince 5(4) pair with its dense output and step control. In a step every mode
//   is held (the laws go on smoothly past their switch), so the step and its error estimate see a
//   smooth equation; then the indicators are evaluated, the first switch is located on the dense
//   output by a bracketing root finder, the state there becomes the new start and the step size is
//   kept. Kinks of the path, the phases of the rider's line and changes of direction of the fork
//   are switches as well. Off the ground the wheel is watched at least every kAirborneStride.
//
// Throws RunError naming time, state and part where the equations cannot be followed; what was
// observed before stays with the observer.
// Source: Hairer, Norsett & Wanner, Solving Ordinary Differential Equations I, II.4-II.6.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "models/setup/assemble.hpp"
#include "models/setup/ride_line.hpp"
#include "sim/ground/terrain.hpp"
#include "sim/measure/instant.hpp"

namespace plunge {

// Longest way that an airborne wheel goes between two evaluations of the ground [m].
inline constexpr double kAirborneStride = 0.01;

struct Switched {
  double time = 0.0;
  Switch which{};
  bool on = false;
  State<double> state{};    // continuous across the switch
  Forces<double> forces{};  // just before it
};

struct SolverCount {
  std::uint64_t steps = 0;
  std::uint64_t rejected = 0;
  std::uint64_t evaluations = 0;  // of the equations of motion, those of the dense output included
  std::uint64_t switches = 0;     // located
  std::uint64_t kinks = 0;        // of the path, located
};

struct Watch {
  // Called at time k/sample_rate, k = 0, 1, ...; sample_rate 0: never.
  double sample_rate = 0.0;
  std::function<void(const Instant&)> on_sample;
  std::function<void(const Switched&)> on_switch;
  // Called at both ends of each smooth stretch of a step, and inside it where a force that
  // `on_step` answers true for may peak.
  std::function<bool(const Instant&)> on_step;
};

// Where and how the bike is at a time of its line.
Motion<double> motion_at(const GradeLine& grade, const RidePhase& phase, double time);

// Rides from `start` at time 0 to line.duration(). Returns the last instant.
Instant ride(const Rider& rider, const Ground& ground, const RideLine& line,
             const State<double>& start, double tolerance, const Watch& watch, SolverCount& count);

// The modes that fit a state, for a start or a single evaluation.
Modes<double> modes_of(const Rider& rider, const State<double>& state, const Course<double>& line,
                       const PathPoint<double>& point);

// What a place in the state vector is called in messages: name and the part it belongs to.
struct StateName {
  const char* name;
  const char* part;
};
StateName state_name(std::size_t index);

}  // namespace plunge
