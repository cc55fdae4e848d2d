// The folder of a sweep: which sweep it holds, how it is begun, what of it is there.
//
// resolved-plan.txt says it: six lines of its own (versions, build, lanes, rides, shard size), then
// Plan::resolved(). It is written once, before the first shard; a plan whose text differs is
// refused with the lines that differ. The fingerprint is the check sum of that text, so a shard
// (shard_file.hpp) belongs to a plan, a build, an instruction set and a version of the results.
// The folder keeps the plan and all files that it names (kept_files.hpp): whatever becomes of
// those, it goes on, merges, and can be copied anywhere. Only the build that began it rides in it;
// any that knows its versions merges and gathers.
//
// Throws InputError for a folder of another plan, RunError where the folder can't be made.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "sim/lanes/lanes.hpp"
#include "sim/sweep/plan_file.hpp"

namespace plunge {

// Raised whenever the same plan would give other numbers than before: a sweep is never continued
// with another version.
inline constexpr int kResultsVersion = 2;

struct SweepFolder {
  std::string path;
  std::string plan_path;  // where the plan was when it last ran, absolute; for people
  std::string resolved;   // all of resolved-plan.txt
  std::string fingerprint;
  std::string build;  // that began it (build_identity.hpp)
  InstructionSet lanes = InstructionSet::portable;
  std::size_t rides = 0;
  std::size_t shard_size = 0;
  std::size_t shards = 0;
};

// Throws InputError for a folder that is missing or holds no sweep that this program can read.
SweepFolder open_sweep(const std::string& folder);

// Makes a folder for the plan, or takes up the one that is there: the same plan, this build, and
// the same lanes where some are asked for. A new folder has `lanes`, or `best` where none are asked
// for. Of several processes that begin one folder at once, one does.
SweepFolder begin_sweep(const Plan& plan, const std::string& folder,
                        std::optional<InstructionSet> lanes, InstructionSet best);

// Makes a folder for the same sweep as another's, of the same build and lanes, if there is none;
// `plan` is that one's.
SweepFolder begin_same(const SweepFolder& other, const Plan& plan, const std::string& folder);

// Throws InputError where another build than this one began the folder.
void demand_this_build(const SweepFolder& folder);

// Loads the plan that the folder keeps; throws InputError where that is damaged.
Plan plan_of(const SweepFolder& folder);

// Hex digest of the resolved plan, this build, the instruction set and the version of the results.
std::string fingerprint_of(const Plan& plan, InstructionSet lanes);

// Removes what killed processes were writing (remove_left_parts()) from all of a folder.
void sweep_up(const std::string& folder);

// Path of a shard.
std::string shard_path(const SweepFolder& folder, std::size_t number);

// Number of rides in a shard.
std::size_t rides_in(const SweepFolder& folder, std::size_t shard);

// The folder of the sweep that a file, there or not, is part of by its name; empty: of none.
std::string sweep_that_owns(const std::string& path);

// True for each shard of the plan that is there, by its name.
std::vector<bool> shards_there(const SweepFolder& folder);

// Renames a damaged shard to *.damaged, or *.damaged-2 and so on where that is taken; returns what
// people are told of it, `fault` first. Throws RunError where it can't be renamed.
std::string set_shard_aside(const SweepFolder& folder, std::size_t shard, const std::string& fault);

}  // namespace plunge
