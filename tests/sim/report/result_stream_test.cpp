#include "sim/report/result_stream.hpp"

#include <gtest/gtest.h>

#include <cerrno>
#include <cmath>
#include <cstring>
#include <filesystem>
#include <iterator>
#include <stdexcept>
#include <thread>

#include "models/setup/fault.hpp"
#include "sim/disk/hdf5_reader.hpp"
#include "sim/report/result_file.hpp"
#include "tests/scratch.hpp"

namespace plunge::result_stream_test {
namespace {

constexpr std::size_t kSamples = 2 * kTraceBlock + 5;

// Invented rides with two traces; ride i is 3 i samples shorter.
Result ride_of(std::size_t i) {
  Result ride;
  ride.label = "ride " + std::to_string(i);
  ride.scene_text = "# scene " + std::to_string(i) + "\n";
  ride.set = {{"fork.spacers", "1", static_cast<double>(i)}};
  ride.metrics = {{"travel_max", "m", "largest travel", 0.1 + 0.01 * static_cast<double>(i)}};
  ride.located = {{0.1 * static_cast<double>(i), i % 2 == 0 ? "lift_off" : "touch_down"}};
  ride.channels = {{"travel", "m", "fork travel", {}}, {"speed", "m s-1", "speed", {}}};
  for (std::size_t k = 0; k < kSamples - 3 * i; ++k) {
    const auto t = static_cast<double>(k);
    ride.time.push_back(t / 1000.0);
    ride.channels[0].values.push_back(std::sin(1e-3 * t + static_cast<double>(i)));
    ride.channels[1].values.push_back(1.0 / (t + 1.0 + static_cast<double>(i)));
  }
  return ride;
}

std::vector<UsedParameter> parameters_of(std::size_t i) {
  return {{"fork.spacers", "1", "volume spacers", static_cast<double>(i), ""}};
}

class Stream : public testing::Test {
 protected:
  static constexpr std::size_t kRides = 4;

  Stream() {
    ResultFile file;
    file.title = "invented";
    file.history = "by hand";
    for (std::size_t i = 0; i < kRides; ++i) {
      file.rides.push_back(ride_of(i));
      file.parameters.push_back(parameters_of(i));
    }
    write_result_file(directory_ / "whole.h5", file);
    rides_ = file.rides;
  }

  ResultOutline outline(std::size_t most_waiting) const {
    return {"invented", "by hand", kRides, rides_[0].time, rides_[0].channels, most_waiting};
  }

  void pass(ResultStream& stream, std::size_t ride) const {
    const Result& all = rides_[ride];
    for (std::size_t first = 0; first < all.time.size(); first += kTraceBlock) {
      std::vector<Channel> block;
      for (const Channel& channel : all.channels) {
        block.push_back({channel.name, channel.unit, channel.long_name, {}});
        for (std::size_t k = first; k < std::min(first + kTraceBlock, all.time.size()); ++k) {
          block.back().values.push_back(channel.values[k]);
        }
      }
      stream.block(ride, block);
    }
    stream.finish(ride, all);
  }

  void save(ResultStream& stream) const {
    stream.save({[&](std::size_t ride) { return parameters_of(ride); },
                 [](std::size_t) { return std::vector<UsedTable>(); },
                 [&](std::size_t ride) { return rides_[ride].scene_text; }});
  }

  const ScratchDirectory directory_;
  std::vector<Result> rides_;
};

TEST_F(Stream, WhoeverIsFirstTheBytesAreTheSame) {
  const std::string whole = bytes_of(directory_ / "whole.h5");
  const std::string path = directory_ / "a.h5";
  for (const std::size_t most_waiting : {kMostWaiting, std::size_t{0}, std::size_t{150'000}}) {
    ResultStream stream(path, outline(most_waiting));
    for (const std::size_t ride : {3u, 1u, 0u, 2u}) pass(stream, ride);
    save(stream);
    EXPECT_TRUE(bytes_of(path) == whole) << most_waiting;
  }
  for (int round = 0; round < 3; ++round) {
    ResultStream stream(path, outline(0));
    std::vector<std::thread> threads;
    for (std::size_t ride = 0; ride < kRides; ++ride) {
      threads.emplace_back([&, ride] { pass(stream, ride); });
    }
    for (std::thread& thread : threads) thread.join();
    save(stream);
    EXPECT_TRUE(bytes_of(path) == whole);
  }
  EXPECT_EQ(directory_.entries(), 2u);  // no file of those that waited is left
}

// Files that are not named yet are seen only where they are open.
std::size_t open_files() {
  const std::filesystem::directory_iterator open("/proc/self/fd");
  return static_cast<std::size_t>(std::distance(begin(open), end(open)));
}

TEST_F(Stream, WhatWaitsLongIsKeptInAFileBeside) {
  const std::size_t before = open_files();
  ResultStream in_memory(directory_ / "a.h5", outline(kMostWaiting));
  pass(in_memory, 2);
  const std::size_t one = open_files() - before;
  ResultStream in_file(directory_ / "b.h5", outline(0));
  pass(in_file, 2);
  EXPECT_GT(open_files() - before, 2 * one);  // and what waits
}

TEST_F(Stream, RidesUpToTheFirstThatIsNotFinishedAreKept) {
  const std::string path = directory_ / "a.h5";
  {
    ResultStream stream(path, outline(kMostWaiting));
    for (const std::size_t ride : {3u, 1u, 0u}) pass(stream, ride);
    EXPECT_EQ(stream.finished(), 2u);
    save(stream);
  }
  const ResultFile read = read_result_file(path);
  ASSERT_EQ(read.rides.size(), 2u);
  for (std::size_t i = 0; i < 2; ++i) {
    EXPECT_EQ(read.rides[i].label, rides_[i].label);
    EXPECT_EQ(read.rides[i].time, rides_[i].time);
    EXPECT_EQ(read.rides[i].channels[1].values, rides_[i].channels[1].values);
  }
  const Hdf5Reader reader(path);
  EXPECT_EQ(reader.shape("/ride"), (std::vector<std::size_t>{2}));
  EXPECT_EQ(reader.shape("/travel"), (std::vector<std::size_t>{2, kSamples}));
}

TEST_F(Stream, AFileThatIsNotSavedLeavesNothing) {
  const std::size_t before = directory_.entries();
  {
    ResultStream stream(directory_ / "a.h5", outline(0));
    pass(stream, 1);
    EXPECT_THROW(save(stream), std::invalid_argument);  // ride 0 is missing
  }
  EXPECT_EQ(directory_.entries(), before);
}

TEST_F(Stream, BlocksThatAreNotAsTheOutlineSaysAreRefused) {
  ResultStream stream(directory_ / "a.h5", outline(0));
  const auto refused = [&](std::size_t ride, const std::vector<Channel>& block) {
    EXPECT_THROW(stream.block(ride, block), std::invalid_argument);
  };
  const std::vector<double> some(10, 1.0);
  refused(kRides, {{"travel", "m", "", some}, {"speed", "m s-1", "", some}});
  refused(0, {{"travel", "m", "", some}});
  refused(0, {{"travel", "m", "", some}, {"force", "N", "", some}});
  refused(0, {{"travel", "m", "", some}, {"speed", "m s-1", "", {1.0}}});
  const std::vector<double> more(kTraceBlock + 1, 1.0);
  refused(0, {{"travel", "m", "", more}, {"speed", "m s-1", "", more}});
  stream.block(0, {{"travel", "m", "", some}, {"speed", "m s-1", "", some}});
  refused(0, {{"travel", "m", "", some}, {"speed", "m s-1", "", some}});  // after a last block
}

// By hand: 4 rides of 2 traces of 32 773 samples are 2.1 MB of doubles.
TEST_F(Stream, ADiskWithoutRoomForAllTracesIsRefusedWithTheNumbers) {
  const ScratchDirectory small;
  const SmallDisk disk(small.path());
  if (!disk.mounted()) GTEST_SKIP() << "cannot mount a small disk: " << std::strerror(errno);
  const std::string message = complaint([&] { ResultStream stream(small / "a.h5", outline(0)); });
  EXPECT_EQ(message.find("cannot write " + (small / "a.h5") + ": it would take up to 3."), 0u)
      << message;
  EXPECT_NE(message.find(" MB, and 65.5 kB are free on its disk"), std::string::npos) << message;
  EXPECT_EQ(small.entries(), 0u);
}

}  // namespace
}  // namespace plunge::result_stream_test
