#include "models/setup/atmosphere.hpp"

#include <gtest/gtest.h>

namespace plunge::atmosphere_test {
namespace {

TEST(Atmosphere, MountainPressuresAreThoseOfTheStandard) {
  // ISO 2533:1975, table 5, by geopotential altitude: 1013.25 hPa at 0 and 898.746, 794.952,
  // 701.085 hPa at 1, 2 and 3 km, printed to 1e-3 hPa.
  EXPECT_DOUBLE_EQ(ambient_pressure(0.0), 101325.0);
  EXPECT_NEAR(ambient_pressure(1000.0), 89874.6, 0.05);
  EXPECT_NEAR(ambient_pressure(2000.0), 79495.2, 0.05);
  EXPECT_NEAR(ambient_pressure(3000.0), 70108.5, 0.05);
}

TEST(Atmosphere, PressureFallsAsTheWeightOfTheAirAbove) {
  // Hydrostatics: dp/dH = -p g/(R T) with T = T0 - L H. Central difference over 2 m.
  for (double altitude = -500.0; altitude <= 5000.0; altitude += 250.0) {
    const double slope =
        (ambient_pressure(altitude + 1.0) - ambient_pressure(altitude - 1.0)) / 2.0;
    const double temperature = kSeaLevelTemperature - kLapseRate * altitude;
    const double weight = ambient_pressure(altitude) * kGravity / (kAirConstant * temperature);
    EXPECT_NEAR(slope, -weight, 1e-6 * weight) << altitude << " m";
  }
}

}  // namespace
}  // namespace plunge::atmosphere_test
