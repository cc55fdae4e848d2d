// Runs a plan to its end in a folder, shard by shard.
//
// The folder holds
//   plan.toml          the plan file as it was, for people
//   plan-path.txt      where that file is: what it names is found from there
//   resolved-plan.txt  Plan::resolved(), the instruction set and the version of the results,
//                      written once; a later run with another text is refused with the lines that
//                      differ
//   shard-*.h5         finished shards (shard_file.hpp)
//   work/              locks of the workers now running, their progress, tallies of the shards
// Resuming is "do the shards that are missing": no state but the shards themselves; what else is in
// work/ only informs people. At the start of a run each shard is checked; one that is damaged or of
// another plan is named, set aside as *.damaged and done again.
// Several processes in one folder share the work: a shard is claimed by the lock of a byte
// (byte_locks.hpp), freed by the system however a process ends. Where the file system knows no
// locks two may do the same shard; both write the same bytes.
// No decision looks at a clock; rate and time left are for people only. Memory grows with the
// number of shards by a few bits, with that of rides not at all.
//
// Throws InputError for a folder of another plan, RunError where the folder can't be written (a
// full disk): what is finished stays.
#pragma once

#include <cstddef>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "models/laws/constants.hpp"
#include "sim/lanes/many_rides.hpp"
#include "sim/sweep/plan_file.hpp"
#include "sim/sweep/shard_file.hpp"

namespace plunge {

// Raised whenever the same plan would give other numbers than before: a sweep is never continued
// with another version.
inline constexpr int kResultsVersion = 1;

// A folder that holds a sweep.
struct SweepFolder {
  std::string path;
  std::string plan_path;  // where the plan was when it last ran, absolute
  std::string resolved;   // all of resolved-plan.txt
  std::string fingerprint;
  InstructionSet lanes = InstructionSet::portable;
  std::size_t rides = 0;
  std::size_t shard_size = 0;
  std::size_t shards = 0;
};

// Throws InputError for a folder that is missing or holds no sweep that this program can read.
SweepFolder open_sweep(const std::string& folder);

// Loads the plan from where it was; throws InputError where it is gone or no longer the same.
Plan plan_of(const SweepFolder& folder);

// Path of a shard.
std::string shard_path(const SweepFolder& folder, std::size_t number);

// Whether each shard of the plan is there, by its name.
std::vector<bool> shards_there(const SweepFolder& folder);

// Failed rides whose reasons differ in their numbers only.
struct SweepReason {
  std::string text;      // of the first such ride
  std::size_t ride = 0;  // its number
  std::size_t rides = 0;
};

// A reason with # in place of each number.
std::string without_numbers(const std::string& reason);

// Reasons by their text without numbers as a list: the most frequent first, of equals the one that
// came first.
std::vector<SweepReason> by_frequency(const std::map<std::string, SweepReason>& kinds);

struct SweepWorker {
  std::string host;
  std::string process;    // its number
  std::size_t rides = 0;  // that it has ridden
  double rate = 0.0;      // rides per second; 0: unknown
};

// What is counted is the plan, or the part of it that run_sweep() was asked for.
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
  // Of run_sweep() alone.
  std::size_t to_check = 0;  // shards that were there at its start
  std::size_t checked = 0;
  std::size_t ridden = 0;            // rides of this process
  double seconds = 0.0;              // since its start
  bool interrupted = false;          // stopped before it was done
  std::vector<std::string> damaged;  // what was wrong with each shard that was set aside
  std::vector<SweepReason> reasons;  // most frequent first; complete at the end
};

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
};

struct SweepOptions {
  std::string folder;
  std::size_t threads = 0;              // 0: one for each core
  std::optional<InstructionSet> lanes;  // unset: that of the folder, the best for a new one
  std::optional<InstructionSet> best;   // for a new folder; unset: the widest of this processor
  std::size_t part = 0;                 // of a job array: does the shards s with s % parts == part
  std::size_t parts = 1;
  std::function<void(const SweepState&)> on_progress;  // about twice a second, from one thread
  std::function<bool()> stop;  // asked between shards: finish what runs, start nothing new
  // Gives shards to riders elsewhere and hears of them; called about every millisecond from the
  // thread of run_sweep(), which goes on while it returns true: some are still at work.
  std::function<bool(HandOut&)> elsewhere;
};

// Returns when the plan (or its part) is done, by whichever process, or stop() says so.
SweepState run_sweep(const Plan& plan, const SweepOptions& options);

// Rides a shard and writes it.
ShardTally ride_shard(const Plan& plan, const SweepFolder& folder, std::size_t number,
                      ManyRides& rider);

// Whether a folder is the one that a HandOut's mark speaks of, and not another of its name.
bool sees_mark(const std::string& folder, const std::string& mark);

// What a folder holds now; reads no shard but their names, and what the workers say.
SweepState sweep_state(const SweepFolder& folder);

// Hex digest of the resolved plan, the instruction set and the version of the results.
std::string fingerprint_of(const Plan& plan, InstructionSet lanes);

}  // namespace plunge
