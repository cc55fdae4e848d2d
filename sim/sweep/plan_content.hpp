// What a plan file comes to, once it is read: the bases of its rides and what is laid over them.
//
// Filled by plan_reader.hpp; plan_file.hpp makes rides of it, plan_facts.hpp its text.
#pragma once

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "models/setup/knob.hpp"
#include "models/setup/setup.hpp"
#include "sim/lanes/many_rides.hpp"
#include "sim/sweep/axis.hpp"
#include "sim/sweep/ground_faults.hpp"
#include "sim/sweep/kept_files.hpp"
#include "sim/sweep/sampling.hpp"

namespace plunge {

// One combination of scene, fork, rider and bike.
struct PlanBase {
  Setup setup;               // its hold: as the plan says, else as the scene does
  std::uint64_t ground = 0;  // bases of the same ground and wheel have the same number
  std::string label;         // "drop-to-flat, teasel-150"
};

struct PlanContent {
  std::string path;
  std::string name;
  std::vector<GridAxis> grid;
  std::vector<std::optional<Knob>> knobs;  // of the grid's axes; none: of files
  std::vector<SampledNumber> sampled;
  std::vector<Knob> sampled_knobs;
  Design design = Design::none;
  std::size_t base_points = 1;
  std::size_t points = 1;
  std::uint64_t seed = 0;
  DesignRows rows;
  std::vector<double> joint;       // of a joint sample: its numbers, row by row [SI]
  std::vector<double> covariance;  // of their logarithms, row by row [1]
  HoldSetup hold;                  // of the plan itself
  Keep keep;
  std::size_t size = 1;
  std::size_t shard_size = 1;
  std::vector<PlanBase> bases;  // the files' axes in the order of the grid, the last one fastest
  std::string guesses;          // of the first fork that has some (models/setup/knowledge.hpp)
  std::string resolved;
  ReadTexts texts;  // of the plan and of all files that it names

  // Of a sampled number in a row of the sample [SI].
  double sampled_value(std::size_t row, std::size_t number) const {
    if (design == Design::joint) return joint[row * sampled.size() + number];
    const SampledNumber& of = sampled[number];
    const double value = quantile(of.distribution, rows.share(row, number));
    return of.whole ? std::round(value) : value;
  }

  bool holds_axis = false;      // the sag is on an axis
  bool samples_ground = false;  // each row has its own ground

  std::shared_ptr<GroundFaults> grounds = std::make_shared<GroundFaults>();
};

}  // namespace plunge
