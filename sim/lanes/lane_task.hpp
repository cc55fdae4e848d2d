// One ride as its lane goes through it: plain numbers and addresses, opened before the first step
// and closed after the last. Containers are handled here alone, compiled once for all instruction
// sets, so that nothing in the stepping allocates.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>

#include "sim/lanes/lane_rider.hpp"
#include "sim/lanes/lanes.hpp"

namespace plunge {

struct LaneTask {
  RiderNumbers numbers{};
  LawView compression;  // without pieces, both: slopes
  LawView rebound;
  State<double> start{};
  Modes<double> modes{};  // at the start
  std::span<const WheelPiece> pieces;
  std::size_t first_piece = 0;         // the start's
  std::span<const GradePiece> grades;  // none: level
  double grade_start = 0.0;            // [m]
  double grade_step = 1.0;             // [m]
  double grades_per_metre = 1.0;
  double cosine = 1.0;       // at the start, of the head angle less the grade
  double wheel_speed = 0.0;  // at the start, along the horizontal [m/s]
  std::span<const RidePhase> phases;
  double duration = 0.0;      // [s]
  double bumper_start = 0.0;  // [m]
  double metal_limit = 0.0;   // [m]
  Record* record = nullptr;   // counts
  std::uint32_t* doubts = nullptr;
  float* samples[kLaneChannels] = {};
};

// Samples are written a register at a time: `slack` more places than there are samples.
LaneTask open_task(const LaneRide& ride, const LaneWish& wish, std::size_t slack,
                   LaneOutcome& outcome);

// Cuts the samples to as many as there are.
void close_task(const LaneWish& wish, std::size_t samples, LaneOutcome& outcome);

void keep_closings(std::span<const Closing> closings, LaneOutcome& outcome);

// Whether any channel is sampled.
bool samples_anything(const LaneWish& wish);

}  // namespace plunge
