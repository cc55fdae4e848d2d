#include "sim/log/log_setups.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/small_log.hpp"
#include "tests/support.hpp"

namespace plunge::log_setups_test {
namespace {

TEST(LogSetups, ASettingLiesOverItsForkAndRider) {
  const SmallLog log;
  log.add("fork", {"teasel", kTeasel, "spacer_limit=4"});
  log.add("rider", {"hazel", kHazel});
  log.add("setting", {"fork=teasel", "rider=hazel", "fork.pressure=72psi", "fork.spacers=2",
                      "ambient.altitude=900m"});
  const LogContent content = log.read();
  const auto setup = setup_of_setting(content, *content.find(3));
  EXPECT_DOUBLE_EQ(setup.fork.travel, 0.15);       // the file
  EXPECT_DOUBLE_EQ(setup.fork.spacer_limit, 4.0);  // the fork's own number over it
  EXPECT_DOUBLE_EQ(setup.fork.spacers, 2.0);
  EXPECT_NEAR(setup.fork.pressure, 72.0 * kPsi, 1e-6);
  EXPECT_DOUBLE_EQ(setup.rider.mass, 76.0);
  EXPECT_DOUBLE_EQ(setup.ambient.altitude, 900.0);
  EXPECT_EQ(setup.fork.name, "teasel 150");
  // The fork itself is as its file says.
  EXPECT_DOUBLE_EQ(setup_of_thing(*content.find(1)).fork.spacers, 1.0);
}

TEST(LogSetups, WhatNothingSaysIsUnset) {
  const SmallLog log;
  log.add("fork", {"rental", "travel=140mm"});
  const LogContent content = log.read();
  const auto setup = setup_of_thing(*content.find(1));
  EXPECT_DOUBLE_EQ(setup.fork.travel, 0.14);
  EXPECT_TRUE(std::isnan(setup.fork.pressure));
  EXPECT_TRUE(std::isnan(setup.fork.air.main_volume));
}

}  // namespace
}  // namespace plunge::log_setups_test
