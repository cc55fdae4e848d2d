#include "sim/sweep/check_file.hpp"

#include "sim/input/scene_file.hpp"
#include "sim/sweep/plan_file.hpp"

namespace plunge {

Faults check_file(const std::string& path) {
  Faults faults;
  return check_part(path, faults) == "plan" ? check_plan(path) : faults;
}

}  // namespace plunge
