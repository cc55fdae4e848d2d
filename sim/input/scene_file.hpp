// Scene, fork, bike, rider and terrain files of the disk.
//
// What scene_reader.hpp reads from any texts, for those who have files: the only part of this room
// that touches the disk.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "models/setup/setup.hpp"
#include "sim/input/scene_reader.hpp"

namespace plunge {

// overrides: "fork.spacers=2", as --set gives them; also "hold.sag=22%".
Scene load_scene(const std::string& path, const std::vector<std::string>& overrides = {},
                 bool judge_it = true);

// The same from text; files that it names are sought in `folder`.
Scene parse_scene(std::string_view text, const std::string& file, const std::string& folder = ".",
                  const std::vector<std::string>& overrides = {}, bool judge_it = true);

// A fork, bike, rider or terrain file alone, with its defaults.
ForkSetup load_fork(const std::string& path, const std::vector<std::string>& overrides = {},
                    bool judge_it = true);
BikeSetup load_bike(const std::string& path);
RiderSetup load_rider(const std::string& path);
std::vector<Feature> load_terrain(const std::string& path);

}  // namespace plunge
