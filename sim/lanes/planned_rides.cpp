#include "sim/lanes/planned_rides.hpp"

#include <cstdint>
#include <map>

#include "models/setup/keys.hpp"

namespace plunge {

std::vector<PlannedRide> planned_rides(std::span<const ReadyRide> rides) {
  std::map<Key, std::uint64_t> grounds;
  std::vector<PlannedRide> planned;
  planned.reserve(rides.size());
  for (const ReadyRide& ride : rides) {
    const Key key = ground_key(ride.setup.terrain, ride.setup.bike);
    planned.push_back({ride.setup, grounds.emplace(key, grounds.size()).first->second, ""});
  }
  return planned;
}

}  // namespace plunge
