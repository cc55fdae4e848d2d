// What is asked of rides in lanes and what they find, as plain numbers: the part of lanes.hpp that
// the arithmetic of a step reads too.
#pragma once

#include <cstddef>
#include <cstdint>

namespace plunge {

// Samples of a ride at k/sample_rate, as far as they are wanted. How each follows from a step:
// LaneSampler::sample() (lane_samples.hpp).
enum LaneChannel : std::size_t {
  kLaneTravel,
  kLaneTravelSpeed,
  kLaneSprungSpeed,
  kLaneSprungAcceleration,
  kLaneHandForce,
  kLaneGroundForce,
  kLaneForkForce,
  kLaneChannels
};

// How the lanes ask whether to stop: a plain function, so that no code of theirs is shared.
struct LaneStop {
  bool (*asked)(void* of) = nullptr;  // null: never
  void* of = nullptr;

  bool operator()() const { return asked != nullptr && asked(of); }
};

struct LaneWish {
  double sample_rate = 0.0;  // 0: no samples
  bool channels[kLaneChannels] = {};
  double step_factor = 1.0;  // multiplies the longest step of a creeping fork and inside a stop [1]
  double tolerance = 1e-4;   // largest error of a step, in the usual size of each state
  double doubtful_force = 1.0;    // a tyre force nearer to lift-off than this is in doubt [N]
  double doubtful_travel = 1e-5;  // a travel nearer to a stop than this is in doubt [m]
  LaneStop stop;  // asked every kStepsUnasked steps; once it says so, nothing more is ridden
};

inline constexpr int kStepsUnasked = 1024;  // some milliseconds

enum Doubt : std::uint32_t {
  kDoubtLiftOff = 1,  // a tyre that nearly left the ground, or hardly
  kDoubtContact = 2,  // a fork that nearly reached a stop, or hardly
  kDoubtStuck = 4,    // the step shrank to nothing, or a number was lost
  kDoubtRim = 8,      // a rim that was nearly struck, or hardly
};

}  // namespace plunge
