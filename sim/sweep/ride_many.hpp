// Many ready rides at once, on all cores.
//
//   ride_all       each by the adaptive integrator, with everything that a result holds
//   ride_in_lanes  side by side in SIMD lanes, for thousands: of each the metrics and traces that
//                  are kept (sim/lanes/many_rides.hpp), the same bits whatever the threads
// Both return when all is ridden or `stop` says so; what was not ridden by then is missing. They
// print nothing, catch no signal and touch no file. An exception of a ride ends the others and is
// thrown on.
#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "sim/lanes/many_rides.hpp"
#include "sim/measure/result.hpp"
#include "sim/ride/ready.hpp"

namespace plunge {

struct RideWatch {
  // Asked before each ride, in lanes more often; from any thread, one at a time. Rides under way
  // are finished by the adaptive path, and dropped in lanes.
  std::function<bool()> stop;
  // How many of all are ridden; from any thread, one at a time.
  std::function<void(std::size_t ridden, std::size_t all)> on_progress;
  std::size_t threads = 0;  // 0: one for each core
};

// In the order of the rides; none: not ridden.
std::vector<std::optional<Result>> ride_all(std::span<const ReadyRide> rides,
                                            const RideWatch& watch = {});

std::vector<std::optional<RideRow>> ride_in_lanes(std::span<const ReadyRide> rides,
                                                  const Keep& keep, const RideWatch& watch = {},
                                                  InstructionSet set = best_instruction_set());

}  // namespace plunge
