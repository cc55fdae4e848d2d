#include "sim/sweep/check_file.hpp"

#include "sim/disk/disk_files.hpp"
#include "sim/input/scene_reader.hpp"

namespace plunge {

CheckedFile check_file(const std::string& path) {
  CheckedFile checked;
  if (check_part(disk_files(), path, checked.faults) != "plan") return checked;
  try {
    checked.plan = load_plan(path);
  } catch (const InputError& error) {
    checked.faults = error.faults();
  }
  return checked;
}

}  // namespace plunge
