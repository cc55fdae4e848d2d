// A sweep's folder as another build of plunge would have left it.
#pragma once

#include <cstddef>
#include <filesystem>
#include <fstream>
#include <string>

#include "sim/sweep/build_identity.hpp"
#include "sim/sweep/shard_file.hpp"
#include "sim/sweep/sweep_folder.hpp"
#include "tests/scratch.hpp"

namespace plunge {

inline constexpr char kOtherBuild[] = "plunge 9.9.9, sources 0, some compiler, -O1";

// Puts another build's name into the folder, and its fingerprint into every shard.
inline void pretend_another_build(const std::string& path) {
  const SweepFolder before = open_sweep(path);
  const Plan plan = plan_of(before);
  const std::string resolved = path + "/resolved-plan.txt";
  std::string text = bytes_of(resolved);
  text.replace(text.find(build_identity()), build_identity().size(), kOtherBuild);
  std::ofstream(resolved, std::ios::binary) << text;
  const std::string now = open_sweep(path).fingerprint;
  for (std::size_t number = 0; number < before.shards; ++number) {
    const std::string shard = shard_path(before, number);
    if (!std::filesystem::exists(shard)) continue;
    write_shard(shard, read_shard(shard, plan, before.fingerprint), plan, now, before.lanes);
  }
}

}  // namespace plunge
