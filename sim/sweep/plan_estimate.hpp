// How long a sweep would take on this machine and how large it would get, before it is begun.
//
// Time: some of the plan's rides, evenly spread over it, are ridden in the lanes by one thread, in
// handfuls that grow until kLongEnough has gone. With T the time that a ride lasts for its rider:
//   seconds = rides · mean T · (time that the last handful took) / (Σ T of it) / cores at work
// A ride longer than kTrial is tried over its first kTrial seconds. Rides that the plan cannot ride
// take no time. It is an estimate: rides differ, cores share memory, and other work goes on.
// Size, with M metrics and T traces at f Hz over the longest ride t that was looked at:
//   shards  rides (12 + 8 M + 4 T f t) + (20 kB + 8 f t) a shard
//   merged  rides (8 + 8 M + 4 T f t) + 20 kB + 8 f t, the resolved plan, and 8 bytes a number and
//           row of the sample; traces that are compressed take less
// Nothing is written.
#pragma once

#include <cstddef>
#include <vector>

#include "models/laws/constants.hpp"
#include "sim/sweep/plan_file.hpp"
#include "sim/sweep/reasons.hpp"

namespace plunge {

inline constexpr double kLongEnough = 0.4;  // [s]; chosen: a person waits for it gladly
inline constexpr double kTrial = 8.0;       // [s] of a ride; chosen, likewise

struct PlanEstimate {
  std::size_t tried = 0;             // rides of the last handful
  std::size_t failed = 0;            // of these
  std::vector<SweepReason> reasons;  // why, most frequent first
  std::size_t cores = 1;             // that have a shard to ride
  double rate = kUnset;      // rides a second of one core; unset: none of those tried was ridden
  double seconds = kUnset;   // for all rides, on these cores
  double shard_bytes = 0.0;  // of all shards
  double merged_bytes = 0.0;
};

// threads: cores to count on; 0: all of this machine.
PlanEstimate estimate(const Plan& plan, std::size_t threads = 0);

}  // namespace plunge
