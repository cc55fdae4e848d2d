#include "sim/sweep/ride_many.hpp"

#include <fmt/core.h>
#include <gtest/gtest.h>

#include <atomic>
#include <stdexcept>
#include <vector>

#include "sim/disk/disk_files.hpp"
#include "sim/measure/metrics.hpp"

namespace plunge::ride_many_test {
namespace {

// The first tenth of a second off the loading ramp, by pressures.
std::vector<ReadyRide> short_rides(int count) {
  Wishes wishes;
  wishes.set = {"ride.duration=0.1 s"};
  // From 60 psi on; 150 of them end at 134.5 psi, within the fork's limit.
  wishes.vary = {fmt::format("fork.pressure=60psi..{}psi:0.5psi", 60.0 + 0.5 * (count - 1))};
  wishes.hold = "pressure";
  return ready(disk_files(), "scenarios/scenes/drop-to-flat.toml", wishes).rides;
}

const Keep kTravel{{"travel_max"}, {}, kUnset};

TEST(RideMany, ResultsComeInTheOrderOfTheRidesWhateverTheThreads) {
  const std::vector<ReadyRide> rides = short_rides(5);
  RideWatch alone;
  alone.threads = 1;
  RideWatch three;
  three.threads = 3;
  const auto one = ride_all(rides, alone);
  const auto many = ride_all(rides, three);
  ASSERT_EQ(many.size(), 5U);
  for (std::size_t i = 0; i < rides.size(); ++i) {
    ASSERT_TRUE(one[i] && many[i]);
    EXPECT_EQ(many[i]->label, rides[i].label);
    EXPECT_EQ(many[i]->channels[0].values, one[i]->channels[0].values);
  }
}

// Lanes agree with the adaptive path within 0.1 mm (many_rides.hpp), whatever the threads.
TEST(RideMany, LanesRideTheSame) {
  const std::vector<ReadyRide> rides = short_rides(150);
  RideWatch alone;
  alone.threads = 1;
  RideWatch two;
  two.threads = 2;
  const auto one = ride_in_lanes(rides, kTravel, alone);
  const auto many = ride_in_lanes(rides, kTravel, two);
  ASSERT_EQ(one.size(), rides.size());
  for (std::size_t i = 0; i < rides.size(); ++i) {
    ASSERT_TRUE(one[i] && many[i]);
    EXPECT_EQ(one[i]->failure, "");
    EXPECT_EQ(one[i]->metrics, many[i]->metrics);
  }
  const Result result = ride_one(rides[77]);
  for (const Metric& metric : result.metrics) {
    if (metric.name != "travel_max") continue;
    EXPECT_NEAR(one[77]->metrics[0], metric.value, 1e-4);
  }
  EXPECT_NE(one[0]->metrics, one[149]->metrics);
}

TEST(RideMany, ProgressIsHeardAndStopIsObeyed) {
  const std::vector<ReadyRide> rides = short_rides(6);
  RideWatch watch;
  watch.threads = 1;
  std::vector<std::size_t> heard;
  watch.on_progress = [&](std::size_t ridden, std::size_t all) {
    EXPECT_EQ(all, 6U);
    heard.push_back(ridden);
  };
  ride_all(rides, watch);
  EXPECT_EQ(heard, (std::vector<std::size_t>{1, 2, 3, 4, 5, 6}));
  heard.clear();
  watch.stop = [&] { return heard.size() == 2; };
  const auto results = ride_all(rides, watch);
  EXPECT_TRUE(results[0] && results[1]);
  for (std::size_t i = 2; i < 6; ++i) EXPECT_FALSE(results[i]);
  const auto none = ride_in_lanes(rides, kTravel, watch);  // stops before the first
  EXPECT_FALSE(none[0]);
}

TEST(RideMany, TroubleOfOneEndsTheOthersAndIsThrownOn) {
  const std::vector<ReadyRide> rides = short_rides(6);
  RideWatch watch;
  watch.threads = 2;
  std::atomic<int> heard{0};
  watch.on_progress = [&](std::size_t, std::size_t) {
    ++heard;
    throw std::runtime_error("enough");
  };
  EXPECT_THROW(ride_all(rides, watch), std::runtime_error);
  EXPECT_LE(heard, 2);
  EXPECT_TRUE(ride_all({}, watch).empty());
  EXPECT_THROW(ride_in_lanes(rides, Keep{{"no such metric"}, {}, kUnset}), std::invalid_argument);
}

}  // namespace
}  // namespace plunge::ride_many_test
