// Forks with a rider and scenes of Kestrel Hollow, as the tests of the search ride them.
#pragma once

#include <string>
#include <vector>

#include "models/setup/fault.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/input/scene_reader.hpp"
#include "sim/input/settle.hpp"

namespace plunge {

struct SearchCase {
  std::string fork;
  std::string rider;
  std::string bike;
  std::vector<std::string> scenes;
};

inline const std::vector<SearchCase>& search_cases() {
  static const std::vector<SearchCase> cases = {
      {"teasel-150", "hazel", "trail", {"drop-to-flat", "braking-bumps", "roots"}},
      {"sorrel-120", "wren", "cross-country", {"square-edge", "roots", "drop-to-flat"}},
      {"bracken-200", "alder", "downhill", {"g-out", "rock-garden", "drop-to-flat"}},
  };
  return cases;
}

// Its scenes, ready but for settings: the fork's own pressure, no sag held.
inline std::vector<Setup> scenes_of(const SearchCase& a_case) {
  std::vector<Setup> scenes;
  const std::string root = "scenarios/";
  for (const std::string& name : a_case.scenes) {
    Overlay overlay;
    overlay.files = {{"fork", root + "forks/" + a_case.fork + ".toml"},
                     {"rider", root + "riders/" + a_case.rider + ".toml"},
                     {"bike", root + "bikes/" + a_case.bike + ".toml"}};
    Setup setup = load_scene(disk_files(), root + "scenes/" + name + ".toml", overlay).scene.setup;
    setup.hold = {};
    const Faults faults = settle(setup);
    if (!faults.empty()) throw InputError(faults);
    scenes.push_back(std::move(setup));
  }
  return scenes;
}

}  // namespace plunge
