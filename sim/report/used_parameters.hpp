// Every parameter of a Setup as a result file keeps it: those that the Setup reads, and choices.
#pragma once

#include <vector>

#include "models/setup/setup.hpp"
#include "sim/report/result_file.hpp"

namespace plunge {

std::vector<UsedParameter> used_parameters(const Setup& setup);

}  // namespace plunge
