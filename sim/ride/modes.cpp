#include "sim/ride/modes.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <complex>

#include "models/setup/assemble.hpp"
#include "models/setup/damper_readings.hpp"
#include "models/setup/statics.hpp"
#include "sim/input/balance.hpp"
#include "sim/ride/integrator.hpp"

namespace plunge {
namespace {

// The states that take part: the gas keeps its masses, the bristle stays out.
constexpr std::array<std::size_t, 9> kTakePart = {
    kSprungHeight,    kSprungSpeed,         kTravel,        kTravelSpeed, kBodyHeight, kBodySpeed,
    kMainTemperature, kNegativeTemperature, kLegTemperature};
constexpr int kSize = static_cast<int>(kTakePart.size());

// Whose damping works both ways; mean: each direction has its own, which differences average.
enum class Damping { mean, compression, rebound };

// Steps of the central differences [m, m/s, K].
constexpr std::array<double, 9> kStep = {1e-6, 1e-4, 1e-6, 1e-4, 1e-6, 1e-4, 1e-3, 1e-3, 1e-3};
constexpr double kHeightStep = 1e-6;  // [m]
constexpr double kSlopeStep = 1e-5;   // [1]

using Vector = Eigen::VectorXd;
using Matrix = Eigen::MatrixXd;

struct Evaluation {
  Vector rates;
  double ground_force = 0.0;
};

class Linear {
 public:
  Linear(const Setup& setup, double grade, Damping damping) : rider_(assemble_ridden(setup)) {
    rider_.has_friction = false;
    Damper<double>& damper = rider_.damper;
    if (damping == Damping::compression) damper.rebound = damper.compression;
    if (damping == Damping::rebound) damper.compression = damper.rebound;
    motion_.speed = setup.ride.speed;
    motion_.gravity = kGravity;
    motion_.brake_share = setup.ride.brake_share;
    motion_.grade.slope = std::tan(grade);
    line_ = rider_.course(motion_);
    rest_ = state_at_rest_on(
        rider_, [&](double s) { return on_grade(s); }, motion_);
    a_.resize(kSize, kSize);
    tyre_.resize(kSize);
    for (int i = 0; i < kSize; ++i) {
      const auto place = static_cast<std::size_t>(i);
      const auto moved = [&](double by) {
        State<double> y = rest_;
        y[kTakePart[place]] += by;
        return evaluate(y, {});
      };
      const Evaluation up = moved(kStep[place]);
      const Evaluation down = moved(-kStep[place]);
      a_.col(i) = (up.rates - down.rates) / (2.0 * kStep[place]);
      tyre_(i) = (up.ground_force - down.ground_force) / (2.0 * kStep[place]);
    }
    difference({kHeightStep, 0.0}, {-kHeightStep, 0.0}, kHeightStep, by_height_, tyre_by_height_);
    difference({0.0, kSlopeStep}, {0.0, -kSlopeStep}, kSlopeStep, by_slope_, tyre_by_slope_);
  }

  const Matrix& a() const { return a_; }
  double travel() const { return rest_[kTravel]; }
  const Damper<double>& damper() const { return rider_.damper; }
  bool has_body() const { return rider_.has_body; }

  Transmissibility at(double frequency) const {
    const std::complex<double> jw(0.0, 2.0 * kPi * frequency);
    const std::complex<double> slope = jw / motion_.speed;
    const Eigen::MatrixXcd left = jw * Eigen::MatrixXcd::Identity(kSize, kSize) - a_;
    const Eigen::VectorXcd right = by_height_.cast<std::complex<double>>() + slope * by_slope_;
    const Eigen::VectorXcd y = left.partialPivLu().solve(right);
    const std::complex<double> tyre = (tyre_.transpose().cast<std::complex<double>>() * y)(0) +
                                      tyre_by_height_ + slope * tyre_by_slope_;
    return {frequency, std::abs(y(0)), std::abs(y(4)), std::abs(y(2)), std::abs(tyre)};
  }

 private:
  PathPoint<double> on_grade(double s) const {
    return {motion_.grade.slope * s, motion_.grade.slope};
  }

  // ripple: what is added to the grade under the wheel.
  Evaluation evaluate(const State<double>& y, const PathPoint<double>& ripple) const {
    PathPoint<double> point = on_grade(rider_.wheel_position(y, 0.0, line_));
    point.height += ripple.height;
    point.slope += ripple.slope;
    const Modes<double> mode = modes_of(rider_, y, line_, point);
    const Forces<double> f = rider_.forces(y, line_, point, mode);
    const State<double> all = rider_.rates(y, line_, point, mode, f);
    Evaluation look;
    look.rates.resize(kSize);
    for (int i = 0; i < kSize; ++i) {
      look.rates(i) = all[kTakePart[static_cast<std::size_t>(i)]];
    }
    look.ground_force = f.tyre;
    return look;
  }

  void difference(const PathPoint<double>& high, const PathPoint<double>& low, double half,
                  Vector& rates, double& tyre) const {
    const Evaluation up = evaluate(rest_, high);
    const Evaluation down = evaluate(rest_, low);
    rates = (up.rates - down.rates) / (2.0 * half);
    tyre = (up.ground_force - down.ground_force) / (2.0 * half);
  }

  Rider rider_;
  Motion<double> motion_;
  Course<double> line_;
  State<double> rest_{};
  Matrix a_;
  Vector tyre_;
  Vector by_height_;
  Vector by_slope_;
  double tyre_by_height_ = 0.0;
  double tyre_by_slope_ = 0.0;
};

std::string what_moves(const Eigen::VectorXcd& shape, double sine) {
  // Speeds of frame, wheel and body; heat where nothing moves to speak of.
  const double frame = std::abs(shape(1));
  const double wheel = std::abs(shape(1) + shape(3) * sine);
  const double body = std::abs(shape(5));
  const double heat = std::abs(shape(6)) + std::abs(shape(7)) + std::abs(shape(8));
  // A motion that drags heat along has some tens of kelvin per m/s; heat that drags a motion along,
  // slowed to the thermal time constant, has thousands.
  constexpr double kHeatLeads = 500.0;  // [K.s/m]
  if (heat > kHeatLeads * std::max({frame, wheel, body})) return "gas heat";
  if (wheel >= frame && wheel >= body) return "wheel";
  return frame >= body ? "frame" : "upper body";
}

std::vector<Mode> modes_with(const Linear& linear, const Setup& setup) {
  const Eigen::EigenSolver<Matrix> solver(linear.a());
  std::vector<Mode> modes;
  for (int i = 0; i < kSize; ++i) {
    const std::complex<double> root = solver.eigenvalues()(i);
    // One of each pair; states that are not there have eigenvalue 0.
    if (root.imag() < 0.0 || std::abs(root) < 1e-9) continue;
    Mode mode;
    mode.real = root.real();
    mode.imaginary = root.imag();
    mode.frequency = std::abs(root) / (2.0 * kPi);
    mode.damping = root.imag() > 0.0 ? -root.real() / std::abs(root) : 1.0;
    mode.moves = what_moves(solver.eigenvectors().col(i), std::sin(setup.bike.head_angle));
    modes.push_back(mode);
  }
  std::sort(modes.begin(), modes.end(),
            [](const Mode& a, const Mode& b) { return a.frequency < b.frequency; });
  return modes;
}

}  // namespace

ModeReport find_modes(const Setup& setup, const std::vector<double>& frequencies, double grade) {
  if (const auto tips = judge_even_grade(assemble_ridden(setup), setup.ride.speed, grade)) {
    throw InputError(Faults{*tips});
  }
  const Linear linear(setup, grade, Damping::mean);
  ModeReport report;
  report.travel = linear.travel();
  report.modes = modes_with(linear, setup);
  report.compression = modes_with(Linear(setup, grade, Damping::compression), setup);
  report.rebound = modes_with(Linear(setup, grade, Damping::rebound), setup);
  report.compression_slope = slope_at_rest(linear.damper().compression);
  report.rebound_slope = slope_at_rest(linear.damper().rebound);
  for (const double frequency : frequencies) {
    report.transmissibility.push_back(linear.at(frequency));
    if (!linear.has_body()) report.transmissibility.back().body = 0.0;
  }
  return report;
}

}  // namespace plunge
