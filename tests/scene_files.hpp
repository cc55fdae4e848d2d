// Scene, fork, bike, rider and terrain files of the disk, as tests ask for them.
//
// overrides: "fork.spacers=2", as --set gives them; also "hold.sag=22%".
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "models/setup/setup.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/input/scene_reader.hpp"

namespace plunge {

inline Scene load_scene(const std::string& path, const std::vector<std::string>& overrides = {},
                        bool judge_it = true) {
  return load_scene(disk_files(), path, Overrides{overrides, {}, Held::nothing}, judge_it);
}

inline Scene parse_scene(std::string_view text, const std::string& file,
                         const std::string& folder = ".",
                         const std::vector<std::string>& overrides = {}, bool judge_it = true) {
  return parse_scene(disk_files(), text, file, folder, {overrides, {}, Held::nothing}, judge_it);
}

inline ForkSetup load_fork(const std::string& path, const std::vector<std::string>& overrides = {},
                           bool judge_it = true) {
  return load_part(disk_files(), path, "fork", {overrides, {}, Held::nothing}, judge_it).fork;
}

inline BikeSetup load_bike(const std::string& path) {
  return load_part(disk_files(), path, "bike").bike;
}

inline RiderSetup load_rider(const std::string& path) {
  return load_part(disk_files(), path, "rider").rider;
}

inline std::vector<Feature> load_terrain(const std::string& path) {
  return load_part(disk_files(), path, "terrain").terrain;
}

}  // namespace plunge
