// How far a sweep is: of the plan, or of the part of it that run_sweep() was asked for.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "models/laws/constants.hpp"
#include "sim/sweep/reasons.hpp"
#include "sim/sweep/sweep_folder.hpp"
#include "sim/sweep/tallies.hpp"
#include "sim/sweep/workers.hpp"

namespace plunge {

struct SweepState {
  std::size_t shards = 0;
  std::size_t shards_done = 0;
  std::size_t rides = 0;
  std::size_t rides_done = 0;  // in finished shards
  std::size_t failed = 0;      // of these, as far as tallied
  std::size_t redone = 0;      // by the adaptive path
  double rate = 0.0;           // rides per second of all running workers; 0: unknown
  double seconds_left = kUnset;
  std::vector<SweepWorker> workers;  // running now; of run_sweep(): the others
  bool locks = true;                 // false: no locks here, so a worker may be one that was killed
  // The following are set by run_sweep() alone.
  std::size_t to_check = 0;  // shards that were there at its start
  std::size_t checked = 0;
  std::size_t ridden = 0;            // rides of this process
  double seconds = 0.0;              // since its start
  bool interrupted = false;          // stopped before it was done
  std::size_t dropped = 0;           // shards that were under way then
  std::vector<std::string> damaged;  // what was wrong with each shard that was set aside
  std::vector<SweepReason> reasons;  // most frequent first; complete at the end

  // Counts a finished shard.
  void count(std::size_t rides_of_shard, const Tallies::Entry& tally);
  // Sets the rate, and from it the time left where there is a rate.
  void set_rate(double rides_per_second);
};

// What a folder holds now; reads no shard but their names, and what the workers say.
SweepState sweep_state(const SweepFolder& folder);

}  // namespace plunge
