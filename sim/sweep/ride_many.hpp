// Many ready rides at once, on all cores.
//
//   ride_all       each by the adaptive integrator, with everything that a result holds
//   ride_each      likewise, each result taken as soon as it is there, its traces block by block,
//   so
//                  that none of them stays in memory
//   ride_in_lanes  side by side in SIMD lanes, for thousands: of each the metrics and traces that
//                  are kept (sim/lanes/many_rides.hpp), the same bits whatever the threads
// They return when all is ridden or `stop` says so; what was not ridden by then is missing. They
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

// Who takes rides as they are ridden; exceptions end the riding and are thrown on.
struct RideTaker {
  // The next block of a ride's traces; from several threads at once, each ride from one.
  std::function<void(std::size_t ride, const std::vector<Channel>& block)> block;
  // A ride after its last block, without traces; likewise.
  std::function<void(std::size_t ride, Result&& result)> result;
};
void ride_each(std::span<const ReadyRide> rides, const RideTaker& taker,
               const RideWatch& watch = {});

std::vector<std::optional<RideRow>> ride_in_lanes(std::span<const ReadyRide> rides,
                                                  const Keep& keep, const RideWatch& watch = {},
                                                  InstructionSet set = best_instruction_set());

}  // namespace plunge
