#include "sim/measure/channels.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <set>
#include <string>

#include "models/setup/parameters.hpp"
#include "models/setup/statics.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/ride/run.hpp"
#include "sim/text/units.hpp"
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
  // stands sin(theta) of the travel above the frame's mark; the deflection is path less wheel.
  const plunge::Setup setup = shipped_setup("drop-to-flat");
  const Result result = run_ride(setup);
  const auto at = [&](const char* name, std::size_t i) { return channel(result, name)[i]; };
  const double sine = std::sin(setup.bike.head_angle);
  for (std::size_t i = 1; i + 1 < result.time.size(); ++i) {
    double parts = 0.0;
    for (const char* part : {"air_force", "coil_force", "damper_force", "friction_force",
                             "bumper_force", "metal_force", "top_out_force"}) {
      parts += at(part, i);
    }
    EXPECT_NEAR(at("fork_force", i), parts, 1e-9);
    EXPECT_NEAR(at("wheel_height", i), at("sprung_height", i) + at("travel", i) * sine, 1e-12);
    EXPECT_NEAR(at("tyre_deflection", i), at("path_height", i) - at("wheel_height", i), 1e-12);
    // Central differences over 2 ms; the landing's jerk of 1e5 m/s3 leaves 0.05 m/s.
    EXPECT_NEAR(at("travel_speed", i), (at("travel", i + 1) - at("travel", i - 1)) * 500.0, 0.05);
  }
}

}  // namespace
}  // namespace plunge::channels_test
