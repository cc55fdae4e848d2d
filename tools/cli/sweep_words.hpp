// Words that the verbs of a sweep share.
#pragma once

#include <string>
#include <vector>

#include "sim/sweep/reasons.hpp"

namespace plunge {

// Why rides failed, a line a reason, the most frequent first; the rest in one line.
std::string reasons_text(const std::vector<SweepReason>& reasons);

}  // namespace plunge
