// The plan of a sweep: which rides, in which order, and what to keep of each.
//
// A plan names scenes and lays axes over them. Its rides are numbered from 0; the numbers run over
// the dimensions in order, the last one fastest:
//   scene   the scenes as listed
//   axis    each grid axis in the order of the file: a number (list or range) or a file (fork,
//           rider, bike)
//   point   the rows of a sample over distributions of one or more numbers, where there is one
// The sample is drawn once and laid over every cell of the grid.
//   sobol             points of a Sobol sequence, from its second point on (0 is left out)
//   latin_hypercube   one point in each of N equal strata of every number, placed at random in it
//   pick_freeze       two Sobol-sequence matrices A and B of N rows over k numbers and the k
//                     matrices A with column i from B: N (k + 2) rows, in the order A_j, B_j,
//                     AB_1j ... AB_kj for each j, for first-order and total Sobol indices
// All is worked out from the file, the seed and the ride's number alone, so that any worker on any
// machine makes the same ride from the same number.
//
// scenarios/format.md is the format's page. Every fault is collected with file, line, column, key,
// value and rule (scene_file.hpp). Throws InputError.
// Not here: riding (many_rides.hpp), shards (sweep.hpp).
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "models/setup/setup.hpp"
#include "sim/input/scene_file.hpp"
#include "sim/lanes/many_rides.hpp"
#include "sim/sweep/sampling.hpp"

namespace plunge {

// Sizes past which a plan is refused: chosen, so that it fits into a small machine.
inline constexpr std::size_t kMostRides = 1'000'000'000'000;
inline constexpr std::size_t kMostAxes = 64;
inline constexpr std::size_t kMostCombinations = 2'000;  // of scenes, forks, riders and bikes
inline constexpr std::size_t kMostShares = 50'000'000;   // rows of the sample times its numbers
inline constexpr std::size_t kLargestShard = std::size_t{1} << 20;

// One dimension of the grid.
struct GridAxis {
  std::string name;                 // "scene", "fork.spacers"; "fork", "rider" or "bike": of files
  std::string unit;                 // SI, UDUNITS spelling; "1" where it has labels
  std::string said;                 // unit in which people say it
  std::string meaning;              // one line
  std::vector<double> values;       // SI; of a labelled axis 0, 1, 2, ...
  std::vector<std::string> labels;  // of scenes and files: name of the file without its ending
};

// One number that is sampled.
struct SampledNumber {
  std::string name;
  std::string unit;
  std::string said;
  std::string meaning;
  bool whole = false;  // rounded to the nearest whole number
  Distribution distribution;
};

class Plan {
 public:
  struct Parts;
  explicit Plan(std::shared_ptr<const Parts> parts);

  const std::string& path() const;  // of the file
  const std::string& name() const;
  const std::vector<GridAxis>& grid() const;  // `scene` first, always
  const std::vector<SampledNumber>& sampled() const;
  Design design() const;
  std::size_t points() const;       // rows of the sample, 1 without one
  std::size_t base_points() const;  // N of the sample, 1 without one
  // Share of the travel; unset: as each scene says, as the axis hold.sag says, or none because the
  // plan gives fork.pressure or fork.coil.preload itself.
  double hold_sag() const;
  const Keep& keep() const;

  std::size_t size() const;        // rides
  std::size_t shard_size() const;  // rides of a shard; the last one may have fewer
  std::size_t shards() const;

  // Place of a ride along each grid axis, then its row of the sample.
  std::vector<std::size_t> place(std::size_t number) const;
  // Values of the sampled numbers in a row [SI].
  std::vector<double> sample(std::size_t row) const;

  // What is wrong with one combination (a pressure past the fork's limit, ...) is in its failure.
  PlannedRide ride(std::size_t number) const;

  // All that the numbers of the rides follow from, one fact a line: two plans with the same text
  // give the same rides in the same shards.
  const std::string& resolved() const;

 private:
  std::shared_ptr<const Parts> parts_;
};

Plan load_plan(const std::string& path);

// Every fault of a plan file; empty: none.
Faults check_plan(const std::string& path);

// The lines in which two resolved plans differ, each with what was and what is, for people.
std::string plan_difference(const std::string& before, const std::string& now);

}  // namespace plunge
