// The dimensions of a sweep: axes of its grid, and numbers that are sampled; how large it may be.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "models/setup/knob.hpp"
#include "sim/sweep/sampling.hpp"

namespace plunge {

// Sizes past which a plan is refused: chosen, so that it fits into a small machine.
inline constexpr std::size_t kMostRides = 1'000'000'000'000;
inline constexpr std::size_t kMostAxes = 64;
inline constexpr std::size_t kMostCombinations = 2'000;  // of scenes, forks, riders and bikes
inline constexpr std::size_t kLargestShard = std::size_t{1} << 20;

// One dimension of the grid. Its name: "scene", "fork.spacers"; "fork", "rider" or "bike": of
// files, which have labels and the unit "1".
struct GridAxis : KnobLabel {
  std::vector<double> values;       // SI; of a labelled axis 0, 1, 2, ...
  std::vector<std::string> labels;  // of scenes and files: name of the file without its ending
};

// One number that is sampled.
struct SampledNumber : KnobLabel {
  bool whole = false;  // rounded to the nearest whole number
  Distribution distribution;
};

}  // namespace plunge
