// Rides side by side in the lanes of a SIMD register.
//
// Each lane is a ride of its own, with its own time, step, modes and place on its path; when it
// ends the next ride takes its lane. The equations are QuarterRider's, on Pack (lane_pack.hpp).
//
//   The step: lane_step.hpp. Its events: lane_events.hpp. A lane's way from ride to ride:
//   lane_runner.hpp, compiled once for each instruction set.
// Not here: energy audit; what is doubtful is said, not repaired (many_rides.cpp).
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "sim/lanes/lane_pieces.hpp"
#include "sim/lanes/lane_wish.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/ride/run.hpp"

namespace plunge {

inline constexpr double kLaneFitHeight = 1e-6;  // how far a lane's path may be off [m]
inline constexpr double kLaneFitSlope = 1e-4;   // [1]

std::vector<WheelPiece> lane_pieces(const WheelPath& path);

// A damper's law as lanes read it: the pieces of its table, or of its slopes, and the first piece
// of each of kLaneBuckets buckets of speed.
struct LaneLaw {
  // Ended by one that starts at NaN, which no speed reaches: an infinite one neither, as a trial
  // step that is thrown away may bring.
  std::vector<LawPiece> pieces;
  std::vector<std::uint16_t> first;  // kLaneBuckets of them
};
LaneLaw lane_law(const DamperLaw<double>& law);
LawView view(const LaneLaw& law);

// What rides in a lane.
struct LaneRide {
  const Rider* rider = nullptr;
  const RideLine* line = nullptr;
  const State<double>* start = nullptr;
  const std::vector<WheelPiece>* path = nullptr;
  const GradeLine* grade = nullptr;
  const LaneLaw* compression = nullptr;  // null, both: slopes
  const LaneLaw* rebound = nullptr;
};

struct LaneOutcome {
  Record record;
  std::vector<float> samples[kLaneChannels];
  std::uint64_t steps = 0;
  std::uint64_t tries = 0;
  std::uint32_t doubts = 0;  // Doubts together; 0: none
};

// Rides of one kind (same parts present, both or none with tables) and one wish, one outcome each.
// After a stop the outcomes mean nothing.
void ride_lanes_portable(std::span<const LaneRide> rides, const LaneWish& wish,
                         std::span<LaneOutcome> outcomes);
void ride_lanes_avx2(std::span<const LaneRide> rides, const LaneWish& wish,
                     std::span<LaneOutcome> outcomes);
void ride_lanes_avx512(std::span<const LaneRide> rides, const LaneWish& wish,
                       std::span<LaneOutcome> outcomes);

}  // namespace plunge
