// Reads a plan file: its scenes and axes, what is set and held, the sample, what is kept.
#pragma once

#include <memory>
#include <string>

#include "sim/sweep/plan_content.hpp"
#include "sim/text/text_files.hpp"

namespace plunge {

// Throws InputError with every fault.
std::shared_ptr<const PlanContent> read_plan(const TextFiles& files, const std::string& path);

}  // namespace plunge
