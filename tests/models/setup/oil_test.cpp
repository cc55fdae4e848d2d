#include "models/setup/oil.hpp"

#include <gtest/gtest.h>

namespace plunge::oil_test {
namespace {

OilSetup thin_mineral_oil() { return {870.0, 32e-6, 5.4e-6, kZeroCelsius + 80.0, 0.611}; }

TEST(Oil, AGradeThirtyTwoOilFollowsTheStandardChart) {
  // ASTM D341: 32 and 5.4 cSt at 40 and 100 degC give 8.53 cSt at 80 degC.
  const double at_80 = kinematic_viscosity(thin_mineral_oil(), kZeroCelsius + 80.0);
  EXPECT_NEAR(at_80, 8.53e-6, 0.005e-6);
}

TEST(Oil, DataSheetViscositiesComeBack) {
  const OilSetup oil = thin_mineral_oil();
  EXPECT_NEAR(kinematic_viscosity(oil, kZeroCelsius + 40.0), 32e-6, 32e-6 * 1e-11);
  EXPECT_NEAR(kinematic_viscosity(oil, kZeroCelsius + 100.0), 5.4e-6, 5.4e-6 * 1e-11);
}

TEST(Oil, WarmthThinsItAtEveryTemperature) {
  const OilSetup oil = thin_mineral_oil();
  for (double temperature = kColdestOil; temperature < kHottestOil; temperature += 1.0) {
    EXPECT_LT(kinematic_viscosity(oil, temperature + 1.0), kinematic_viscosity(oil, temperature));
  }
}

TEST(Oil, DynamicViscosityIsDensityTimesKinematic) {
  // By hand: 870 kg/m3 times 8.53e-6 m2/s.
  EXPECT_NEAR(dynamic_viscosity(thin_mineral_oil()), 7.421e-3, 0.005e-3);
}

TEST(Oil, SharpEdgePassesSixtyOnePerCentOfItsArea) {
  // Kirchhoff's free streamline: pi/(pi + 2) = 0.611.
  EXPECT_NEAR(kSharpEdgeDischarge, 0.611, 5e-4);
}

}  // namespace
}  // namespace plunge::oil_test
