#include "sim/log/workshop_log.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/small_log.hpp"
#include "tests/support.hpp"

namespace plunge::workshop_log_test {
namespace {

TEST(WorkshopLog, GivesForksRidersSettingsAndReadingsByName) {
  const SmallLog log;
  add_setting(log);
  log.add("setting", {"softer", "parent=3", "fork.pressure=65psi"});
  log.add("reading", {"sag", "fork=teasel", "value=33mm", "spread=2mm", "setting=softer",
                      "instrument=ruler", "load=76kg"});
  log.add("reading", {"pressure at full travel", "fork=teasel", "value=300psi", "travel=150mm",
                      "fork.spacers=4"});
  log.add("fork", {"other", "travel=100mm"});
  log.add("reading", {"sag", "fork=other", "value=20mm"});
  const LogContent content = log.read();

  const LoggedFork fork = logged_fork(content, "teasel");
  EXPECT_EQ(fork.number, 1);
  EXPECT_EQ(fork.file, bytes_of("scenarios/forks/teasel-150.toml"));
  EXPECT_DOUBLE_EQ(fork.setup.fork.travel, 0.15);

  const LoggedRider rider = logged_rider(content, "hazel");
  EXPECT_DOUBLE_EQ(rider.setup.rider.mass, 76.0);
  EXPECT_EQ(rider.file, "");

  const LoggedSetting setting = logged_setting(content, "softer");
  EXPECT_EQ(setting.number, 4);
  EXPECT_EQ(setting.parent, 3);
  EXPECT_EQ(setting.fork, 1);
  EXPECT_EQ(setting.rider, 2);
  EXPECT_EQ(setting.bike, -1);
  EXPECT_NEAR(setting.setup.fork.pressure, 65.0 * kPsi, 1e-6);
  EXPECT_DOUBLE_EQ(setting.setup.fork.spacers, 1.0);

  const std::vector<LoggedReading> readings = logged_readings(content, "teasel");
  ASSERT_EQ(readings.size(), 2u);
  EXPECT_EQ(readings[0].what, "sag");
  EXPECT_DOUBLE_EQ(readings[0].value, 0.033);
  EXPECT_DOUBLE_EQ(readings[0].spread, 0.002);
  EXPECT_EQ(readings[0].unit, "m");
  EXPECT_DOUBLE_EQ(readings[0].load, 76.0);
  EXPECT_NEAR(readings[0].setup.fork.pressure, 65.0 * kPsi, 1e-6) << "as the setting says";
  EXPECT_TRUE(std::isnan(readings[1].spread));
  EXPECT_DOUBLE_EQ(readings[1].travel, 0.15);
  EXPECT_DOUBLE_EQ(readings[1].setup.fork.spacers, 4.0) << "as the reading itself says";

  EXPECT_EQ(complaint([&] { logged_fork(content, "teesel"); }),
            "fork = \"teesel\": is no name and no number of a fork in the log; did you mean "
            "\"teasel\"?");
}

TEST(WorkshopLog, TheSameThingIsAddedOnce) {
  const SmallLog log;
  add_setting(log);
  const LogChange again = log.change("rider", {"hazel", "mass=76kg", "front_share=40%"});
  EXPECT_TRUE(again.was_there);
  EXPECT_EQ(again.entry, 2);
  EXPECT_EQ(log.read().entries.size(), 3u);
  // Two rides may well be alike.
  EXPECT_FALSE(log.change("ride", {"3"}).was_there);
  EXPECT_FALSE(log.change("ride", {"3"}).was_there);
  EXPECT_EQ(log.read().of("ride").size(), 2u);
}

TEST(WorkshopLog, SettingsAreNeverChanged) {
  const SmallLog log;
  add_setting(log);
  const LogEntry before = *log.read().find(3);
  log.add("setting", {"parent=3", "fork.pressure=60psi"});
  log.undo();
  log.redo();
  EXPECT_EQ(log.read().find(3)->numbers, before.numbers);
  EXPECT_EQ(log.read().find(3)->fields, before.fields);
}

}  // namespace
}  // namespace plunge::workshop_log_test
