#include "sim/measure/channels.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <string>

#include "models/setup/parameters.hpp"
#include "models/setup/statics.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/ride/run.hpp"
#include "sim/text/units.hpp"
#include "tests/builders.hpp"
#include "tests/ready_setup.hpp"
#include "tests/scene_files.hpp"

namespace plunge::channels_test {
namespace {

TEST(Channels, EachHasANameOfItsOwnAndAUnitThatUdunitsReads) {
  std::set<std::string> names;
  std::set<std::string> labels;
  for (const ChannelRow& row : channel_rows()) {
    EXPECT_TRUE(names.insert(row.name).second) << row.name;
    EXPECT_TRUE(labels.insert(row.label).second) << row.label;
    EXPECT_GT(row.long_name.size(), 5u) << row.name;
    EXPECT_EQ(find_channel(row.name), &row);
    if (row.said != "1") {
      ASSERT_NE(find_common_unit(row.said), nullptr) << row.name;
      EXPECT_EQ(find_common_unit(row.said)->unit, row.unit) << row.name;
    }
    if (row.unit == "1") continue;
    EXPECT_NO_THROW(to_si_by_udunits({1.0, row.unit}, row.unit)) << row.name;
  }
  EXPECT_EQ(find_channel("axle"), nullptr);
}

TEST(Channels, WhatIsDrawnHangsTogether) {
  // By the definitions: the parts add up to the fork force; speeds are slopes of heights; the wheel
  // stands sin(theta') of the travel above the frame's mark; the deflection is path less wheel
  // along the normal of the path.
  const plunge::Setup setup = shipped_setup("drop-to-flat");
  const Result result = run_ride(setup);
  const auto at = [&](const char* name, std::size_t i) { return channel(result, name)[i]; };
  for (std::size_t i = 1; i + 1 < result.time.size(); ++i) {
    double parts = 0.0;
    for (const char* part : {"air_force", "coil_force", "damper_force", "friction_force",
                             "bumper_force", "metal_force", "top_out_force"}) {
      parts += at(part, i);
    }
    EXPECT_NEAR(at("fork_force", i), parts, 1e-9);
    const double sine = std::sin(setup.bike.head_angle - at("pitch", i));
    EXPECT_NEAR(at("wheel_height", i), at("sprung_height", i) + at("travel", i) * sine, 1e-12);
    EXPECT_NEAR(
        at("tyre_deflection", i),
        (at("path_height", i) - at("wheel_height", i)) * std::cos(std::atan(at("path_slope", i))),
        1e-12);
    // Central differences over 2 ms; the landing's jerk of 1e5 m/s3 leaves 0.05 m/s.
    EXPECT_NEAR(at("travel_speed", i), (at("travel", i + 1) - at("travel", i - 1)) * 500.0, 0.05);
  }
}

TEST(Channels, PitchBrakesDriveAndRearLoadFollowFromTheRide) {
  // A level start, a descent held with both brakes, a harder braking on it and a climb. By hand:
  // the forces on both wheels hold the bike's acceleration, brakes and drive never at once, the
  // load on both wheels is that of the whole bike, pitch is the grade.
  plunge::Setup setup = shipped_setup("drop-to-flat");
  setup.terrain = {flat(10.0), flat(30.0, -0.2), flat(20.0, 0.1)};
  setup.events = {braking(20.0, 2.0, 3.0, 0.3)};
  setup.ride.duration = 11.0;
  fill_defaults(setup);
  for (RideEvent& event : setup.events) fill_defaults(event);
  const Result result = run_ride(setup);
  ASSERT_EQ(result.failure, "");
  const auto at = [&](const char* name, std::size_t i) { return channel(result, name)[i]; };
  const double mass = setup.rider.mass + setup.bike.mass;
  int brakes = 0;
  int drives = 0;
  for (std::size_t i = 0; i < result.time.size(); ++i) {
    const double front = at("front_brake_force", i);
    const double rear = at("rear_brake_force", i);
    const double drive = at("drive_force", i);
    EXPECT_GE(std::min({front, rear, drive}), 0.0);
    EXPECT_EQ(drive * (front + rear), 0.0);
    brakes += front > 0.0 && rear > 0.0;
    drives += drive > 0.0;
    const double grade = at("pitch", i);
    const double speed = at("speed", i);
    if (std::abs(grade) < 1e-9 || std::abs(grade + 0.2) < 1e-9 || std::abs(grade - 0.1) < 1e-9) {
      const double resists =
          setup.bike.rolling_resistance * mass * kGravity * std::cos(grade) +
          0.5 * 1.2 * setup.bike.drag_area * std::pow(speed / std::cos(grade), 2);
      EXPECT_NEAR(
          drive - front - rear,
          mass * (at("forward_acceleration", i) / std::cos(grade) + kGravity * std::sin(grade)) +
              resists,
          1e-4 * mass)
          << result.time[i];
    }
  }
  EXPECT_GT(brakes, 4000);
  EXPECT_GT(drives, 500);
  // Where nothing moves, both wheels carry the bike: at the start.
  EXPECT_NEAR(at("ground_force", 0) + at("rear_load", 0), mass * kGravity, 1e-6);
}

}  // namespace
}  // namespace plunge::channels_test
