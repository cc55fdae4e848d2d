#include "models/laws/hydraulic_stop.hpp"

#include <gtest/gtest.h>

namespace plunge::hydraulic_stop_test {
namespace {

// The last 30 mm of 150 mm, 1500 N.s/m at full travel.
HydraulicStop<double> plug() { return {0.12, 1500.0 / 0.03}; }

double force(double x, double v) {
  const HydraulicStop<double> stop = plug();
  return stop.force(x, v, stop.depth(x) > 0.0 && v > 0.0);
}

TEST(HydraulicStop, DampingGrowsFromNothingToItsFullValue) {
  // By hand: half-way in 750 N.s/m, at full travel 1500 N.s/m; at 2 m/s that is 1500 and 3000 N.
  EXPECT_NEAR(force(0.135, 2.0), 1500.0, 1e-9);
  EXPECT_NEAR(force(0.15, 2.0), 3000.0, 1e-9);
  EXPECT_NEAR(force(0.12 + 1e-9, 2.0), 0.0, 1e-3);
}

TEST(HydraulicStop, ReturnsFreely) {
  EXPECT_EQ(force(0.14, -2.0), 0.0);
  EXPECT_EQ(force(0.14, 0.0), 0.0);
}

TEST(HydraulicStop, LeavesTheRestOfTheTravelAlone) { EXPECT_EQ(force(0.119, 5.0), 0.0); }

TEST(HydraulicStop, TakesThePeakOffALanding) {
  // Closed form of v dv/dx = -(c/l) d v/m: v falls linearly with d^2. 36 kg at 2 m/s loses
  // (c/l) d^2/(2 m) = 50000*9e-4/72 = 0.625 m/s over 30 mm.
  double v = 2.0;
  const int steps = 100'000;
  for (int i = 0; i < steps; ++i) {
    const double middle = 0.12 + 0.03 * (i + 0.5) / steps;
    v -= force(middle, v) / (36.0 * v) * 0.03 / steps;
  }
  EXPECT_NEAR(v, 1.375, 1e-6);
}

}  // namespace
}  // namespace plunge::hydraulic_stop_test
