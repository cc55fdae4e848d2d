// A sweep's folder as another build of plunge would have left it.
#pragma once

#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "sim/disk/hdf5_seal.hpp"
#include "sim/sweep/build_identity.hpp"
#include "sim/sweep/sweep_folder.hpp"
#include "tests/scratch.hpp"

namespace plunge {

inline constexpr char kOtherBuild[] = "plunge 9.9.9, sources 0, some compiler, -O1";

// Puts another build's name into the folder, and its fingerprint into every shard.
inline void pretend_another_build(const std::string& folder) {
  const std::string before = open_sweep(folder).fingerprint;
  const std::string path = folder + "/resolved-plan.txt";
  std::string text = bytes_of(path);
  text.replace(text.find(build_identity()), build_identity().size(), kOtherBuild);
  std::ofstream(path, std::ios::binary) << text;
  const std::string now = open_sweep(folder).fingerprint;
  std::vector<std::string> shards;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    if (entry.path().extension() == ".h5") shards.push_back(entry.path().string());
  }
  for (const std::string& shard : shards) {
    std::string bytes = bytes_of(shard);
    bytes.resize(bytes.rfind("plunge check sum "));
    bytes.replace(bytes.find(before), before.size(), now);
    std::ofstream(shard, std::ios::binary) << bytes << hdf5_seal(bytes);
  }
}

}  // namespace plunge
