#include "sim/lanes/lane_pack.hpp"
#include "sim/lanes/lane_runner.hpp"

namespace plunge {

void ride_lanes_avx2(std::span<const LaneRide> rides, const LaneWish& wish,
                     std::span<LaneOutcome> outcomes) {
  LaneRunner<Pack<xsimd::batch<float, xsimd::fma3<xsimd::avx2>>, 1>>(rides, wish, outcomes).run();
}

}  // namespace plunge
