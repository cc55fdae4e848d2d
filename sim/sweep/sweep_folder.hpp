// The folder of a sweep: which sweep it holds, how it is begun, what of it is there.
//
// resolved-plan.txt says it: five lines of its own (versions, lanes, rides, shard size), then
// Plan::resolved(). It is written once, before the first shard; a plan whose text differs is
// refused with the lines that differ. The fingerprint is the check sum of that text, so a shard
// (shard_file.hpp) belongs to a plan, an instruction set and a version of the results.
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

// Makes a folder for the plan, or takes up the one that is there: the same plan, and the same lanes
// where some are asked for. A new folder has `lanes`, or `best` where none are asked for. Of
// several processes that begin one folder at once, one does.
SweepFolder begin_sweep(const Plan& plan, const std::string& folder,
                        std::optional<InstructionSet> lanes, InstructionSet best);

// Loads the plan from where it was; throws InputError where it is gone or no longer the same.
Plan plan_of(const SweepFolder& folder);

// Hex digest of the resolved plan, the instruction set and the version of the results.
std::string fingerprint_of(const Plan& plan, InstructionSet lanes);

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
