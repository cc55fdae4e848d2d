// A small plan for tests of shards and sweeps, and what they leave in a folder.
#pragma once

#include <fmt/core.h>

#include <filesystem>
#include <fstream>
#include <map>
#include <string>

#include "sim/sweep/plan_file.hpp"
#include "tests/scratch.hpp"

namespace plunge {

// 5 spacer counts by 6 pressures off the loading ramp, the first 0.2 s; shards of 4 rides, the last
// of 2. `more` goes to the end of the file.
inline std::string write_small_plan(const std::string& path, const std::string& more = "",
                                    const std::string& pressures = "60 psi..85 psi:5 psi") {
  const std::filesystem::path scene =
      std::filesystem::absolute("scenarios/scenes/drop-to-flat.toml");
  std::ofstream(path) << fmt::format(R"(type = "plan"
format = [1, 0]
name = "small"
scenes = ["{}"]

[set]
"ride.duration" = "0.2 s"

[[axis]]
name = "fork.spacers"
values = "0..4"

[[axis]]
name = "fork.pressure"
values = "{}"

[sweep]
shard = 4

{})",
                                     scene.string(), pressures, more);
  return path;
}

inline Plan small_plan(const ScratchDirectory& directory, const std::string& more = "") {
  return load_plan(write_small_plan(directory / "plan.toml", more));
}

// The bytes of every shard in a folder by its name.
inline std::map<std::string, std::string> shards_in(const std::string& folder) {
  std::map<std::string, std::string> shards;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    const std::string name = entry.path().filename().string();
    if (name.starts_with("shard-")) shards[name] = bytes_of(entry.path().string());
  }
  return shards;
}

}  // namespace plunge
