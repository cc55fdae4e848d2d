// Vibration at the hands and in the body: what a ride's accelerations count for.
//
// The linear rider is ridden over waves, and the weighted acceleration of the sprung mass is
// compared with the plain one once the start has died out (6/s).
#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <string>
#include <vector>

#include "sim/measure/weighting.hpp"
#include "sim/numerics/statistics.hpp"
#include "tests/outside/rig.hpp"

namespace plunge::outside_hands_test {
namespace {

// Weighted over plain amplitude of the sprung acceleration on waves met at a frequency [Hz].
double weight_at(Weighting weighting, double frequency, double sample_rate) {
  const double speed = 10.0;
  const double amplitude = 0.5 / std::pow(2.0 * kPi * frequency, 2.0);  // 0.5 m/s2 of the ground
  const Result result = ridden(rig("linear-rider", waves(speed / frequency, amplitude, 62.0),
                                   {"ride.speed=10m/s", "ride.duration=6s", "ride.tolerance=1e-9",
                                    fmt::format("ride.sample_rate={} Hz", sample_rate)}));
  EXPECT_EQ(number_in(result, "lift_offs"), 0.0);
  const std::vector<double>& plain = channel(result, "sprung_acceleration");
  const std::vector<double> felt = weighted(plain, sample_rate, weighting);
  const double w = 2.0 * kPi * frequency;
  return std::abs(wave_in(felt, result.time, w, 3.0, 5.0) /
                  wave_in(plain, result.time, w, 3.0, 5.0));
}

struct Weight {
  double frequency;  // [Hz]
  double factor;
};

// Table A.2 of ISO 5349-1, three digits. Its frequencies are the nominal ones of third octaves,
// which stand for 10^(n/10) Hz.
TEST(HandArm, WeightsOfRiddenVibration) {
  const Weight table[] = {{6.3, 0.727}, {12.5, 0.958}, {31.5, 0.519}, {100.0, 0.160}};
  for (const Weight& row : table) {
    const double exact = std::pow(10.0, std::round(10.0 * std::log10(row.frequency)) / 10.0);
    record({fmt::format("W_h at {} Hz, ridden", row.frequency), "ISO 5349-1 table A.2", row.factor,
            weight_at(Weighting::hand_arm, exact, 2000.0), 5e-4});
  }
  record({"W_h at 1250 Hz", "ISO 5349-1 table A.2", 0.00894,
          std::abs(response(Weighting::hand_arm, std::pow(10.0, 3.1))), 5e-6});
}

// Computed from f5 2.37 Hz, f6 3.35 Hz, Q 0.91.
TEST(WholeBody, WeightOfRiddenVibration) {
  record({"W_k at 15.915 Hz, ridden", "ISO 2631-1, computed", 0.7718,
          weight_at(Weighting::vertical_body, 15.915, 1000.0), 5e-5});
}

// The metric of a whole ride is the weighted rms: on long waves at 6.3 Hz, start and end included,
// 0.727 of the plain one to 1 %.
TEST(HandArm, MetricOfARideIsItsWeightedAcceleration) {
  const double frequency = 6.30957;
  const Result result =
      ridden(rig("linear-rider", waves(10.0 / frequency, 1e-4, 402.0),
                 {"ride.speed=10m/s", "ride.duration=40s", "ride.tolerance=1e-8"}));
  record({"hand_acceleration over plain rms on waves of 6.3 Hz", "ISO 5349-1 table A.2", 0.727,
          number_in(result, "hand_acceleration") / rms(channel(result, "sprung_acceleration")),
          0.00727});
}

// A(8) = a sqrt(T/8 h): 10 m/s2 reaches the action value of 2.5 m/s2 in half an hour, and the limit
// of 5 m/s2 in two.
TEST(HandArm, DailyExposure) {
  record({"A(8) action value [m/s2]", "Directive 2002/44/EC", 2.5, kHandActionValue, 0.0});
  record({"A(8) limit value [m/s2]", "Directive 2002/44/EC", 5.0, kHandLimitValue, 0.0});
  record({"10 m/s2 reaches the action value in [min]", "Directive 2002/44/EC", 30.0,
          time_to_reach(kHandActionValue, 10.0) / 60.0, 1e-9});
  record({"10 m/s2 reaches the limit value in [min]", "Directive 2002/44/EC", 120.0,
          time_to_reach(kHandLimitValue, 10.0) / 60.0, 1e-9});
}

}  // namespace
}  // namespace plunge::outside_hands_test
