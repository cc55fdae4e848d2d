// A scene of the tree, made ready as every verb does: judged, its sag held.
#pragma once

#include <string>
#include <vector>

#include "models/setup/setup.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/ride/ready.hpp"

namespace plunge {

inline Setup ready_setup(const std::string& path, const std::vector<std::string>& set = {}) {
  Wishes wishes;
  wishes.set = set;
  return ready(disk_files(), path, wishes).rides.front().setup;
}

inline Setup shipped_setup(const std::string& scene, const std::vector<std::string>& set = {}) {
  return ready_setup("scenarios/scenes/" + scene + ".toml", set);
}

}  // namespace plunge
