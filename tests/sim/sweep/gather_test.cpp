#include "sim/sweep/gather.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "models/setup/fault.hpp"
#include "sim/sweep/merge.hpp"
#include "sim/sweep/sweep.hpp"
#include "tests/other_build.hpp"
#include "tests/scratch.hpp"
#include "tests/sweep_plan.hpp"

namespace plunge::gather_test {
namespace {

namespace fs = std::filesystem;

// The small plan has 30 rides: 8 shards of 4, the last of 2.
constexpr std::size_t kShards = 8;

class Gather : public testing::Test {
 protected:
  void ride(const std::string& name, std::size_t part, std::size_t parts,
            InstructionSet lanes = InstructionSet::portable) {
    SweepOptions options;
    options.folder = directory_ / name;
    options.threads = 2;
    options.lanes = lanes;
    options.part = part;
    options.parts = parts;
    run_sweep(plan_, options);
  }
  // As on three machines.
  void ride_parts() {
    for (std::size_t part = 0; part < 3; ++part) ride("part" + std::to_string(part), part, 3);
  }
  GatherReport gather(const std::string& name, const std::vector<std::string>& from) {
    std::vector<std::string> paths;
    for (const std::string& each : from) paths.push_back(directory_ / each);
    return gather_sweep(directory_ / name, paths, options_);
  }
  std::string merged(const std::string& name) {
    const SweepFolder folder = open_sweep(directory_ / name);
    merge_sweep(folder, plan_of(folder), directory_ / (name + ".h5"));
    return bytes_of(directory_ / (name + ".h5"));
  }
  const ScratchDirectory directory_;
  const Plan plan_ = small_plan(directory_);
  GatherOptions options_;
};

TEST_F(Gather, PartsOfManyMachinesMergeToTheBytesOfOne) {
  ride("alone", 0, 1);
  ride_parts();
  const GatherReport report = gather("all", {"part0", "part1", "part2"});
  EXPECT_EQ(report.copied, kShards);
  EXPECT_EQ(report.shards_done, kShards);
  EXPECT_EQ(report.rides_done, 30u);
  EXPECT_TRUE(report.refused.empty());
  EXPECT_EQ(shards_in(directory_ / "all"), shards_in(directory_ / "alone"));
  EXPECT_EQ(merged("all"), merged("alone"));
  // And its status is known.
  const SweepState state = sweep_state(open_sweep(directory_ / "all"));
  EXPECT_EQ(state.redone, sweep_state(open_sweep(directory_ / "alone")).redone);
}

TEST_F(Gather, PartsOverlapAreRepeatedAndHalfDone) {
  ride("alone", 0, 1);
  ride_parts();
  fs::remove(directory_ / "part1/shard-00000004.h5");
  EXPECT_EQ(gather("all", {"part0"}).copied, 3u);
  GatherReport report = gather("all", {"part0", "part1", "part1"});
  EXPECT_EQ(report.copied, 2u);
  EXPECT_EQ(report.shards_done, 5u);
  EXPECT_EQ(gather("all", {"part2", "part0"}).copied, 2u);
  // The one that is missing is ridden where all was gathered.
  SweepOptions options;
  options.folder = directory_ / "all";
  EXPECT_EQ(run_sweep(plan_of(open_sweep(options.folder)), options).ridden, 4u);
  EXPECT_EQ(shards_in(directory_ / "all"), shards_in(directory_ / "alone"));
  EXPECT_EQ(gather("all", {"alone"}).copied, 0u);
}

TEST_F(Gather, WhatDoesNotBelongIsNamedAndTheRestGoesOn) {
  ride_parts();
  const Plan other = load_plan(write_small_plan(directory_ / "other.toml", "", "60 psi, 61 psi"));
  SweepOptions options;
  options.folder = directory_ / "other";
  options.lanes = InstructionSet::portable;
  run_sweep(other, options);
  begin_sweep(plan_, directory_ / "wide", best_instruction_set(), best_instruction_set());
  pretend_another_build(directory_ / "part2");
  std::string bytes = bytes_of(directory_ / "part0/shard-00000003.h5");
  bytes[bytes.size() / 2] ^= 1;
  std::ofstream(directory_ / "part0/shard-00000003.h5", std::ios::binary) << bytes;
  fs::rename(directory_ / "part0/shard-00000006.h5", directory_ / "far.h5");
  fs::create_symlink(directory_ / "far.h5", directory_ / "part0/shard-00000006.h5");
  fs::create_directory(directory_ / "empty");
  const GatherReport report =
      gather("all", {"part0", "other", "wide", "part2", "empty", "nowhere", "all", "part1"});
  EXPECT_EQ(report.copied, 1u + 3u);
  const auto said = [&](const std::string& words) {
    return std::ranges::any_of(report.refused, [&](const std::string& text) {
      return text.find(words) != std::string::npos;
    });
  };
  EXPECT_TRUE(said("part0/shard-00000003.h5: is damaged: its check sum differs"));
  EXPECT_TRUE(said("part0/shard-00000006.h5: is not a regular file"));
  EXPECT_TRUE(said("other: holds a sweep of another plan than " + (directory_ / "all")));
  EXPECT_TRUE(said("part2: was ridden by another build of plunge"));
  EXPECT_TRUE(said("that build: plunge 9.9.9"));
  EXPECT_TRUE(said("empty: holds no sweep"));
  EXPECT_TRUE(said("nowhere: does not exist"));
  EXPECT_TRUE(said("all: is the folder to gather into"));
  const bool two_sets = best_instruction_set() != InstructionSet::portable;
  EXPECT_EQ(said("wide: was ridden with lanes"), two_sets);
  EXPECT_EQ(report.refused.size(), two_sets ? 8u : 7u);
}

TEST_F(Gather, NothingToGatherBeginsNoFolder) {
  fs::create_directory(directory_ / "empty");
  const std::string said = complaint([&] { gather("all", {"empty", "nowhere"}); });
  EXPECT_NE(said.find("all: is not begun: there is nothing to gather"), std::string::npos) << said;
  EXPECT_NE(said.find("empty: holds no sweep"), std::string::npos) << said;
  EXPECT_FALSE(fs::exists(directory_ / "all"));
}

TEST_F(Gather, AFolderOfOtherFilesIsLeftAsItIs) {
  ride_parts();
  fs::create_directory(directory_ / "photos");
  std::ofstream(directory_ / "photos/fork.jpg") << "a fork";
  EXPECT_NE(complaint([&] { gather("photos", {"part0"}); }).find("holds other files and no sweep"),
            std::string::npos);
  EXPECT_EQ(std::distance(fs::directory_iterator(directory_ / "photos"), {}), 1);
}

TEST_F(Gather, AStopIsHeardBetweenShardsAndKeepsWhatIsCopied) {
  ride_parts();
  std::size_t asked = 0;
  std::size_t seen = 0;
  options_.stop = [&] { return ++asked > 4; };
  options_.on_progress = [&](std::size_t looked_at, std::size_t all) {
    EXPECT_GE(looked_at, seen);
    EXPECT_EQ(all, 3 * kShards);
    seen = looked_at;
  };
  const GatherReport report = gather("all", {"part0", "part1", "part2"});
  EXPECT_TRUE(report.stopped);
  EXPECT_EQ(report.copied, 4u);
  EXPECT_EQ(asked, 5u);
  options_ = {};
  EXPECT_EQ(gather("all", {"part0", "part1", "part2"}).copied, 4u);
}

// A build that merges and gathers need not be the one that rode.
TEST_F(Gather, SweepsOfAnotherBuildAreGatheredAndMergedTogether) {
  ride_parts();
  for (const char* part : {"part0", "part1", "part2"}) pretend_another_build(directory_ / part);
  EXPECT_EQ(gather("all", {"part0", "part1", "part2"}).copied, kShards);
  EXPECT_FALSE(merged("all").empty());
  SweepOptions options;
  options.folder = directory_ / "all";
  EXPECT_NE(complaint([&] { run_sweep(plan_, options); }).find("was begun by another build"),
            std::string::npos);
}

}  // namespace
}  // namespace plunge::gather_test
