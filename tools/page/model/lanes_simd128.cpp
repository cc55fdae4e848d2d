// The lanes on WebAssembly's registers, in place of sim/lanes/lanes_portable.cpp; no processor here
// has the other sets, so that nothing chooses them.
#include "sim/lanes/lane_runner.hpp"
#include "tools/page/model/simd128.hpp"

namespace plunge {

void ride_lanes_portable(std::span<const LaneRide> rides, const LaneWish& wish,
                         std::span<LaneOutcome> outcomes) {
  LaneRunner<Simd128>(rides, wish, outcomes).run();
}

void ride_lanes_avx2(std::span<const LaneRide> rides, const LaneWish& wish,
                     std::span<LaneOutcome> outcomes) {
  ride_lanes_portable(rides, wish, outcomes);
}

void ride_lanes_avx512(std::span<const LaneRide> rides, const LaneWish& wish,
                       std::span<LaneOutcome> outcomes) {
  ride_lanes_portable(rides, wish, outcomes);
}

}  // namespace plunge
