// The dimensions of a sweep: axes of its grid, and numbers that are sampled; how large it may be.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "models/setup/knob.hpp"
#include "sim/sweep/sampling.hpp"

namespace plunge {

// Sizes past which a plan is refused: chosen, so that it fits into a small machine.
inline constexpr std::size_t kMostRides = 1'000'000'000'000;
inline constexpr std::size_t kMostAxes = 64;
inline constexpr std::size_t kMostCombinations = 2'000;  // of scenes, forks, riders and bikes
inline constexpr std::size_t kLargestShard = std::size_t{1} << 20;

// What an axis is to whoever sets up a fork: what is chosen, or what varies whatever was chosen. It
// changes no ride; a report judges choices by it. Either every axis of a plan has one or none has;
// where they have, the scenes vary.
enum class Role { none, chosen, varies };

constexpr std::string_view to_string(Role role) {
  return role == Role::chosen ? "chosen" : role == Role::varies ? "varies" : "";
}

// One dimension of the grid. Its name: "scene", "fork.spacers"; "fork", "rider" or "bike": of
// files, which have labels and the unit "1".
struct GridAxis : KnobLabel {
  std::vector<double> values;       // SI; of a labelled axis 0, 1, 2, ...
  std::vector<std::string> labels;  // of scenes and files: name of the file without its ending
  Role role = Role::none;
};

// One number that is sampled.
struct SampledNumber : KnobLabel {
  bool whole = false;  // rounded to the nearest whole number
  Distribution distribution;
  Role role = Role::none;
};

}  // namespace plunge
