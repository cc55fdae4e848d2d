#include "sim/fit/least_squares.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <span>

#include "models/setup/fault.hpp"

namespace plunge::least_squares_test {
namespace {

// y = a + b t through (0, 1), (1, 3), (2, 4), (3, 8): a = 0.7, b = 2.2, S = 1.8 + ..., by the
// normal equations: sum t = 6, sum t^2 = 14, sum y = 16, sum t y = 35; b = (4 35 - 6 16)/(4 14 -
// 36) = 2.2. (J^T J)^-1 = {14, -6; -6, 4}/20.
TEST(LeastSquares, IsExactForAStraightLine) {
  LeastSquares line;
  line.residuals = 4;
  line.start = {0.0, 0.0};
  line.step = {1e-3, 1e-3};
  line.evaluate = [](std::span<const double> x, std::span<double> residuals) {
    const double y[] = {1.0, 3.0, 4.0, 8.0};
    for (std::size_t i = 0; i < 4; ++i) {
      residuals[i] = x[0] + x[1] * static_cast<double>(i) - y[i];
    }
    return true;
  };
  const Solved solved = solve(line);
  EXPECT_TRUE(solved.converged) << solved.account;
  EXPECT_NEAR(solved.x[0], 0.7, 1e-10);
  EXPECT_NEAR(solved.x[1], 2.2, 1e-10);
  EXPECT_NEAR(solved.sum_of_squares, 0.09 + 0.01 + 1.21 + 0.49, 1e-9);
  EXPECT_NEAR(solved.covariance[0], 0.7, 1e-9);
  EXPECT_NEAR(solved.covariance[1], -0.3, 1e-9);
  EXPECT_NEAR(solved.covariance[3], 0.2, 1e-9);
}

// Rosenbrock 1960: the least of (10 (y - x^2))^2 + (1 - x)^2 is 0 at (1, 1).
TEST(LeastSquares, GoesRoundACurvedValley) {
  LeastSquares valley;
  valley.residuals = 2;
  valley.start = {-1.2, 1.0};
  valley.step = {1e-3, 1e-3};
  valley.evaluate = [](std::span<const double> x, std::span<double> residuals) {
    residuals[0] = 10.0 * (x[1] - x[0] * x[0]);
    residuals[1] = 1.0 - x[0];
    return true;
  };
  const Solved solved = solve(valley);
  EXPECT_NEAR(solved.x[0], 1.0, 1e-9);
  EXPECT_NEAR(solved.x[1], 1.0, 1e-9);
}

TEST(LeastSquares, DifferencesAreOfFourthOrder) {
  LeastSquares problem;
  problem.residuals = 1;
  problem.start = {1.0};
  problem.evaluate = [](std::span<const double> x, std::span<double> residuals) {
    residuals[0] = std::exp(x[0]);
    return true;
  };
  // Their error is h^4/30 of the fifth derivative.
  for (const double h : {0.1, 0.05}) {
    problem.step = {h};
    const double error = jacobian(problem, problem.start)[0] - std::exp(1.0);
    EXPECT_NEAR(error, -std::pow(h, 4) / 30.0 * std::exp(1.0), 0.1 * std::abs(error));
  }
}

TEST(LeastSquares, RefusesWhatIsNotThereAtTheStart) {
  LeastSquares problem;
  problem.residuals = 1;
  problem.start = {1.0};
  problem.step = {0.1};
  problem.evaluate = [](std::span<const double>, std::span<double>) { return false; };
  EXPECT_THROW(solve(problem), RunError);
  EXPECT_TRUE(jacobian(problem, problem.start).empty());
}

}  // namespace
}  // namespace plunge::least_squares_test
