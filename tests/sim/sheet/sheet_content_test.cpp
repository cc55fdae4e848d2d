#include "sim/sheet/sheet_content.hpp"

#include <fmt/core.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "models/setup/statics.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/ride/run.hpp"
#include "sim/sheet/sheet_case.hpp"
#include "tests/scene_files.hpp"

namespace plunge::sheet_content_test {
namespace {

constexpr double kPsi = 6894.757293168361;  // [Pa]: lbf/in2, exact

SheetRequest request_of() {
  SheetRequest request;
  request.fork = "scenarios/forks/teasel-150.toml";
  request.rider = "scenarios/riders/hazel.toml";
  return request;
}

const SheetRow& row_of(const SheetContent& content, const std::string& name) {
  return *std::ranges::find(content.rows, name, &SheetRow::name);
}

bool says(const std::vector<std::string>& texts, const std::string& words) {
  return std::ranges::any_of(
      texts, [&](const std::string& text) { return text.find(words) != std::string::npos; });
}

TEST(SheetContent, PressuresAndSagAreThoseOfTheStatics) {
  SheetRequest request = request_of();
  request.spacers = "3";
  request.sag = "22 %";
  const SheetCase sheet = sheet_of_fork(disk_files(), request);
  const SheetContent content = sheet_content(sheet, false);
  // The same by the way that curve goes.
  plunge::Setup held = load_fork_scene(disk_files(), request.fork, request.rider, {}).setup;
  const double as_it_is = sag(assemble(held));
  EXPECT_EQ(row_of(content, "sag").before_value, as_it_is);
  held.fork.spacers = 3.0;
  hold_sag(held, 0.22);
  EXPECT_EQ(row_of(content, "fork.pressure").before_value, 85.0 * kPsi);
  EXPECT_NEAR(row_of(content, "fork.pressure").after_value, held.fork.pressure, 1e-6);
  const Rider rider = assemble(held);
  EXPECT_NEAR(row_of(content, "sag").after_value, 0.22 * 0.15, 1e-8);
  const TravelBand band = sag_band(rider);
  EXPECT_NE(
      row_of(content, "sag")
          .note.find(fmt::format("from {:.0f} to {:.0f} mm", 1e3 * band.least, 1e3 * band.most)),
      std::string::npos);
  for (const Metric& metric : static_metrics(rider, held)) {
    if (metric.name != "pressure_reattached") continue;
    EXPECT_NEAR(row_of(content, metric.name).after_value, metric.value, 1e-3);
  }
  EXPECT_EQ(content.after.travel.back(), held.fork.travel);
  EXPECT_NEAR(content.after.slow.back(), slow_spring_force(rider, held.fork.travel), 1e-6);
  EXPECT_NEAR(content.after.fast.back(), fast_spring_force(rider, sag(rider), held.fork.travel),
              1e-6);
}

TEST(SheetContent, TheSameAirReadsLessInTheColdAndMoreUpTheHill) {
  // By hand: (72 psi + 101325 Pa) 278.15/293.15 - p(1800 m), with p(1800 m) = 81 494 Pa (ISO
  // 2533:1975, table of the standard atmosphere, for geopotential altitude).
  SheetRequest request = request_of();
  request.pressure = "72 psi";
  request.temperature = "20 degC";
  request.altitude = "0 m";
  request.ride_temperature = "5 degC";
  request.ride_altitude = "1800 m";
  const SheetContent content = sheet_content(sheet_of_fork(disk_files(), request), false);
  const double by_hand = (72.0 * kPsi + 101325.0) * 278.15 / 293.15 - 81494.0;
  EXPECT_NEAR(row_of(content, "pressure_ride").after_value, by_hand, 20.0);
  EXPECT_NE(row_of(content, "pressure_ride")
                .label.find("5 \xc2\xb0"
                            "C, 1800 m"),
            std::string::npos);
}

TEST(SheetContent, ItIsPumpedInTheUsualAirAndRiddenWhereItIsPumped) {
  SheetRequest request = request_of();
  request.ride_altitude = "900 m";
  const SheetCase away = sheet_of_fork(disk_files(), request);
  EXPECT_EQ(away.after.pumped.altitude, 0.0);
  EXPECT_EQ(away.after.ambient.altitude, 900.0);
  request = request_of();
  request.altitude = "900 m";
  const SheetCase home = sheet_of_fork(disk_files(), request);
  EXPECT_EQ(home.after.ambient.altitude, 900.0);
  EXPECT_EQ(home.after.ambient.temperature, home.after.pumped.temperature);
}

TEST(SheetContent, TenDegreesColderIsSaidWhereItIsRiddenWhereItIsPumped) {
  const SheetContent content = sheet_content(sheet_of_fork(disk_files(), request_of()), false);
  const plunge::Setup setup = sheet_of_fork(disk_files(), request_of()).after;
  const double warm = setup.ambient.temperature;
  const double air = 101325.0;  // the default altitude is sea level
  ASSERT_EQ(setup.ambient.altitude, 0.0);
  EXPECT_NEAR(row_of(content, "pressure_colder").after_value,
              (85.0 * kPsi + air) * (warm - 10.0) / warm - air, 1e-6);
}

TEST(SheetContent, WhatIsNotKnownBeforeIsLeftFree) {
  const SheetContent content = sheet_content(sheet_of_fork(disk_files(), request_of()), false);
  EXPECT_FALSE(content.has_before);
  EXPECT_EQ(row_of(content, "fork.pressure").before, "");
  EXPECT_TRUE(std::isnan(row_of(content, "fork.pressure").before_value));
  EXPECT_EQ(row_of(content, "fork.pressure").after, "85 psi");
  EXPECT_TRUE(content.before.travel.empty());
}

TEST(SheetContent, CautionsSayLimitsTorqueAndAir) {
  const SheetContent content = sheet_content(sheet_of_fork(disk_files(), request_of()), false);
  for (const char* words :
       {"Eye protection", "all air out", "valve core", "Seal and threads", "maker's manual",
        "24 N·m (invented demo data", "5 spacers", "150 psi (10.34 bar)"}) {
    EXPECT_TRUE(says(content.cautions, words)) << words;
  }
  EXPECT_NE(content.closing.find("no safety certificate"), std::string::npos);
  EXPECT_NE(content.closing.find("qualified mechanic"), std::string::npos);
}

TEST(SheetContent, WithoutAServiceTheTorqueIsALineToFillIn) {
  SheetRequest request = request_of();
  request.fork = "scenarios/forks/bracken-200.toml";
  const SheetContent content = sheet_content(sheet_of_fork(disk_files(), request), true);
  EXPECT_TRUE(says(content.cautions, "............ N·m"));
  EXPECT_EQ(content.tools, "");
  EXPECT_TRUE(content.steps.empty());
  EXPECT_NE(row_of(content, "fork.pressure").after.find(" bar"), std::string::npos);
}

TEST(SheetContent, PredictionsAreTheMostOfTheScenes) {
  SheetRequest request = request_of();
  request.spacers = "3";
  request.scenes = {"scenarios/scenes/square-edge.toml", "scenarios/scenes/drop-to-flat.toml"};
  const SheetCase sheet = sheet_of_fork(disk_files(), request);
  const SheetContent content = sheet_content(sheet, false);
  double most = 0.0;
  for (const SheetScene& scene : sheet.scenes) {
    EXPECT_EQ(scene.before.fork.spacers, 1.0);
    EXPECT_EQ(scene.after.fork.spacers, 3.0);
    for (const Metric& metric : run_ride(scene.after).metrics) {
      if (metric.name == "travel_use") most = std::max(most, metric.value);
    }
  }
  EXPECT_GT(most, 0.5);
  EXPECT_EQ(content.predictions.front().metric, "travel_use");
  EXPECT_EQ(content.predictions.front().after_value, most);
  EXPECT_GT(content.predictions.front().before_value, most);  // spacers make it harder
  // The deepest comes first.
  ASSERT_EQ(content.rings.size(), 2u);
  EXPECT_NEAR(content.rings[0].value, most * 0.15, 1e-12);
  EXPECT_GE(content.rings[0].value, content.rings[1].value);
}

TEST(SheetContent, WhatIsGuessedLeavesABand) {
  MemoryFiles files;
  files.put(
      "fork.toml",
      "type = \"fork\"\nformat = [1, 5]\ntravel = \"140 mm\"\nfamily.stanchion = \"34 mm\"\n");
  files.put("rider.toml",
            "type = \"rider\"\nformat = [1, 0]\nmass = \"82 kg\"\nfront_share = \"40 %\"\n");
  SheetRequest request;
  request.fork = "fork.toml";
  request.rider = "rider.toml";
  request.sag = "22 %";
  const SheetContent content = sheet_content(sheet_of_fork(files, request), false);
  // An engineering estimate is not known to one psi, nor is it off by a hundred.
  const SheetRow& pressure = row_of(content, "fork.pressure");
  EXPECT_LT(pressure.band.low, pressure.after_value - 1.0 * kPsi);
  EXPECT_GT(pressure.band.high, pressure.after_value + 1.0 * kPsi);
  EXPECT_LT(pressure.band.high - pressure.band.low, 100.0 * kPsi);
  EXPECT_GT(row_of(content, "sag").band.high, row_of(content, "sag").after_value);
  EXPECT_NE(content.guesses.find("guessed"), std::string::npos);
  EXPECT_TRUE(says(content.cautions, "a guess: look into the maker's manual"));
  const SheetContent known = sheet_content(sheet_of_fork(disk_files(), request_of()), false);
  EXPECT_FALSE(row_of(known, "fork.pressure").band.known());
  EXPECT_EQ(known.guesses, "");
}

}  // namespace
}  // namespace plunge::sheet_content_test
