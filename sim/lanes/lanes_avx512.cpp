#include "sim/lanes/lane_pack.hpp"
#include "sim/lanes/lane_runner.hpp"

namespace plunge {

void ride_lanes_avx512(std::span<const LaneRide> rides, const LaneWish& wish,
                       std::span<LaneOutcome> outcomes) {
  LaneRunner<Pack<xsimd::batch<float, xsimd::avx512dq>, 1>>(rides, wish, outcomes).run();
}

}  // namespace plunge
