// The plots that the verbs draw.
#pragma once

#include <string>
#include <vector>

#include "sim/measure/result.hpp"
#include "tools/cli/json_output.hpp"

namespace plunge {

// Travel and ground force over distance, for each ride, and the ground under them.
void draw_rides(const std::vector<const Result*>& rides, const std::string& title,
                const std::string& path);

// Static force over travel, slow solid and fast dashed.
void draw_curves(const std::vector<CurveTable>& curves, const std::string& title,
                 const std::string& path);

}  // namespace plunge
