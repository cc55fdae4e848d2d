// Gathers a sweep that was ridden in several folders, on machines that share no disk.
//
// Each machine rides its part of the plan into a folder of its own (SweepOptions::part); the
// folders, or copies of them, are then gathered into one, which merges to the same bytes as a sweep
// on one machine. A shard that is missing there is looked at, as a sweep looks at its own when it
// goes on, and copied as every file here is written (atomic_file.hpp); what is there stays. So it
// can be stopped, killed and repeated, parts may overlap or be half done, and be ridden meanwhile.
// A folder of another plan, build, lanes or version, and a damaged shard, are named and passed
// over.
//
// Throws InputError where the folder to gather into is none of a sweep, or none of the others is;
// RunError where it can't be written.
#pragma once

#include <cstddef>
#include <functional>
#include <string>
#include <vector>

namespace plunge {

struct GatherOptions {
  std::function<void(std::size_t looked_at, std::size_t all)> on_progress;  // shards of all folders
  std::function<bool()> stop;                                               // asked between shards
};

struct GatherReport {
  std::size_t shards = 0;       // of the whole sweep
  std::size_t shards_done = 0;  // that are in the folder now
  std::size_t rides = 0;
  std::size_t rides_done = 0;
  std::size_t copied = 0;            // shards
  std::vector<std::string> refused;  // what is wrong with each folder or shard that was passed over
  bool stopped = false;
};

// A folder that is not there is begun like the first of the others that can be.
GatherReport gather_sweep(const std::string& folder, const std::vector<std::string>& from,
                          const GatherOptions& options = {});

}  // namespace plunge
