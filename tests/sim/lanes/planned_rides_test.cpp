#include "sim/lanes/planned_rides.hpp"

#include <gtest/gtest.h>

#include "sim/disk/disk_files.hpp"

namespace plunge::planned_rides_test {
namespace {

std::vector<ReadyRide> rides_of(const char* scene, const char* vary) {
  Wishes wishes;
  wishes.vary = {vary};
  return ready(disk_files(), std::string("scenarios/scenes/") + scene + ".toml", wishes).rides;
}

TEST(PlannedRides, ShareTheirGroundWhereTheWheelGoesTheSameWay) {
  std::vector<ReadyRide> rides = rides_of("drop-to-flat", "fork.spacers=0..2");
  const std::vector<ReadyRide> others = rides_of("roots", "fork.spacers=0");
  rides.insert(rides.begin() + 1, others.begin(), others.end());
  const std::vector<PlannedRide> planned = planned_rides(rides);
  ASSERT_EQ(planned.size(), 4U);
  EXPECT_NE(planned[0].ground, planned[1].ground);
  EXPECT_EQ(planned[0].ground, planned[2].ground);
  EXPECT_EQ(planned[0].ground, planned[3].ground);
  for (std::size_t i = 0; i < planned.size(); ++i) {
    EXPECT_EQ(planned[i].setup.fork.spacers, rides[i].setup.fork.spacers);
    EXPECT_EQ(planned[i].failure, "");
  }
}

TEST(PlannedRides, HaveGroundsOfTheirOwnWhereTheWheelDiffers) {
  const std::vector<PlannedRide> planned =
      planned_rides(rides_of("roots", "bike.wheel_radius=340mm,370mm"));
  ASSERT_EQ(planned.size(), 2U);
  EXPECT_NE(planned[0].ground, planned[1].ground);
}

TEST(PlannedRides, NoneAreNone) { EXPECT_TRUE(planned_rides({}).empty()); }

}  // namespace
}  // namespace plunge::planned_rides_test
