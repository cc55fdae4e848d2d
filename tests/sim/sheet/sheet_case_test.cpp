#include "sim/sheet/sheet_case.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "models/setup/fault.hpp"
#include "tests/small_log.hpp"

namespace plunge::sheet_case_test {
namespace {

SheetRequest request_of() {
  SheetRequest request;
  request.fork = "scenarios/forks/teasel-150.toml";
  request.rider = "scenarios/riders/hazel.toml";
  return request;
}

// What is said of a request.
std::string refusal(const SheetRequest& request) {
  return complaint([&] { sheet_of_fork(disk_files(), request); });
}

TEST(SheetCase, AForkAloneHasNoBefore) {
  const SheetCase sheet = sheet_of_fork(disk_files(), request_of());
  EXPECT_FALSE(sheet.before);
  EXPECT_EQ(sheet.after.fork.spacers, 1.0);
  EXPECT_EQ(sheet.service.cap, "27 mm socket without chamfer");
}

TEST(SheetCase, AGuessedPressureIsNotWhatIsInTheFork) {
  MemoryFiles files;
  const std::string fork =
      "type = \"fork\"\nformat = [1, 5]\ntravel = \"140 mm\"\nfamily.stanchion = \"34 mm\"\n";
  files.put("guessed.toml", fork);
  files.put("said.toml", fork + "pressure = \"70 psi\"\n");
  files.put("rider.toml",
            "type = \"rider\"\nformat = [1, 0]\nmass = \"82 kg\"\n"
            "front_share = \"40 %\"\n");
  SheetRequest request;
  request.rider = "rider.toml";
  request.fork = "guessed.toml";
  request.spacers = "2";
  EXPECT_FALSE(sheet_of_fork(files, request).before);
  request.sag = "22 %";
  EXPECT_FALSE(sheet_of_fork(files, request).before);
  request.fork = "said.toml";
  EXPECT_TRUE(sheet_of_fork(files, request).before);
}

TEST(SheetCase, SettingsBesideAForkAreWhatItGets) {
  SheetRequest request = request_of();
  request.spacers = "4";
  request.compression = "3";
  request.rebound = "12";
  request.pressure = "5 bar";
  const SheetCase sheet = sheet_of_fork(disk_files(), request);
  ASSERT_TRUE(sheet.before);
  EXPECT_EQ(sheet.before->fork.spacers, 1.0);
  EXPECT_EQ(sheet.after.fork.spacers, 4.0);
  EXPECT_EQ(sheet.after.fork.pressure, 5e5);
  EXPECT_EQ(sheet.after.fork.compression.clicks, 3.0);
  EXPECT_EQ(sheet.after.fork.rebound.clicks, 12.0);
}

TEST(SheetCase, ScenesAreRiddenInTheAirThatIsAskedFor) {
  SheetRequest request = request_of();
  request.scenes = {"scenarios/scenes/square-edge.toml"};
  const AirState own = sheet_of_fork(disk_files(), request).scenes[0].after.ambient;
  request.ride_altitude = "2500 m";
  const SheetCase sheet = sheet_of_fork(disk_files(), request);
  EXPECT_NE(own.altitude, 2500.0);
  EXPECT_EQ(sheet.scenes[0].after.ambient.altitude, 2500.0);
  EXPECT_EQ(sheet.scenes[0].after.pumped.altitude, sheet.after.pumped.altitude);
}

TEST(SheetCase, FaultsBearTheirOption) {
  const auto with = [](std::string SheetRequest::*text, const char* value) {
    SheetRequest request = request_of();
    request.*text = value;
    return refusal(request);
  };
  EXPECT_NE(with(&SheetRequest::spacers, "9").find("--spacers = 9"), std::string::npos);
  EXPECT_NE(with(&SheetRequest::spacers, "1.5").find("--spacers = 1.5"), std::string::npos);
  EXPECT_NE(with(&SheetRequest::pressure, "72").find("--pressure = 72"), std::string::npos);
  EXPECT_NE(with(&SheetRequest::pressure, "900 psi").find("--pressure = 900 psi"),
            std::string::npos);
  EXPECT_NE(with(&SheetRequest::sag, "99 %").find("--sag = 99 %"), std::string::npos);
  EXPECT_NE(with(&SheetRequest::ride_altitude, "90 km").find("--ride-altitude = 90 km"),
            std::string::npos);
  SheetRequest both = request_of();
  both.sag = "22 %";
  both.pressure = "72 psi";
  EXPECT_NE(refusal(both).find("--sag"), std::string::npos);
  SheetRequest fixed = request_of();
  fixed.fork = "scenarios/forks/sorrel-120.toml";
  fixed.compression = "3";
  EXPECT_NE(refusal(fixed).find("no such adjuster"), std::string::npos);
}

TEST(SheetCase, TheLogsSettingsAreBeforeAndAfter) {
  const SmallLog log;
  add_setting(log);
  log.add("setting", {"softer", "fork=teasel", "rider=hazel", "fork.pressure=64psi",
                      "fork.spacers=2", "fork.rebound.clicks=11"});
  const SheetCase sheet = sheet_of_log(log.read(), "3", "softer");
  ASSERT_TRUE(sheet.before);
  EXPECT_EQ(sheet.before->fork.spacers, 1.0);
  EXPECT_EQ(sheet.after.fork.spacers, 2.0);
  EXPECT_EQ(sheet.after.fork.rebound.clicks, 11.0);
  EXPECT_EQ(sheet.after.rider.mass, 76.0);
  EXPECT_EQ(sheet.service.steps.size(), 6u);
  log.add("fork", {"other", kTeasel});
  log.add("setting", {"foreign", "fork=other", "rider=hazel", "fork.pressure=64psi"});
  EXPECT_NE(complaint([&] { sheet_of_log(log.read(), "3", "foreign"); }).find("the same fork"),
            std::string::npos);
  log.add("setting", {"nobody", "fork=teasel", "fork.pressure=64psi"});
  EXPECT_NE(complaint([&] { sheet_of_log(log.read(), "3", "nobody"); }).find("a rider"),
            std::string::npos);
}

TEST(SheetCase, ABriefGoesFromTodayToItsNextStep) {
  BriefFlags flags;
  flags.fork = request_of().fork;
  flags.rider = request_of().rider;
  flags.scenes = {"scenarios/scenes/square-edge.toml", "scenarios/scenes/roots.toml"};
  const Brief brief = read_brief(disk_files(), "", flags);
  Suggestion found;
  found.next.effort = kAirEffort;
  found.next.candidate.settings = brief.today;
  found.next.candidate.settings.pressure -= 10.0 * kPsiStep;
  found.look = {1, 0.1, 0.09, 0.11};
  const SheetCase sheet = sheet_of_brief(brief, found);
  ASSERT_TRUE(sheet.before);
  EXPECT_EQ(sheet.before->fork.pressure, brief.today.pressure);
  EXPECT_EQ(sheet.after.fork.pressure, brief.today.pressure - 10.0 * kPsiStep);
  ASSERT_EQ(sheet.scenes.size(), 2u);
  EXPECT_TRUE(std::isnan(sheet.scenes[0].ring_low));
  EXPECT_EQ(sheet.scenes[1].ring_low, 0.09);
  EXPECT_EQ(sheet.service.tools.size(), 4u);
  found.next.effort = 0;
  EXPECT_FALSE(sheet_of_brief(brief, found).before);
}

}  // namespace
}  // namespace plunge::sheet_case_test
