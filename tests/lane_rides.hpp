// Rides for the tests of lanes: a set-up with all that its lane refers to, and ways to ride it.
#pragma once

#include <cmath>
#include <string>
#include <vector>

#include "sim/lanes/lanes.hpp"
#include "sim/lanes/many_rides.hpp"
#include "tests/ready_setup.hpp"

namespace plunge {

struct Way {
  const char* name;
  InstructionSet set;
  void (*ride)(std::span<const LaneRide>, const LaneWish&, std::span<LaneOutcome>);
};

inline std::vector<Way> ways_here() {
  std::vector<Way> list = {{"portable", InstructionSet::portable, ride_lanes_portable}};
  if (runs_here(InstructionSet::avx2)) {
    list.push_back({"avx2", InstructionSet::avx2, ride_lanes_avx2});
  }
  if (runs_here(InstructionSet::avx512)) {
    list.push_back({"avx512", InstructionSet::avx512, ride_lanes_avx512});
  }
  return list;
}

// A ride with all that its lane refers to.
struct Kept {
  Prepared prepared;
  std::vector<WheelPiece> pieces;
  LaneLaw compression;
  LaneLaw rebound;
  bool tabled;

  explicit Kept(const Setup& setup)
      : prepared(prepare(setup)),
        pieces(lane_pieces(prepared.ground.path)),
        compression(lane_law(prepared.rider.damper.compression)),
        rebound(lane_law(prepared.rider.damper.rebound)),
        tabled(prepared.rider.damper.compression.table || prepared.rider.damper.rebound.table) {}

  LaneRide lane() const {
    return {&prepared.rider,
            &prepared.line,
            &prepared.start,
            &pieces,
            &prepared.ground.grade,
            tabled ? &compression : nullptr,
            tabled ? &rebound : nullptr};
  }
};

inline Setup shipped(const std::string& name, double speed_share = 1.0) {
  Setup setup = shipped_setup(name);
  setup.ride.speed *= speed_share;
  return setup;
}

}  // namespace plunge
