#include "sim/report/ride_bands.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "models/setup/statics.hpp"
#include "sim/input/draws.hpp"
#include "sim/input/settle.hpp"
#include "sim/lanes/many_rides.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/sweep/plan_file.hpp"
#include "sim/text/text_files.hpp"

namespace plunge::ride_bands_test {
namespace {

constexpr char kFork[] = R"(type = "fork"
format = [1, 5]
travel = "150 mm"
pressure = "70 psi"
pressure_limit = "200 psi"
spacer_limit = 4
[air]
main_volume = "185 cm3"
main_area = "7.6 cm2"
negative_volume = "16 cm3"
negative_area = "6.9 cm2"
[friction]
seal = "12 N"
)";
constexpr char kArea[] = R"([known.air]
main_area = {from = "guessed", spread = "5 %", source = "by eye"}
)";
constexpr char kFriction[] = R"([known.friction]
seal = {from = "guessed", spread = "30 %", source = "by hand"}
)";
constexpr char kRider[] = R"(type = "rider"
format = [1, 5]
mass = "80 kg"
front_share = "40 %"
)";
constexpr char kKnownShare[] = R"([known]
front_share = {from = "guessed", spread = "7 %", source = "by eye"}
)";
constexpr char kScene[] = R"(type = "scene"
format = [1, 5]
fork = "fork.toml"
rider = "rider.toml"
[ride]
speed = "20 km/h"
duration = "1 s"
[hold]
sag = "22 %"
[[terrain]]
kind = "flat"
length = "2 m"
[[terrain]]
kind = "bump"
shape = "half_sine"
height = "60 mm"
length = "0.6 m"
[[terrain]]
kind = "flat"
length = "6 m"
)";

ReadyRides under_rider(const std::string& marks, const Wishes& wishes = {},
                       const std::string& rider_marks = "") {
  MemoryFiles files;
  files.put("fork.toml", kFork + marks);
  files.put("rider.toml", kRider + rider_marks);
  files.put("scene.toml", kScene);
  return ready(files, "scene.toml", wishes);
}

std::vector<double> pressure_and_sag_most(const ReadyRide& ride) {
  const Rider rider = assemble(ride.setup);
  double most = kUnset;
  for (const Metric& metric : static_metrics(rider, ride.setup)) {
    if (metric.name == "sag_most") most = metric.value;
  }
  return {ride.setup.fork.pressure, most};
}

RideBands at_rest(const ReadyRides& all, std::size_t draws) {
  BandOptions options;
  options.draws = draws;
  return bands_at_rest(all, {"pressure", "sag_most"}, pressure_and_sag_most, options);
}

double pressure_at(const ReadyRides& all, double area) {
  Setup setup = all.rides.front().setup;
  setup.fork.air.main_area = area;
  setup.hold = all.rides.front().hold;
  EXPECT_TRUE(settle(setup, {}, {}).empty());
  return setup.fork.pressure;
}

// Where one number alone is uncertain and another follows from it monotonically, the percentiles of
// the one are the other's at those of the first: the area at 1.96 spreads of 5 %. Sampling error at
// 2 000 draws: 2.67/sqrt(2 000) = 0.06 spreads, 3 % of half the width; the tolerance is four times
// that.
TEST(RideBands, OneCauseGivesTheBandOfItsPercentiles) {
  const ReadyRides all = under_rider(kArea);
  const RideBands bands = at_rest(all, 2000);
  const OpenNumber& pressure = *bands.rides.front().find("pressure");
  const double area = all.rides.front().setup.fork.air.main_area;
  const double low = pressure_at(all, area * std::exp(1.96 * 0.05));
  const double high = pressure_at(all, area * std::exp(-1.96 * 0.05));
  const double tolerance = 0.12 * 0.5 * (high - low);
  EXPECT_NEAR(pressure.band.low, low, tolerance);
  EXPECT_NEAR(pressure.band.high, high, tolerance);
  EXPECT_EQ(pressure.applies, 1.0);
  ASSERT_EQ(pressure.causes.size(), 1U);
  EXPECT_EQ(pressure.causes[0].words, "bore");
  EXPECT_NEAR(pressure.causes[0].share, 1.0, 1e-6);
}

// Shares against those of slopes by differences, one spread either way: the sag is held, so that
// seal friction does not move the pressure, and the area and the share of weight do; the travel at
// which friction may leave the fork goes with the friction. Sampling error of a share at 1 000
// draws: 2 r (1 - r^2)/sqrt(1 000) < 0.025; the tolerance is three times that.
TEST(RideBands, EachNumberNamesItsOwnCauses) {
  const ReadyRides all = under_rider(std::string(kArea) + kFriction, {}, kKnownShare);
  const auto change = [&](double area, double share) {
    plunge::Setup setup = all.rides.front().setup;
    setup.hold = all.rides.front().hold;
    setup.fork.air.main_area *= std::exp(0.05 * area);
    setup.rider.front_share *= std::exp(0.07 * share);
    EXPECT_TRUE(settle(setup, {}, {}).empty());
    return setup.fork.pressure;
  };
  const double by_area = change(1.0, 0.0) - change(-1.0, 0.0);
  const double by_share = change(0.0, 1.0) - change(0.0, -1.0);
  const double both = by_area * by_area + by_share * by_share;
  const OpenRide ride = at_rest(all, 1000).rides.front();
  EXPECT_EQ(ride.find("sag_most")->causes.front().words, "friction");
  std::vector<BandCause> causes = ride.find("pressure")->causes;
  ASSERT_EQ(causes.size(), 2U);
  EXPECT_GE(causes[0].share, causes[1].share);
  std::ranges::sort(causes, {}, &BandCause::words);
  EXPECT_EQ(causes[0].words, "bore");
  EXPECT_NEAR(causes[0].share, by_area * by_area / both, 0.08);
  EXPECT_EQ(causes[1].words, "share of weight");
  EXPECT_NEAR(causes[1].share, by_share * by_share / both, 0.08);
}

TEST(RideBands, RidesHaveTheSameBitsWhateverTheThreads) {
  const ReadyRides all = under_rider(std::string(kArea) + kFriction);
  BandOptions options;
  options.draws = 100;
  options.watch.threads = 1;
  const RideBands one = *ride_bands(all, {"pressure", "travel_max"}, options);
  options.watch.threads = 3;
  const RideBands three = *ride_bands(all, {"pressure", "travel_max"}, options);
  for (const char* name : {"pressure", "travel_max"}) {
    const OpenNumber& a = *one.rides.front().find(name);
    const OpenNumber& b = *three.rides.front().find(name);
    EXPECT_EQ(a.band.low, b.band.low);
    EXPECT_EQ(a.band.high, b.band.high);
    EXPECT_EQ(a.r, b.r);
    EXPECT_LT(a.band.low, a.band.high);
  }
  // What is read at rest is the same draws.
  BandOptions few;
  few.draws = 100;
  const RideBands rest = bands_at_rest(all, {"pressure", "sag_most"}, pressure_and_sag_most, few);
  EXPECT_NEAR(rest.rides.front().find("pressure")->band.low,
              one.rides.front().find("pressure")->band.low, 1.0);
}

// What --vary turns is as it says.
TEST(RideBands, AVariedNumberIsNotDrawn) {
  Wishes wishes;
  wishes.vary = {"fork.air.main_area=7.4cm2,7.8cm2"};
  const ReadyRides all = under_rider(std::string(kArea) + kFriction, wishes);
  const RideBands bands = at_rest(all, 50);
  ASSERT_EQ(bands.rides.size(), 2U);
  ASSERT_EQ(bands.knowledge.uncertain().size(), 1U);
  for (std::size_t i = 0; i < 2; ++i) {
    const Band band = bands.rides[i].find("pressure")->band;
    EXPECT_NEAR(band.low, all.rides[i].setup.fork.pressure, 1.0);
    EXPECT_NEAR(band.high, all.rides[i].setup.fork.pressure, 1.0);
  }
}

TEST(RideBands, WhatIsKnownRidesNothing) {
  const ReadyRides all = under_rider("");
  EXPECT_FALSE(has_bands(all));
  BandOptions options;
  bool ridden = false;
  options.watch.on_progress = [&](std::size_t, std::size_t) { ridden = true; };
  EXPECT_TRUE(ride_bands(all, {"travel_max"}, options)->empty());
  EXPECT_FALSE(ridden);
}

TEST(RideBands, AStopLeavesNothing) {
  BandOptions options;
  options.watch.stop = [] { return true; };
  EXPECT_FALSE(ride_bands(under_rider(kArea), {"travel_max"}, options).has_value());
}

// A fork whose pressure may be no higher than what the median takes: about half of the draws cannot
// hold the sag, and are counted.
TEST(RideBands, DrawsThatCannotBeRiddenAreCounted) {
  Wishes wishes;
  const ReadyRides usual = under_rider(kArea);
  const double limit = usual.rides.front().setup.fork.pressure * 1.001;
  wishes.set = {"fork.pressure_limit=" + std::to_string(limit) + " Pa"};
  const RideBands bands = at_rest(under_rider(kArea, wishes), 200);
  EXPECT_GT(bands.rides.front().failed, 60U);
  EXPECT_LT(bands.rides.front().failed, 140U);
  EXPECT_FALSE(bands.rides.front().failure.empty());
  EXPECT_LE(bands.rides.front().find("pressure")->band.high, limit);
}

constexpr char kPlan[] = R"(type = "plan"
format = [1, 5]
scenes = ["scene.toml"]
[sample]
file = "fork.toml"
points = 100
[keep]
metrics = ["pressure", "travel_max", "breakaway_force", "hand_force_max"]
)";

// A sweep over what is not known rides what `ride` shows bands of, bit for bit.
TEST(RideBands, APlanDrawsTheSameForks) {
  const std::string marks = std::string(kArea) + kFriction;
  MemoryFiles files;
  files.put("fork.toml", kFork + marks);
  files.put("rider.toml", kRider);
  files.put("scene.toml", kScene);
  files.put("plan.toml", kPlan);
  const Plan plan = load_plan(files, "plan.toml");
  ASSERT_EQ(plan.size(), 100U);
  ASSERT_EQ(plan.sampled().size(), 2U);
  const ReadyRides all = ready(files, "scene.toml");
  const std::vector<ForkDraw> draws =
      draw_forks(all.rides.front().setup, all.knowledge, plan.size(), kBandSeed);
  std::vector<PlannedRide> rides;
  for (std::size_t i = 0; i < plan.size(); ++i) {
    EXPECT_EQ(plan.sample(i), (std::vector<double>{draws[i][0].value, draws[i][1].value}));
    rides.push_back(plan.ride(i));
  }
  const std::vector<RideRow> rows = ManyRides(plan.keep(), best_instruction_set()).ride(rides);
  BandOptions options;
  options.draws = plan.size();
  const RideBands bands = *ride_bands(all, plan.keep().metrics, options);
  for (std::size_t m = 0; m < plan.keep().metrics.size(); ++m) {
    std::vector<double> values;
    for (const RideRow& row : rows) values.push_back(row.metrics[m]);
    const Band band = band_of(values);
    const OpenNumber& open = bands.rides.front().numbers[m];
    EXPECT_EQ(band.low, open.band.low) << open.name;
    EXPECT_EQ(band.high, open.band.high) << open.name;
  }
}

// The fingerprint of a folder follows from the spreads, the medians and the seed.
TEST(RideBands, APlanOfOtherSpreadsIsAnother) {
  const auto resolved = [](const std::string& marks, const std::string& plan) {
    MemoryFiles files;
    files.put("fork.toml", kFork + marks);
    files.put("rider.toml", kRider);
    files.put("scene.toml", kScene);
    files.put("plan.toml", plan);
    return load_plan(files, "plan.toml").resolved();
  };
  const std::string first = resolved(kArea, kPlan);
  std::string wider = kArea;
  wider.replace(wider.find("5 %"), 3, "6 %");
  EXPECT_NE(first, resolved(wider, kPlan));
  std::string seeded = kPlan;
  seeded.replace(seeded.find("points = 100"), 12, "points = 100\nseed = 2");
  EXPECT_NE(first, resolved(kArea, seeded));
  EXPECT_EQ(first, resolved(kArea, kPlan));
}

// What a second spacer count changes is known far better than either number, as the draws are the
// same forks; worked out here from the values that the two variants were read with.
TEST(RideBands, AChangeIsToldForkByFork) {
  Wishes wishes;
  wishes.vary = {"fork.spacers=0,2"};
  const ReadyRides all = under_rider(kArea, wishes);
  std::vector<std::vector<double>> read(2);
  const RideBands bands = bands_at_rest(all, {"pressure"}, [&](const ReadyRide& drawn) {
    read[drawn.setup.fork.spacers > 1.0 ? 1 : 0].push_back(drawn.setup.fork.pressure);
    return std::vector<double>{drawn.setup.fork.pressure};
  });
  ASSERT_EQ(bands.rides.size(), 2u);
  ASSERT_EQ(read[0].size(), read[1].size());
  const OpenNumber& none = *bands.rides[0].find("pressure");
  const OpenNumber& two = *bands.rides[1].find("pressure");
  EXPECT_FALSE(none.change.known());
  std::vector<double> changes;
  for (std::size_t i = 0; i < read[0].size(); ++i) changes.push_back(read[1][i] - read[0][i]);
  const Band expected = band_of(changes);
  EXPECT_EQ(two.change.low, expected.low);
  EXPECT_EQ(two.change.high, expected.high);
  EXPECT_LT(two.change.high, 0.0);  // each spacer asks for less air, whichever fork it is
  EXPECT_LT(two.change.high - two.change.low, 0.2 * (two.band.high - two.band.low));
}

}  // namespace
}  // namespace plunge::ride_bands_test
