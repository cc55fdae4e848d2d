#include "models/laws/arms.hpp"

#include <gtest/gtest.h>

namespace plunge::arms_test {
namespace {

TEST(Arms, PulledArmsLiftTheBar) {
  // By hand: 4 N/mm pulled by 30 mm at 0.5 m/s against 300 N.s/m: 120 + 150 N.
  const Arms<double> arms{4000.0, 300.0};
  EXPECT_NEAR(arms.force(0.03, 0.5), 270.0, 1e-12);
  EXPECT_NEAR(arms.force(-0.03, -0.5), -270.0, 1e-12);
  EXPECT_EQ(arms.force(0.0, 0.0), 0.0);
}

TEST(Arms, PowerGoesIntoStoreAndHeat) {
  // F s' = d/dt(k s^2/2) + c s'^2, by hand: 270*0.5 = 4000*0.03*0.5 + 300*0.25.
  const Arms<double> arms{4000.0, 300.0};
  EXPECT_NEAR(arms.stored_energy(0.03), 1.8, 1e-12);
  EXPECT_NEAR(arms.dissipation(0.5), 75.0, 1e-12);
  EXPECT_NEAR(270.0 * 0.5, 4000.0 * 0.03 * 0.5 + arms.dissipation(0.5), 1e-12);
}

}  // namespace
}  // namespace plunge::arms_test
