// One self-contained scene file, everything in it, in SI units and shortest decimals.
//
// Reading it gives back the same Setup bit for bit, if the Setup passes judge() and judge_ground().
#pragma once

#include <string>

#include "models/setup/setup.hpp"

namespace plunge {

std::string to_scene_text(const Setup& setup);

}  // namespace plunge
