#include "sim/report/ride_to_file.hpp"

#include <gtest/gtest.h>

#include <atomic>

#include "models/setup/fault.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/report/result_file.hpp"
#include "tests/scratch.hpp"

namespace plunge::ride_to_file_test {
namespace {

// Three rides of different length off the loading ramp.
ReadyRides three_rides() {
  Wishes wishes;
  wishes.vary = {"ride.duration=0.3s,0.2s,0.4s"};
  return ready(disk_files(), "scenarios/scenes/drop-to-flat.toml", wishes);
}

TEST(RideToFile, TheFileHoldsWhatRidingInMemoryGives) {
  const ScratchDirectory directory;
  const ReadyRides all = three_rides();
  std::atomic<std::size_t> samples{0};
  RideFileOptions options;
  options.history = "by hand";
  options.on_block = [&](std::size_t, const std::vector<Channel>& block) {
    samples += block.front().values.size();
  };
  const std::vector<Result> told = ride_to_file(directory / "a.h5", all, options);
  const ResultFile read = read_result_file(directory / "a.h5");
  EXPECT_EQ(read.history, "by hand");
  ASSERT_EQ(read.rides.size(), 3u);
  ASSERT_EQ(told.size(), 3u);
  std::size_t all_samples = 0;
  for (std::size_t i = 0; i < 3; ++i) {
    const Result ridden = ride_one(all.rides[i]);
    all_samples += ridden.time.size();
    EXPECT_EQ(read.rides[i].label, ridden.label);
    EXPECT_EQ(read.rides[i].scene_text, ridden.scene_text);
    EXPECT_EQ(read.rides[i].time, ridden.time);
    ASSERT_EQ(read.rides[i].channels.size(), ridden.channels.size());
    for (std::size_t c = 0; c < ridden.channels.size(); ++c) {
      EXPECT_EQ(read.rides[i].channels[c].values, ridden.channels[c].values)
          << ridden.channels[c].name;
    }
    ASSERT_EQ(told[i].metrics.size(), ridden.metrics.size());
    EXPECT_TRUE(told[i].channels.empty());
    for (std::size_t m = 0; m < ridden.metrics.size(); ++m) {
      EXPECT_EQ(told[i].metrics[m].name, ridden.metrics[m].name);
      EXPECT_EQ(told[i].metrics[m].value, ridden.metrics[m].value) << ridden.metrics[m].name;
    }
    EXPECT_EQ(told[i].located.size(), ridden.located.size());
  }
  EXPECT_EQ(samples, all_samples);
  EXPECT_LT(read.rides[1].time.size(), read.rides[2].time.size());
}

TEST(RideToFile, HowManyThreadsRideDoesNotShowInTheBytes) {
  const ScratchDirectory directory;
  for (const std::size_t threads : {1u, 3u}) {
    RideFileOptions options;
    options.watch.threads = threads;
    ride_to_file(directory / std::to_string(threads), three_rides(), options);
  }
  EXPECT_TRUE(bytes_of(directory / "1") == bytes_of(directory / "3"));
}

TEST(RideToFile, AStopKeepsTheRidesThatAreDone) {
  const ScratchDirectory directory;
  RideFileOptions options;
  options.watch.threads = 1;
  int asked = 0;
  options.watch.stop = [&] { return ++asked > 2; };  // before the third ride
  EXPECT_EQ(ride_to_file(directory / "a.h5", three_rides(), options).size(), 2u);
  EXPECT_EQ(read_result_file(directory / "a.h5").rides.size(), 2u);
  options.watch.stop = [] { return true; };
  EXPECT_TRUE(ride_to_file(directory / "b.h5", three_rides(), options).empty());
  EXPECT_EQ(directory.entries(), 1u);
}

TEST(RideToFile, RidesThatDoNotShareTheSamplingTimesAreRefused) {
  const ScratchDirectory directory;
  Wishes wishes;
  wishes.vary = {"ride.sample_rate=1000Hz,500Hz"};
  const ReadyRides all = ready(disk_files(), "scenarios/scenes/drop-to-flat.toml", wishes);
  const std::string message = complaint([&] { ride_to_file(directory / "a.h5", all, {}); });
  EXPECT_EQ(message.find("ride.sample_rate = 500 Hz in "), 0u) << message;
  EXPECT_NE(message.find("must be the same for all rides of one file (1000 Hz in "),
            std::string::npos)
      << message;
  EXPECT_EQ(directory.entries(), 0u);
}

// The braking force becomes not-a-number as the braking begins, 12 m out at 10 m/s, which judge()
// would have refused.
TEST(RideToFile, ARideThatCannotBeFollowedKeepsWhatItHad) {
  const ScratchDirectory directory;
  ReadyRides all = ready(disk_files(), "scenarios/scenes/braking-bumps.toml");
  all.rides.push_back(all.rides.front());
  all.rides.front().setup.events[0].front_share = kUnset;
  const std::vector<Result> told = ride_to_file(directory / "a.h5", all, {});
  const ResultFile read = read_result_file(directory / "a.h5");
  ASSERT_EQ(told.size(), 2u);
  ASSERT_EQ(read.rides.size(), 2u);
  EXPECT_EQ(told[0].failure.substr(0, 6), "at 1.2");
  EXPECT_EQ(read.rides[0].failure, told[0].failure);
  EXPECT_NEAR(read.rides[0].time.back(), 1.2, 0.01);
  const Result ridden = ride_one(all.rides[0]);
  EXPECT_EQ(read.rides[0].time, ridden.time);
  EXPECT_EQ(read.rides[0].channels[7].values, ridden.channels[7].values);
  EXPECT_EQ(read.rides[1].failure, "");
  EXPECT_GT(read.rides[1].time.back(), 2.0);
}

// What a sink says is no failure of the ride.
TEST(RideToFile, WhatTakesTheTracesMayFail) {
  const ScratchDirectory directory;
  RideFileOptions options;
  options.on_block = [](std::size_t, const std::vector<Channel>&) {
    throw RunError("the sink is full");
  };
  EXPECT_EQ(complaint([&] { ride_to_file(directory / "a.h5", three_rides(), options); }),
            "the sink is full");
  EXPECT_EQ(directory.entries(), 0u);
}

}  // namespace
}  // namespace plunge::ride_to_file_test
