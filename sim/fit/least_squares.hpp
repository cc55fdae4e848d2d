// Nonlinear least squares: the unknowns x for which the sum of squared residuals is least.
//
//   S(x) = sum r_i(x)^2,   C = (J^T J)^-1,   J = dr/dx at the least
//
// Residuals are in units of their own standard deviation, so that C is the covariance of x to first
// order; where that deviation is not known beforehand, C is to be scaled by S/(residuals -
// unknowns). J by central differences of fourth order, (8 (r(h) - r(-h)) - (r(2h) - r(-2h)))/12h,
// with h the larger of `step` and a share of |x|. The Levenberg-Marquardt method of Ceres Solver
// does the search; the one file that includes it is least_squares.cpp. Not here: priors, which are
// residuals like others.
#pragma once

#include <cstddef>
#include <functional>
#include <span>
#include <string>
#include <vector>

namespace plunge {

struct LeastSquares {
  // False where the residuals do not exist.
  using Residuals = std::function<bool(std::span<const double> x, std::span<double> residuals)>;

  Residuals evaluate;
  std::size_t residuals = 0;
  std::vector<double> start;
  std::vector<double> step;  // of the differences, for each unknown
  double share = 0.0;        // of |x|
  double tolerance = 1e-15;  // change of S, and of x, over itself at which the search ends
};

struct Solved {
  std::vector<double> x;
  double sum_of_squares = 0.0;
  std::vector<double> residuals;
  std::vector<double> jacobian;    // rows of residuals
  std::vector<double> covariance;  // C, rows of unknowns
  bool converged = false;
  std::string account;  // of the search, in one line
};

// Throws RunError where the residuals do not exist at the start, or J^T J has no inverse.
Solved solve(const LeastSquares& problem);

// J at x; empty where the residuals do not exist there.
std::vector<double> jacobian(const LeastSquares& problem, std::span<const double> x);

}  // namespace plunge
