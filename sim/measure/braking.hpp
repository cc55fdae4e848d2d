// What an event's braking loses at the front wheel: to grip, and to the air.
//
// Over the time in which events of the ride brake: how long grip limits the braking force of the
// front wheel while it is on the ground, and how long that wheel is off the ground; of each where
// it first comes about, and the longest time at a stretch. Both follow from the instants that the
// integrator located: "lift_off", "touch_down", "brake_limited_by_grip", "brake_grips".
// The rear wheel's grip is prescribed (models/laws/course.hpp).
#pragma once

#include <vector>

#include "models/setup/ride_line.hpp"
#include "sim/measure/result.hpp"

namespace plunge {

struct BrakeLoss {
  double time = 0.0;           // [s]
  double first = kUnset;       // where it first comes about [m]
  double longest = 0.0;        // at a stretch [s]
  double longest_at = kUnset;  // where that begins [m]
};

struct BrakeLosses {
  BrakeLoss grip;
  BrakeLoss air;
};

// Time in which events brake, from the start to a time [s].
double braking_time(const RideLine& line, double end_time);

// Of a ride up to a time. The wheel is on the ground and has grip until it is said to have not.
BrakeLosses brake_losses(const RideLine& line, const std::vector<Located>& located,
                         double end_time);

}  // namespace plunge
