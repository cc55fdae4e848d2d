// Many rides where there is one thread alone, in place of sim/sweep/ride_many.cpp.
#include "sim/lanes/planned_rides.hpp"
#include "sim/sweep/ride_many.hpp"

namespace plunge {

std::vector<std::optional<RideRow>> ride_in_lanes(std::span<const ReadyRide> rides,
                                                  const Keep& keep, const RideWatch& watch,
                                                  InstructionSet set) {
  const auto stop = [&] { return watch.stop && watch.stop(); };
  auto ridden = ManyRides(keep, set).ride(planned_rides(rides), stop);
  if (!ridden) return std::vector<std::optional<RideRow>>(rides.size());
  return {std::make_move_iterator(ridden->begin()), std::make_move_iterator(ridden->end())};
}

}  // namespace plunge
