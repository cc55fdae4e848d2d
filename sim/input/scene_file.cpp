#include "sim/input/scene_file.hpp"

#include "sim/disk/disk_files.hpp"

namespace plunge {

Scene load_scene(const std::string& path, const std::vector<std::string>& overrides,
                 bool judge_it) {
  return load_scene(disk_files(), path, Overrides{overrides, {}, Held::nothing}, judge_it);
}

Scene parse_scene(std::string_view text, const std::string& file, const std::string& folder,
                  const std::vector<std::string>& overrides, bool judge_it) {
  return parse_scene(disk_files(), text, file, folder, {overrides, {}, Held::nothing}, judge_it);
}

ForkSetup load_fork(const std::string& path, const std::vector<std::string>& overrides,
                    bool judge_it) {
  return load_part(disk_files(), path, "fork", {overrides, {}, Held::nothing}, judge_it).fork;
}

BikeSetup load_bike(const std::string& path) { return load_part(disk_files(), path, "bike").bike; }

RiderSetup load_rider(const std::string& path) {
  return load_part(disk_files(), path, "rider").rider;
}

std::vector<Feature> load_terrain(const std::string& path) {
  return load_part(disk_files(), path, "terrain").terrain;
}

}  // namespace plunge
