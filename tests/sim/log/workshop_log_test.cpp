#include "sim/log/workshop_log.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>

#include "sim/fit/readings_reader.hpp"
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

TEST(WorkshopLog, ReadingsGoToTheFitAsAFileWouldSayThem) {
  const SmallLog log;
  log.add("fork", {"rented", kTeasel});
  log.add("reading", {"sag", "fork=rented", "value=25mm", "spread=2mm", "load=26kg", "moving=down",
                      "fork.pressure=70psi", "instrument=zip tie and ruler"});
  log.add("reading", {"spacers", "fork=rented", "value=32cm3", "spread=1cm3", "count=4"});
  log.add("reading", {"smell", "fork=rented", "value=1"});
  log.add("reading", {"sag", "fork=rented", "value=25mm", "load=26kg", "fork.pressure=70psi"});
  log.add("reading", {"push", "fork=rented", "value=57mm", "spread=1mm"});
  log.add("reading", {"sag", "fork=rented", "value=25mm", "spread=2mm", "fork.pressure=70psi"});
  const ReadingsToFit found = readings_to_fit(log.read(), "rented");
  ASSERT_EQ(found.readings.list.size(), 2u);
  EXPECT_EQ(found.numbers, (std::vector<std::int64_t>{2, 3}));
  EXPECT_EQ(found.readings.list[1].count, 4.0);
  ASSERT_EQ(found.left_out.size(), 4u);
  EXPECT_EQ(found.left_out[0], "reading 4: \"smell\" is no kind that plunge fit takes");
  EXPECT_EQ(found.left_out[1], "reading 5: it says no spread");
  EXPECT_EQ(found.left_out[2], "reading 6: its value must be in kg");
  EXPECT_TRUE(found.left_out[3].starts_with("reading 7: it lacks its weight")) << found.left_out[3];
  // The same reading as in the file.
  const Readings file = load_readings(disk_files(), "scenarios/readings/rented-140.toml");
  EXPECT_EQ(reading_id(found.readings.list[0]), reading_id(file.list[0]));
  EXPECT_EQ(log.refusal("reading", {"push", "fork=rented", "value=57kg", "moving=sideways"})
                .substr(0, 22),
            "moving = \"sideways\": m");
}

TEST(WorkshopLog, WhatIsKnownOfAForkComesWithIt) {
  const SmallLog log;
  const std::string file = log.directory() / "rented.toml";
  std::ofstream(file) << "type = \"fork\"\nformat = [1, 4]\nname = \"rented\"\n"
                         "travel = \"140 mm\"\nfamily.stanchion = \"34 mm\"\n";
  log.add("fork", {"rented", "file=" + file});
  log.add("rider", {"hazel", "mass=76kg"});
  log.add("setting",
          {"fork=rented", "rider=hazel", "fork.pressure=70psi", "fork.air.main_volume=190cm3"});
  const LogContent content = log.read();
  const Knowledge fork = logged_fork(content, "rented").knowledge;
  const Knowledge set = logged_setting(content, "3").knowledge;
  EXPECT_LT(fork.find("fork.air.main_volume"), fork.size());
  EXPECT_EQ(set.find("fork.air.main_volume"), set.size()) << "said anew";
  EXPECT_EQ(set.uncertain().size() + 1, fork.uncertain().size());
}

TEST(WorkshopLog, ASettingAndWhatIsForetoldOfItAreOneChange) {
  const SmallLog log;
  add_setting(log);
  const LogDraft setting(demand_kind("setting"), {"parent=3", "fork.pressure=65psi"}, disk_files());
  const LogDraft prediction(demand_kind("prediction"), {"travel_max=130mm"}, disk_files());
  const LogChange first = WorkshopLog(log.path()).foretell(setting, prediction);
  EXPECT_EQ(first.entry, 5);
  EXPECT_EQ(first.log.find(5)->reference("setting"), 4);
  const LogChange again = WorkshopLog(log.path()).foretell(setting, prediction);
  EXPECT_EQ(again.entry, 6) << "the setting is there";
  EXPECT_EQ(again.log.find(6)->reference("setting"), 4);
  const LogDraft wrong(demand_kind("prediction"), {"remarks=nothing foretold"}, disk_files());
  const LogDraft other(demand_kind("setting"), {"parent=3", "fork.pressure=60psi"}, disk_files());
  EXPECT_ANY_THROW(WorkshopLog(log.path()).foretell(other, wrong));
  EXPECT_EQ(log.read().entries.size(), 6u) << "both or neither";
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
