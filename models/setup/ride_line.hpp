// The rider's line: distance, speed, braking and lean over time, as prescribed.
//
//   s(t), v = s', a = v'          [m], [m/s], [m/s2]; piecewise cubic s, so a is continuous
//   share                         part of the braking force that is asked of the front wheel: the
//                                 event's own while it brakes, else that of the ride
//   g(t) = g0 / cos(lean(t))      load along the bike's plane [m/s2]
//
// A change of speed ramps a(t) to its full size in `rise`, holds it and ramps back so as to end
// at `to_speed`; where the change is too small to reach the full size, the ramps meet earlier. A
// corner leans in and out along a smoothstep of fifth order, each over `rise`, and holds the lean
// over `length` of ground. The line is a chain of phases; inside a phase everything is smooth.
//
// Throws InputError where two changes of speed overlap or two corners do, or where an event begins
// before the start. All along the horizontal. Not here: what force it takes (course.hpp), what grip
// allows (quarter_rider.hpp).
#pragma once

#include <cstddef>
#include <vector>

#include "models/laws/motion.hpp"
#include "models/setup/setup.hpp"

namespace plunge {

struct RidePhase {
  double start = 0.0;  // [s]
  double distance = 0.0;
  double speed = 0.0;
  double acceleration = 0.0;
  double jerk = 0.0;           // [m/s3]
  double brake_share = 0.0;    // [1]
  bool brakes = false;         // belongs to an event that brakes
  double lean_start = 0.0;     // start of the smoothstep that this phase belongs to [s]
  double lean_duration = 1.0;  // [s]
  double lean_from = 0.0;      // [rad]
  double lean_to = 0.0;        // [rad]

  Motion<double> at(double time) const;
};

class RideLine {
 public:
  // ground_length: where the ride ends unless ride.duration says otherwise [m].
  RideLine(const RideSetup& ride, const std::vector<RideEvent>& events, double ground_length);

  const std::vector<RidePhase>& phases() const { return phases_; }
  double duration() const { return duration_; }
  std::size_t phase_at(double time) const;
  Motion<double> at(double time) const { return phases_[phase_at(time)].at(time); }
  double time_at(double distance) const;
  double lean_at(double time) const;

  // The time at which each event is fully over, in the order given [s].
  const std::vector<double>& event_ends() const { return event_ends_; }
  const std::vector<double>& event_starts() const { return event_starts_; }

 private:
  // Adds the phases of event `number`; changes of speed come in order, before any corner.
  void add_change(std::size_t number, const RideEvent& event);
  // free_from: when the corner before this one is over [s].
  void add_corner(std::size_t number, const RideEvent& event, double free_from);

  std::vector<RidePhase> phases_;
  std::vector<double> event_starts_;
  std::vector<double> event_ends_;
  double duration_ = 0.0;
};

}  // namespace plunge
