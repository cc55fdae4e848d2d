// Ready rides as the lanes take them: those over the same ground share it.
#pragma once

#include <span>
#include <vector>

#include "sim/lanes/many_rides.hpp"
#include "sim/ride/ready.hpp"

namespace plunge {

std::vector<PlannedRide> planned_rides(std::span<const ReadyRide> rides);

}  // namespace plunge
