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
//   joint             draws of the uncertain numbers of one fork's file (sim/input/draws.hpp),
//   which
//                     is ridden in place of every scene's own; `ride` shows bands over the same
//                     ones
// All is worked out from the file, the seed and the ride's number alone, so that any worker on any
// machine makes the same ride from the same number.
//
// scenarios/format.md is the format's page. Every fault is collected with file, line, column, key,
// value and rule (scene_reader.hpp). Throws InputError.
// Not here: reading (plan_reader.hpp), riding (many_rides.hpp), shards (sweep.hpp).
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "models/setup/fault.hpp"
#include "models/setup/setup.hpp"
#include "sim/lanes/many_rides.hpp"
#include "sim/sweep/axis.hpp"
#include "sim/sweep/kept_files.hpp"
#include "sim/sweep/sampling.hpp"

namespace plunge {

struct PlanContent;

class Plan {
 public:
  explicit Plan(std::shared_ptr<const PlanContent> content);

  const std::string& path() const;  // of the file
  const std::string& name() const;
  const std::vector<GridAxis>& grid() const;  // `scene` first, always
  const std::vector<SampledNumber>& sampled() const;
  Design design() const;
  std::size_t points() const;       // rows of the sample, 1 without one
  std::size_t base_points() const;  // N of the sample, 1 without one
  // Unset: as each scene says, as the axis hold.sag says, or none because the plan gives
  // fork.pressure or fork.coil.preload itself.
  const HoldSetup& hold() const;
  const Keep& keep() const;

  std::size_t size() const;        // rides
  std::size_t shard_size() const;  // rides of a shard; the last one may have fewer
  std::size_t shards() const;

  // Index of a ride along each grid axis, then its row of the sample.
  std::vector<std::size_t> index(std::size_t number) const;
  // Values of the sampled numbers in a row [SI].
  std::vector<double> sample(std::size_t row) const;

  // What is wrong with one combination (a pressure past the fork's limit, ...) is in its failure.
  PlannedRide ride(std::size_t number) const;

  // All that the numbers of the rides follow from, one fact a line: two plans with the same text
  // give the same rides in the same shards.
  const std::string& resolved() const;

  // What is guessed of the first fork of which something is; empty: of none.
  const std::string& guesses() const;

  // The texts of the plan, which is the first, and of all files that it names.
  const ReadTexts& texts() const;

 private:
  std::shared_ptr<const PlanContent> content_;
};

Plan load_plan(const std::string& path);
Plan load_plan(const TextFiles& files, const std::string& path);

}  // namespace plunge
