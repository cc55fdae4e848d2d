// Which inputs make an output vary: Sobol indices of a sweep.
//
//   S_i   = Var(E[y | x_i]) / Var(y)         first order: the share that x_i brings alone
//   S_Ti  = E[Var(y | all but x_i)] / Var(y) total: with all its joint effects, S_Ti >= S_i where
//           the inputs are independent
//
// The outputs lie over a grid (each value of an axis, and so each cell, equally likely) with the
// same sample of N base rows laid over every cell. How each index is found:
//   grid axis           exactly from its definition, by sums over the cells; over a sample, with
//                       the mean over the sample's rows in place of the expectation
//   pick_freeze         with f the output in row j of A, B or A with column i from B, and f̄ its
//                       mean over the cells, all less a constant:
//                       S_i  V = 1/N Σ_j f̄_B (f̄_ABi − f̄_A)      Saltelli and others 2010, table 2
//                       (b) S_Ti V = 1/2N Σ_j mean over cells of (f_A − f_ABi)²   Jansen 1999
//   sobol, latin        S_i alone: rows sorted by x_i into M equal classes, between-class variance
//   hypercube           of f̄ (correlation ratio); of a Latin hypercube less what chance gives, the
//                       classes' (M − 1)/(N − M) of the variance within. A Sobol sequence fills the
//                       classes so evenly that there is next to none. M = √N, 4 to 32; within a
//                       class the effect of x_i itself is lost: 1/M² of S_i where it is linear.
//                       Equal x share a class. Total indices are not to be had from such a sample.
//   V: the variance over all cells and all rows, of pick_freeze those of A and B
// Intervals, 95 %: bootstrap over base rows, kReplicates times, with a fixed seed, as if the rows
// were drawn at random; a Sobol sequence does better than that, so its intervals are on the wide
// side, and hold the correlation ratio both with chance and without. A share is not below 0, and
// neither is an interval, but for an estimate that is. Past kUnits base rows, rows put together at
// random into kUnits groups are drawn. A grid without a sample has no chance in it, no intervals.
//
// Outputs that are not numbers: a cell without any is left out, then a base row in which one is
// missing is left out in all cells; an axis of which one value is left is no input. In a grid
// without a sample each number there is equally likely; its inputs are then not independent, and
// the indices need not add up to 1.
// Sources: Sobol' 1993, Math. Modelling Comput. Exp. 1, 407; Saltelli and others 2010, Comput.
// Phys. Commun. 181, 259; Jansen 1999, Comput. Phys. Commun. 117, 35; Efron & Tibshirani 1993,
// ch. 13.
#pragma once

#include <cmath>
#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include "models/laws/constants.hpp"
#include "sim/sweep/sampling.hpp"

namespace plunge {

inline constexpr std::size_t kReplicates = 1000;  // chosen: the ends stand still to about 3 %
inline constexpr std::size_t kUnits = 1024;       // chosen, likewise
inline constexpr std::size_t kFewestRows = 8;     // base rows, below which no index is given

// The inputs, in the order of the dimensions. An axis of one value is no input.
struct SensitivityInputs {
  struct Axis {
    std::string name;
    std::size_t size = 1;
  };
  struct Number {
    std::string name;
    std::vector<double> values;  // in each row of the sample
  };
  std::vector<Axis> grid;
  std::vector<Number> sampled;
  Design design = Design::none;
  std::size_t base_points = 1;
};

struct Index {
  double value = kUnset;
  double low = kUnset;  // ends of the interval; unset: exact
  double high = kUnset;
};

struct InputIndices {
  std::string name;
  Index first;
  Index total;  // unset: not to be had

  // What it brings in all, or alone where that is not to be had.
  double weight() const { return std::isfinite(total.value) ? total.value : first.value; }
};

struct Sensitivity {
  std::vector<InputIndices> inputs;  // those of the grid, then those of the sample
  double mean = kUnset;
  double variance = kUnset;
  std::size_t outputs = 0;      // numbers that the indices rest on
  std::size_t not_numbers = 0;  // of all outputs
  std::size_t cells_left = 0;   // left out
  std::size_t rows_left = 0;    // base rows left out
  std::string why_none;         // why there are no indices; empty: there are
};

// outputs: over the cells of the grid and then the rows of the sample, the last fastest.
// Throws std::invalid_argument where sizes do not fit.
Sensitivity sensitivity(const SensitivityInputs& inputs, std::span<const double> outputs);

}  // namespace plunge
