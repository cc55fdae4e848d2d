#include "sim/fit/least_squares.hpp"

#include <ceres/ceres.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "models/setup/fault.hpp"

namespace plunge {
namespace {

// All residuals in one block, their derivatives by differences.
class Differences : public ceres::CostFunction {
 public:
  explicit Differences(const LeastSquares& problem) : problem_(problem) {
    set_num_residuals(static_cast<int>(problem.residuals));
    mutable_parameter_block_sizes()->push_back(static_cast<int>(problem.start.size()));
  }

  bool Evaluate(double const* const* blocks, double* residuals, double** jacobians) const override {
    const std::span<const double> x(blocks[0], problem_.start.size());
    if (!problem_.evaluate(x, {residuals, problem_.residuals})) return false;
    if (jacobians == nullptr || jacobians[0] == nullptr) return true;
    const std::vector<double> slopes = jacobian(problem_, x);
    std::ranges::copy(slopes, jacobians[0]);
    return !slopes.empty();
  }

 private:
  const LeastSquares& problem_;
};

ceres::Solver::Options search_options(double tolerance) {
  ceres::Solver::Options options;
  options.linear_solver_type = ceres::DENSE_QR;
  options.max_num_iterations = 1000;
  options.function_tolerance = tolerance;
  options.gradient_tolerance = std::numeric_limits<double>::epsilon();
  options.parameter_tolerance = std::max(tolerance, 1e-12);
  options.logging_type = ceres::SILENT;
  return options;
}

using Matrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

// C = (J^T J)^-1 by the triangle of J, its columns first brought to one length.
std::vector<double> covariance_of(const std::vector<double>& slopes, std::size_t unknowns) {
  const auto n = static_cast<Eigen::Index>(unknowns);
  const auto rows = static_cast<Eigen::Index>(slopes.size()) / n;
  const Eigen::Map<const Matrix> jacobian(slopes.data(), rows, n);
  const Eigen::VectorXd lengths = jacobian.colwise().norm();
  const bool moved = rows >= n && lengths.minCoeff() > 0.0;
  const Eigen::ColPivHouseholderQR<Matrix> triangle(
      moved ? Matrix(jacobian * lengths.cwiseInverse().asDiagonal()) : Matrix::Zero(n, n));
  if (!triangle.isInjective()) {
    throw RunError("the readings leave a number open altogether: its spread is without bound");
  }
  const Matrix upper = triangle.matrixR().topRows(n).triangularView<Eigen::Upper>();
  const Matrix root = triangle.colsPermutation() * Matrix(upper.inverse());
  const Matrix covariance = lengths.cwiseInverse().asDiagonal() * (root * root.transpose()) *
                            lengths.cwiseInverse().asDiagonal();
  return {covariance.data(), covariance.data() + covariance.size()};
}

}  // namespace

std::vector<double> jacobian(const LeastSquares& problem, std::span<const double> x) {
  const std::size_t unknowns = x.size();
  const std::size_t count = problem.residuals;
  std::vector<double> slopes(count * unknowns);
  std::vector<double> moved(x.begin(), x.end());
  std::vector<double> residuals(count);
  for (std::size_t k = 0; k < unknowns; ++k) {
    const double h = std::max(problem.step[k], problem.share * std::abs(x[k]));
    for (const auto& [steps, weight] :
         {std::pair(1.0, 8.0), std::pair(-1.0, -8.0), std::pair(2.0, -1.0), std::pair(-2.0, 1.0)}) {
      moved[k] = x[k] + steps * h;
      if (!problem.evaluate(moved, residuals)) return {};
      for (std::size_t i = 0; i < count; ++i) {
        slopes[i * unknowns + k] += weight * residuals[i] / (12.0 * h);
      }
    }
    moved[k] = x[k];
  }
  return slopes;
}

Solved solve(const LeastSquares& problem) {
  Solved solved;
  solved.x = problem.start;
  solved.residuals.resize(problem.residuals);
  if (!problem.evaluate(solved.x, solved.residuals)) {
    throw RunError("the fork cannot be worked out as it is before it is fitted");
  }
  ceres::Problem search;
  search.AddResidualBlock(new Differences(problem), nullptr, solved.x.data());
  ceres::Solver::Summary summary;
  ceres::Solve(search_options(problem.tolerance), &search, &summary);
  solved.converged = summary.termination_type == ceres::CONVERGENCE;
  solved.account = summary.BriefReport();
  problem.evaluate(solved.x, solved.residuals);
  solved.sum_of_squares = 2.0 * summary.final_cost;
  solved.jacobian = jacobian(problem, solved.x);
  solved.covariance = covariance_of(solved.jacobian, solved.x.size());
  return solved;
}

}  // namespace plunge
