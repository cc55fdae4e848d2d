// Every fault of a file of any type that plunge reads.
#pragma once

#include <string>

#include "models/setup/fault.hpp"

namespace plunge {

// Empty: none.
Faults check_file(const std::string& path);

}  // namespace plunge
