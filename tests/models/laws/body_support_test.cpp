#include "models/laws/body_support.hpp"

#include <gtest/gtest.h>

#include "models/laws/constants.hpp"

namespace plunge::body_support_test {
namespace {

// 26 kg on 4 kN/m and 300 N.s/m, 30 % of both in the arms, a quarter of the weight on the hands.
constexpr double kWeight = 26.0 * kGravity;
constexpr BodySupport<double> kBody{4000.0, 300.0, 1200.0, 90.0, (0.25 - 0.30) * kWeight};

TEST(BodySupport, PulledLimbsLiftTheFrame) {
  EXPECT_NEAR(kBody.force(0.03, 0.5), 270.0, 1e-12);
  EXPECT_NEAR(kBody.force(-0.03, -0.5), -270.0, 1e-12);
  EXPECT_EQ(kBody.force(0.0, 0.0), 0.0);
}

TEST(BodySupport, AtRestTheHandsCarryTheirShareOfTheWeight) {
  const double stretch = -kWeight / 4000.0;
  EXPECT_NEAR(kBody.force(stretch, 0.0), -kWeight, 1e-12);
  EXPECT_NEAR(kBody.hand_force(stretch, 0.0), 0.25 * kWeight, 1e-12);
}

TEST(BodySupport, TheHandsFeelWhatTheArmsTakeOfAMotion) {
  const double still = kBody.hand_force(-0.05, 0.0);
  EXPECT_NEAR(kBody.hand_force(-0.06, 0.0) - still, 0.30 * 40.0, 1e-12);
  EXPECT_NEAR(kBody.hand_force(-0.05, -2.0) - still, 0.30 * 600.0, 1e-12);
}

TEST(BodySupport, PowerGoesIntoStoreAndHeat) {
  EXPECT_NEAR(kBody.stored_energy(0.03), 1.8, 1e-12);
  EXPECT_NEAR(kBody.dissipation(0.5), 75.0, 1e-12);
  EXPECT_NEAR(270.0 * 0.5, 4000.0 * 0.03 * 0.5 + kBody.dissipation(0.5), 1e-12);
}

}  // namespace
}  // namespace plunge::body_support_test
