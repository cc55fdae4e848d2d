#include "models/setup/masses.hpp"

#include <gtest/gtest.h>

#include "models/setup/parameters.hpp"

namespace plunge::masses_test {
namespace {

TEST(Masses, ShareOutAsByHand) {
  // By hand: 0.4 (80 + 15) = 38 on the tyre; 0.8 * 0.4 * 80 = 25.6 on the arms;
  // 38 - 3.8 - 25.6 = 8.6 on the fork.
  plunge::Setup setup = defaults();
  setup.rider.mass = 80.0;
  EXPECT_DOUBLE_EQ(total_mass(setup), 95.0);
  EXPECT_DOUBLE_EQ(body_mass(setup), 25.6);
  EXPECT_DOUBLE_EQ(sprung_mass(setup), 8.6);
}

TEST(Masses, AnOverrideReplacesItsOwnValueOnly) {
  plunge::Setup setup = defaults();
  setup.rider.mass = 80.0;
  setup.rider.body_mass = 30.0;
  EXPECT_DOUBLE_EQ(body_mass(setup), 30.0);
  EXPECT_DOUBLE_EQ(sprung_mass(setup), 8.6);
  setup.rider.body_mass = kUnset;
  setup.rider.sprung_mass = 14.0;
  EXPECT_DOUBLE_EQ(body_mass(setup), 25.6);
  EXPECT_DOUBLE_EQ(sprung_mass(setup), 14.0);
  EXPECT_DOUBLE_EQ(total_mass(setup), 95.0);
}

TEST(Masses, APumpElsewhereChangesWhatItSaysOnly) {
  plunge::Setup setup = defaults();
  setup.ambient = {1200.0, 281.15};
  EXPECT_EQ(pumped_air(setup).altitude, 1200.0);
  setup.pumped.temperature = 293.15;
  EXPECT_EQ(pumped_air(setup).altitude, 1200.0);
  EXPECT_EQ(pumped_air(setup).temperature, 293.15);
}

}  // namespace
}  // namespace plunge::masses_test
