// The text of a plan: all that the numbers of its rides follow from, one fact a line.
#pragma once

#include <string>

#include "sim/sweep/plan_content.hpp"

namespace plunge {

// Two plans with the same text give the same rides in the same shards.
std::string resolved_text(const PlanContent& content);

}  // namespace plunge
