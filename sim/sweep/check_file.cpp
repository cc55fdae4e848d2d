#include "sim/sweep/check_file.hpp"

#include "sim/disk/disk_files.hpp"
#include "sim/input/scene_reader.hpp"
#include "sim/sweep/plan_file.hpp"

namespace plunge {

Faults check_file(const std::string& path) {
  Faults faults;
  return check_part(disk_files(), path, faults) == "plan" ? check_plan(path) : faults;
}

}  // namespace plunge
