// Every fault of a file of any type that plunge reads.
#pragma once

#include <optional>
#include <string>

#include "models/setup/fault.hpp"
#include "sim/sweep/plan_file.hpp"

namespace plunge {

struct CheckedFile {
  Faults faults;             // empty: none
  std::optional<Plan> plan;  // of a plan file without faults
};

CheckedFile check_file(const std::string& path);

}  // namespace plunge
