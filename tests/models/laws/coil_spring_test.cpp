#include "models/laws/coil_spring.hpp"

#include <gtest/gtest.h>

namespace plunge::coil_spring_test {
namespace {

TEST(CoilSpring, ForceIsPreloadPlusRateTimesTravel) {
  // By hand: 40 N + 8 N/mm * 50 mm = 440 N; energy (40 + 440)/2 N * 50 mm = 12 J.
  const CoilSpring<double> coil{8000.0, 40.0};
  EXPECT_NEAR(coil.force(0.05), 440.0, 1e-12);
  EXPECT_NEAR(coil.stored_energy(0.05), 12.0, 1e-12);
  EXPECT_EQ(coil.stored_energy(0.0), 0.0);
}

TEST(NegativeCoil, PullsTheForkInUntilItLetsGo) {
  // By hand: 5 N/mm over 20 mm: -100 N and 1 J at full extension, -25 N at 15 mm, none past 20 mm.
  const NegativeCoil<double> coil{5000.0, 0.02};
  EXPECT_NEAR(coil.force(0.0, coil.reach(0.0) > 0.0), -100.0, 1e-12);
  EXPECT_NEAR(coil.force(0.015, coil.reach(0.015) > 0.0), -25.0, 1e-12);
  EXPECT_EQ(coil.force(0.021, coil.reach(0.021) > 0.0), 0.0);
  EXPECT_NEAR(coil.stored_energy(0.0), 1.0, 1e-12);
  EXPECT_EQ(coil.stored_energy(0.021), 0.0);
}

TEST(NegativeCoil, LetsGoWithoutAJump) {
  const NegativeCoil<double> coil{5000.0, 0.02};
  EXPECT_NEAR(coil.force(0.02, true), 0.0, 1e-12);
}

}  // namespace
}  // namespace plunge::coil_spring_test
