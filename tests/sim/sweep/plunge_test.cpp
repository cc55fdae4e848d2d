// plunge as a library, from the one header that its users include: no file, no printing.
#include "sim/sweep/plunge.hpp"

#include <gtest/gtest.h>

#include <cstddef>
#include <string>
#include <vector>

namespace {

// Files as a page or a program hands them over.
constexpr char kFork[] = R"(type = "fork"
format = [1, 0]
name = "reed 150"
travel = "150 mm"
spacer_limit = 5
pressure_limit = "150 psi"
air = {main_volume = "198 cm3", main_area = "7.5 cm2", negative_volume = "15 cm3", negative_area = "6.7 cm2"}
)";

constexpr char kScene[] = R"(type = "scene"
format = [1, 0]
name = "off a step"
fork = "../forks/reed.toml"
rider = {mass = "80 kg"}
ride = {speed = "5 m/s", duration = "1 s"}
hold = {sag = "35 mm"}

[[terrain]]
kind = "flat"
length = "2 m"

[[terrain]]
kind = "drop"
height = "30 cm"

[[terrain]]
kind = "flat"
length = "4 m"
)";

plunge::MemoryFiles tree() {
  plunge::MemoryFiles files;
  files.put("forks/reed.toml", kFork);
  files.put("scenes/step.toml", kScene);
  return files;
}

double travel_max(const plunge::Result& result) {
  for (const plunge::Metric& metric : result.metrics) {
    if (metric.name == "travel_max") return metric.value;
  }
  ADD_FAILURE() << "no travel_max";
  return 0.0;
}

TEST(Library, LoadReadyRideRead) {
  const plunge::ReadyRides all = plunge::ready(tree(), "scenes/step.toml");
  std::vector<std::size_t> heard;
  plunge::RideWatch watch;
  watch.on_progress = [&](std::size_t ridden, std::size_t) { heard.push_back(ridden); };
  watch.stop = [] { return false; };
  const auto results = plunge::ride_all(all.rides, watch);
  ASSERT_TRUE(results.front());
  EXPECT_EQ(results.front()->failure, "");
  EXPECT_EQ(results.front()->label, "off a step");
  EXPECT_EQ(heard, std::vector<std::size_t>{1});
  // It lands on flat ground: deeper than the sag, at most the travel and what metal gives.
  EXPECT_GT(travel_max(*results.front()), 0.035);
  EXPECT_LT(travel_max(*results.front()), 0.153);
}

TEST(Library, FromTextWithWishesIntoLanes) {
  plunge::Wishes wishes;
  wishes.vary = {"fork.spacers=0..4"};
  wishes.hold = "sag=22%";
  const auto all = plunge::ready_text(tree(), kScene, "a text", wishes, "scenes");
  ASSERT_EQ(all.rides.size(), 5U);
  const auto rows = plunge::ride_in_lanes(all.rides, {{"travel_max"}, {}, plunge::kUnset});
  // At equal sag more spacers make a fork ramp up, so that it dives less.
  for (std::size_t i = 0; i < 5; ++i) {
    ASSERT_TRUE(rows[i]);
    EXPECT_EQ(rows[i]->failure, "");
    EXPECT_NEAR(rows[i]->metrics[0], travel_max(plunge::ride_one(all.rides[i])), 1e-4);
    if (i == 0) continue;
    EXPECT_LT(rows[i]->metrics[0], rows[i - 1]->metrics[0]);
  }
}

TEST(Library, NumbersAreTurnedByName) {
  plunge::ReadyRide ride = plunge::ready(tree(), "scenes/step.toml").rides.front();
  const plunge::Knob height = plunge::find_knob(ride.setup, "terrain[1].height");
  EXPECT_EQ(height.get(ride.setup), 0.3);
  const double before = travel_max(plunge::ride_one(ride));
  height.put(ride.setup, 0.15);
  EXPECT_LT(travel_max(plunge::ride_one(ride)), before);
}

TEST(Library, WhatIsWrongComesBackWithItsPlace) {
  plunge::MemoryFiles files = tree();
  std::string fork = kFork;
  fork.replace(fork.find("150 mm"), 6, "150");
  files.put("forks/reed.toml", fork);
  try {
    plunge::ready(files, "scenes/step.toml");
    FAIL();
  } catch (const plunge::InputError& error) {
    ASSERT_EQ(error.faults().size(), 1U);
    EXPECT_EQ(error.faults()[0].place.file, "forks/reed.toml");
    EXPECT_EQ(error.faults()[0].place.line, 4);
    EXPECT_EQ(error.faults()[0].key, "fork.travel");
  }
}

}  // namespace
