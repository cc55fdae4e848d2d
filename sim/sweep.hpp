// Runs a plan to its end in a folder, shard by shard.
//
// The folder holds
//   plan.toml          the plan file as it was, for people
//   resolved-plan.txt  Plan::resolved() and the instruction set: written first, once; a later run
//                      with another text is refused with the lines that differ
//   shard-*.h5         finished shards (shard_file.hpp)
//   work/              claims and progress of the workers now running
// Resuming is "do the shards that are missing": no state but the shards themselves. A shard that
// can't be read is named, set aside as *.damaged and done again. Two processes in one folder share
// the work: a shard is claimed by a locked file (flock: freed by the system however a process
// ends), so the same shard is not done twice at once; if it ever were, both write the same bytes.
// No decision looks at a clock; rate and time left are for people only.
//
// Throws InputError for a folder of another plan, RunError where the folder can't be written (a
// full disk): what is finished stays.
#pragma once

#include <cstddef>
#include <functional>
#include <string>
#include <vector>

#include "sim/many_rides.hpp"
#include "sim/plan_file.hpp"

namespace plunge {

struct SweepState {
  std::size_t shards = 0;  // of the plan
  std::size_t shards_done = 0;
  std::size_t rides = 0;
  std::size_t rides_done = 0;  // in finished shards
  std::size_t failed = 0;      // of these, as far as this process or its neighbours counted
  std::size_t redone = 0;      // by the adaptive path
  double rate = 0.0;           // rides per second of all running workers; 0: unknown
  double seconds_left = kUnset;
  std::size_t workers = 0;  // running now
  bool interrupted = false;
  std::vector<std::string> damaged;  // shards that were set aside
};

struct SweepOptions {
  std::string folder;
  std::size_t threads = 0;                          // 0: one for each core
  InstructionSet lanes = InstructionSet::portable;  // a folder keeps the one that it began with
  std::size_t part = 0;  // of a job array: does the shards s with s % parts == part
  std::size_t parts = 1;
  std::function<void(const SweepState&)> on_progress;  // about twice a second, from one thread
  std::function<bool()> stop;  // asked between shards: finish what runs, start nothing new
};

// Returns when the plan (or its part) is done or stop() says so.
SweepState run_sweep(const Plan& plan, const SweepOptions& options);

// What a folder holds now; reads no shard but their names, and the workers' progress.
SweepState sweep_state(const Plan& plan, const std::string& folder);

// Hex digest of the resolved plan and the instruction set.
std::string fingerprint_of(const Plan& plan, InstructionSet lanes);

}  // namespace plunge
