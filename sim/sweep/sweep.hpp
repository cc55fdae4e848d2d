// Runs a plan to its end in a folder, shard by shard.
//
// The folder (sweep_paths.hpp) holds the plan's text and the finished shards. Resuming is "do the
// shards that are missing": no state but the shards themselves; what else is there only informs
// people. At the start of a run each shard is checked; one that is damaged or of another plan is
// named, set aside as *.damaged and done again.
// Several processes in one folder share the work: a shard is claimed before it is ridden
// (claims.hpp). Where the file system knows no locks two may do the same shard; both write the same
// bytes.
// No decision looks at a clock; rate and time left are for people only. Memory grows with the
// number of shards by a few bits, with that of rides not at all.
//
// Throws InputError for a folder of another plan, RunError where the folder can't be written (a
// full disk): what is finished stays.
#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <string>

#include "sim/lanes/many_rides.hpp"
#include "sim/sweep/plan_file.hpp"
#include "sim/sweep/shard_file.hpp"
#include "sim/sweep/sweep_folder.hpp"
#include "sim/sweep/sweep_state.hpp"

namespace plunge {

// Shards of a run for riders outside this process.
class HandOut {
 public:
  virtual ~HandOut() = default;
  virtual const SweepFolder& folder() const = 0;
  // By what others know that they see the same folder (sees_mark()).
  virtual std::string mark() const = 0;
  // Claims a shard; none: none is free, now or for good.
  virtual std::optional<std::size_t> next() = 0;
  // A claimed shard is written.
  virtual void done(std::size_t shard, const ShardTally& tally) = 0;
  // A claimed shard was given up.
  virtual void dropped(std::size_t shard) = 0;
  // True once the shards under way shall be dropped.
  virtual bool stopping() = 0;
};

struct SweepOptions {
  std::string folder;
  std::size_t threads = 0;              // 0: one for each core
  std::optional<InstructionSet> lanes;  // unset: that of the folder, the best for a new one
  std::optional<InstructionSet> best;   // for a new folder; unset: the widest of this processor
  std::size_t part = 0;                 // of a job array: does the shards s with s % parts == part
  std::size_t parts = 1;
  std::function<void(const SweepState&)> on_progress;  // about twice a second, from one thread
  // Two ways to end before all is done, each asked by one thread at a time. Finished shards stay.
  std::function<bool()> finish;  // asked between shards: finish what runs, start nothing new
  std::function<bool()> stop;    // asked between rides too: end within a second or two; the shards
                                 // under way are lost, half a shard a thread on average
  // Polled about every 1 ms by run_sweep(): hands shards to remote processes and collects what they
  // did. Returns true while one is busy.
  std::function<bool(HandOut&)> elsewhere;
};

// Returns when the plan (or its part) is done, by whichever process, or it shall end before.
SweepState run_sweep(const Plan& plan, const SweepOptions& options);

// Rides a shard and writes it; none: `stop` said that it shall end, and nothing is written.
std::optional<ShardTally> ride_shard(const Plan& plan, const SweepFolder& folder,
                                     std::size_t number, ManyRides& rider,
                                     const std::function<bool()>& stop);

}  // namespace plunge
