#include "sim/sweep/sweep.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <regex>
#include <thread>

#include "models/setup/fault.hpp"
#include "sim/sweep/shard_file.hpp"
#include "tests/as_nobody.hpp"
#include "tests/scratch.hpp"
#include "tests/sweep_plan.hpp"

namespace plunge::sweep_test {
namespace {

namespace fs = std::filesystem;

// The small plan has 30 rides: 8 shards of 4, the last of 2.
constexpr std::size_t kRides = 30;
constexpr std::size_t kShards = 8;

class Sweep : public testing::Test {
 protected:
  SweepState sweep(const std::string& name, std::size_t threads = 2, std::size_t part = 0,
                   std::size_t parts = 1) {
    SweepOptions options = into(name);
    options.threads = threads;
    options.part = part;
    options.parts = parts;
    return run_sweep(plan_, options);
  }
  SweepOptions into(const std::string& name) {
    SweepOptions options;
    options.folder = directory_ / name;
    options.threads = 2;
    options.lanes = InstructionSet::portable;
    return options;
  }
  // What one thread made without any trouble.
  const std::map<std::string, std::string>& expected() {
    if (expected_.empty()) {
      EXPECT_EQ(sweep("expected", 1).rides_done, kRides);
      expected_ = shards_in(directory_ / "expected");
      EXPECT_EQ(expected_.size(), kShards);
    }
    return expected_;
  }
  const ScratchDirectory directory_;
  const Plan plan_ = small_plan(directory_);
  std::map<std::string, std::string> expected_;
};

TEST_F(Sweep, ResultsAreTheSameWhateverTheNumberOfThreads) {
  for (const std::size_t threads : {2u, 5u, 16u}) {
    const std::string name = std::to_string(threads);
    const SweepState state = sweep(name, threads);
    EXPECT_EQ(state.shards_done, kShards);
    EXPECT_EQ(state.ridden, kRides);
    EXPECT_FALSE(state.interrupted);
    EXPECT_EQ(shards_in(directory_ / name), expected()) << threads;
  }
}

TEST_F(Sweep, ARowIsThatOfTheRideWithItsNumber) {
  sweep("all");
  const SweepFolder folder = open_sweep(directory_ / "all");
  ManyRides alone(plan_.keep(), folder.lanes);
  const Shard shard = read_shard(shard_path(folder, 7), plan_, folder.fingerprint);
  ASSERT_EQ(shard.rows.size(), 2u);
  const std::vector<PlannedRide> last{plan_.ride(kRides - 1)};
  EXPECT_EQ(shard.rows[1].metrics, alone.ride(last)[0].metrics);
  EXPECT_NE(shard.rows[0].metrics, shard.rows[1].metrics);
}

TEST_F(Sweep, TheFolderSaysWhatItHolds) {
  sweep("all");
  const SweepFolder folder = open_sweep(directory_ / "all");
  EXPECT_EQ(folder.rides, kRides);
  EXPECT_EQ(folder.shards, kShards);
  EXPECT_EQ(folder.fingerprint, fingerprint_of(plan_, InstructionSet::portable));
  EXPECT_NE(folder.fingerprint, fingerprint_of(plan_, InstructionSet::avx2));
  EXPECT_EQ(plan_of(folder).size(), kRides);
  EXPECT_EQ(bytes_of(directory_ / "all/plan.toml"), bytes_of(plan_.path()));
  const SweepState state = sweep_state(folder);
  EXPECT_EQ(state.rides_done, kRides);
  EXPECT_EQ(state.shards_done, kShards);
  EXPECT_TRUE(state.workers.empty());
  // Nothing of the workers is left but the locks and the tallies.
  const fs::directory_iterator work(directory_ / "all/work");
  EXPECT_EQ(std::distance(work, fs::directory_iterator()), 2);
}

TEST_F(Sweep, GoesOnWhereItStopped) {
  SweepOptions options = into("stopped");
  options.threads = 1;
  int asked = 0;
  options.finish = [&] { return ++asked > 3; };
  const SweepState before = run_sweep(plan_, options);
  EXPECT_TRUE(before.interrupted);
  EXPECT_GT(before.shards_done, 0u);
  EXPECT_LT(before.shards_done, kShards);
  EXPECT_EQ(sweep_state(open_sweep(options.folder)).rides_done, before.rides_done);

  const SweepState after = sweep("stopped");
  EXPECT_FALSE(after.interrupted);
  EXPECT_EQ(after.rides_done, kRides);
  EXPECT_EQ(after.ridden, kRides - before.rides_done);
  EXPECT_EQ(shards_in(options.folder), expected());
  EXPECT_EQ(sweep("stopped").ridden, 0u);
}

// One shard of 600 rides: a stop that waited for its end would ride them all.
TEST_F(Sweep, AStopIsHeardInsideAShardWhichIsDropped) {
  const auto one_shard = [&](const std::string& name) {
    std::ofstream(directory_ / name) << std::regex_replace(
        bytes_of(write_small_plan(directory_ / "text.toml", "", "60 psi..89.75 psi:0.25 psi")),
        std::regex("shard = 4"), "shard = 1000");
    return load_plan(directory_ / name);
  };
  const Plan plan = one_shard("one.toml");
  ASSERT_EQ(plan.size(), 600u);
  ASSERT_EQ(plan.shards(), 1u);
  SweepOptions options = into("dropped");
  options.threads = 1;
  // How often it is asked in all, from a run that is left alone.
  std::size_t asked = 0;
  options.stop = [&] {
    ++asked;
    return false;
  };
  EXPECT_EQ(run_sweep(plan, options).ridden, 600u);
  const auto whole = shards_in(options.folder);
  const std::size_t in_all = asked;
  EXPECT_GT(in_all, 2 * 600u) << "when a ride is made and when it is prepared";
  for (const std::size_t when : {std::size_t{3}, in_all / 4, in_all / 2, in_all - 20}) {
    fs::remove(fs::path(options.folder) / shard_name(0));
    asked = 0;
    std::size_t after = 0;
    options.stop = [&] {
      after += asked >= when ? 1 : 0;
      return ++asked > when;
    };
    const SweepState state = run_sweep(plan, options);
    EXPECT_TRUE(state.interrupted) << when;
    EXPECT_EQ(state.ridden, 0u) << when;
    EXPECT_LE(after, 1u) << when << ": nothing is ridden that would ask again";
    EXPECT_TRUE(shards_in(options.folder).empty()) << when;
  }
  options.stop = nullptr;
  EXPECT_EQ(run_sweep(plan, options).ridden, 600u);
  EXPECT_EQ(shards_in(options.folder), whole);
}

TEST_F(Sweep, NoDecisionLooksAtAClock) {
  sweep("clock");
  const std::string folder = directory_ / "clock";
  fs::remove(fs::path(folder) / shard_name(3));
  const auto now = fs::file_time_type::clock::now();
  int k = 0;
  for (const auto& entry : fs::recursive_directory_iterator(folder)) {
    fs::last_write_time(entry, now + std::chrono::hours(24 * 365 * (++k % 2 == 0 ? 10 : -10)));
  }
  EXPECT_EQ(sweep("clock").ridden, 4u);
  EXPECT_EQ(shards_in(folder), expected());
}

TEST_F(Sweep, AShardThatIsALinkIsSetAsideAndNothingOutsideChanges) {
  sweep("linked");
  const std::string folder = directory_ / "linked";
  const std::string shard = (fs::path(folder) / shard_name(2)).string();
  const std::string outside = directory_ / "good.h5";
  fs::rename(shard, outside);  // a good one, but elsewhere
  fs::create_symlink(outside, shard);
  const std::string bytes = bytes_of(outside);
  const SweepState state = sweep("linked");
  ASSERT_EQ(state.damaged.size(), 1u);
  EXPECT_NE(state.damaged[0].find("is a link, and links are not followed"), std::string::npos)
      << state.damaged[0];
  EXPECT_EQ(state.ridden, 4u);
  EXPECT_FALSE(fs::is_symlink(shard));
  EXPECT_TRUE(fs::is_symlink(shard + ".damaged"));
  EXPECT_EQ(bytes_of(outside), bytes);
  EXPECT_EQ(bytes_of(shard), bytes);
}

TEST_F(Sweep, DamagedShardsAreNamedSetAsideAndDoneAgain) {
  sweep("damaged");
  const std::string folder = directory_ / "damaged";
  const auto path = [&](std::size_t number) {
    return (fs::path(folder) / shard_name(number)).string();
  };
  std::string bytes = bytes_of(path(1));
  bytes[bytes.size() / 2] ^= 0x10;
  std::ofstream(path(1), std::ios::binary) << bytes;
  fs::resize_file(path(3), fs::file_size(path(3)) - 1);
  fs::resize_file(path(4), 0);
  fs::copy_file(path(5), path(6), fs::copy_options::overwrite_existing);
  fs::remove(path(7));
  fs::create_directory(path(7));

  const SweepState state = sweep("damaged");
  EXPECT_EQ(state.ridden, 4u * 4 + 2);
  EXPECT_EQ(state.rides_done, kRides);
  ASSERT_EQ(state.damaged.size(), 5u);
  std::vector<std::string> said = state.damaged;
  std::ranges::sort(said);
  EXPECT_EQ(said[0], path(1) +
                         ": is damaged: its check sum differs; set aside as "
                         "shard-00000001.h5.damaged, its rides are ridden again");
  EXPECT_NE(said[2].find("check sum is incomplete"), std::string::npos);
  EXPECT_NE(said[3].find("shard = 5: must be 6"), std::string::npos);
  EXPECT_EQ(bytes_of(path(1) + ".damaged"), bytes);
  for (const char* kind : {".damaged"}) {
    for (const std::size_t number : {1u, 3u, 4u, 6u, 7u}) fs::remove(path(number) + kind);
  }
  EXPECT_EQ(shards_in(folder), expected());

  // Twice in a row: the first one that was set aside stays too.
  fs::resize_file(path(3), 10);
  sweep("damaged");
  fs::resize_file(path(3), 20);
  sweep("damaged");
  EXPECT_EQ(fs::file_size(path(3) + ".damaged"), 10u);
  EXPECT_EQ(fs::file_size(path(3) + ".damaged-2"), 20u);
}

// Gives all that a folder holds to everybody.
void open_to_all(const fs::path& folder, fs::perms of_files, fs::perms of_folders) {
  for (const auto& entry : fs::recursive_directory_iterator(folder)) {
    fs::permissions(entry.path(), entry.is_directory() ? of_folders : of_files);
  }
  fs::permissions(folder, of_folders);
}

TEST_F(Sweep, AShardThatCannotBeReadStopsItAndIsNotTakenForDamaged) {
  sweep("closed");
  const std::string folder = directory_ / "closed";
  const std::string shard = folder + "/" + shard_name(2);
  const std::map<std::string, std::string> before = shards_in(folder);
  open_to_all(directory_.path(), fs::perms::all, fs::perms::all);
  fs::permissions(shard, fs::perms::none);
  {
    const AsNobody nobody;
    EXPECT_EQ(complaint([&] { sweep("closed"); }), shard + ": cannot be read: Permission denied");
    EXPECT_THROW(sweep("closed"), RunError);
  }
  fs::permissions(shard, fs::perms::owner_all);
  EXPECT_EQ(shards_in(folder), before);
  EXPECT_FALSE(fs::exists(shard + ".damaged"));
  EXPECT_EQ(sweep("closed").ridden, 0u);
}

TEST_F(Sweep, AFinishedOneInAFolderThatCannotBeWrittenIsFinished) {
  sweep("done");
  sweep("part", 2, 0, 2);
  const auto reading = fs::perms::owner_read | fs::perms::group_read | fs::perms::others_read;
  const auto looking =
      reading | fs::perms::owner_exec | fs::perms::group_exec | fs::perms::others_exec;
  fs::permissions(directory_.path(), fs::perms::all);
  for (const char* name : {"done", "part"}) open_to_all(directory_ / name, reading, looking);
  {
    const AsNobody nobody;
    const SweepState state = sweep("done");
    EXPECT_FALSE(state.interrupted);
    EXPECT_EQ(state.rides_done, kRides);
    EXPECT_EQ(state.shards_done, kShards);
    EXPECT_EQ(state.ridden, 0u);
    EXPECT_EQ(sweep("part", 2, 0, 2).shards_done, kShards / 2);
    EXPECT_THROW(sweep("part", 2, 1, 2), RunError);
  }
  for (const char* name : {"done", "part"}) {
    open_to_all(directory_ / name, fs::perms::all, fs::perms::all);
  }
}

TEST_F(Sweep, TwoAtOnceShareTheWork) {
  SweepState one;
  std::thread other([&] { one = sweep("shared", 2); });
  const SweepState two = sweep("shared", 3);
  other.join();
  EXPECT_EQ(one.rides_done, kRides);
  EXPECT_EQ(two.rides_done, kRides);
  EXPECT_EQ(one.ridden + two.ridden, kRides);  // no ride twice
  EXPECT_EQ(shards_in(directory_ / "shared"), expected());
  EXPECT_TRUE(one.damaged.empty() && two.damaged.empty());
}

TEST_F(Sweep, OfTwoPlansThatBeginAFolderAtOnceOneIsRefused) {
  const Plan other = load_plan(write_small_plan(directory_ / "other.toml", "", "60 psi, 61 psi"));
  for (int k = 0; k < 10; ++k) {
    const std::string name = "raced" + std::to_string(k);
    std::string said;
    std::thread rival([&] { said = complaint([&] { run_sweep(other, into(name)); }); });
    const std::string answer = complaint([&] { run_sweep(plan_, into(name)); });
    rival.join();
    EXPECT_NE(said.empty(), answer.empty());
    EXPECT_NE((said + answer).find("holds a sweep of another plan"), std::string::npos)
        << said << answer;
    EXPECT_EQ(plan_of(open_sweep(directory_ / name)).size(), answer.empty() ? kRides : 10u);
  }
}

TEST_F(Sweep, ADamagedShardThatTwoFindIsDoneAgainOnce) {
  sweep("both");
  for (const std::size_t number : {0u, 2u, 5u}) {
    fs::resize_file(fs::path(directory_ / "both") / shard_name(number), 100);
  }
  SweepState one;
  std::thread other([&] { one = sweep("both", 2); });
  const SweepState two = sweep("both", 2);
  other.join();
  EXPECT_EQ(one.rides_done + two.rides_done, 2 * kRides);
  EXPECT_EQ(one.damaged.size() + two.damaged.size(), 3u);
  EXPECT_EQ(one.ridden + two.ridden, 3u * 4);
  std::map<std::string, std::string> shards = shards_in(directory_ / "both");
  std::erase_if(shards, [](const auto& shard) { return shard.first.ends_with(".damaged"); });
  EXPECT_EQ(shards, expected());
}

TEST_F(Sweep, PartsOfAJobArrayMakeTheWhole) {
  std::size_t ridden = 0;
  for (std::size_t part = 0; part < 3; ++part) {
    const SweepState state = sweep("parts", 2, part, 3);
    EXPECT_FALSE(state.interrupted);
    EXPECT_EQ(state.rides_done, state.rides);
    ridden += state.ridden;
    EXPECT_EQ(sweep_state(open_sweep(directory_ / "parts")).rides_done, ridden);
  }
  EXPECT_EQ(ridden, kRides);
  EXPECT_EQ(shards_in(directory_ / "parts"), expected());
}

TEST_F(Sweep, APartPastTheLastShardHasNothingToDo) {
  const SweepState state = sweep("many", 2, 40, 50);
  EXPECT_EQ(state.rides, 0u);
  EXPECT_FALSE(state.interrupted);
}

// The fork bears 110 psi at most (its file); by hand: 2 of 4 pressures are past it, for each of 5
// spacer counts.
TEST_F(Sweep, FailedRidesAreRowsWithAReason) {
  const Plan plan =
      load_plan(write_small_plan(directory_ / "hard.toml", "", "70 psi, 80 psi, 300 psi, 310 psi"));
  const SweepState state = run_sweep(plan, into("hard"));
  EXPECT_EQ(state.rides_done, 20u);
  EXPECT_EQ(state.failed, 10u);
  ASSERT_EQ(state.reasons.size(), 1u);  // they differ in their numbers only
  EXPECT_EQ(state.reasons[0].rides, 10u);
  EXPECT_EQ(state.reasons[0].ride, 2u);
  EXPECT_NE(state.reasons[0].text.find("fork.pressure"), std::string::npos);
  // As told again from the shards, with the tallies lost or not.
  fs::remove(directory_ / "hard/work/tallies");
  EXPECT_EQ(sweep_state(open_sweep(directory_ / "hard")).failed, 0u);
  const SweepState again = run_sweep(plan, into("hard"));
  EXPECT_EQ(again.ridden, 0u);
  EXPECT_EQ(again.failed, 10u);
  EXPECT_EQ(again.redone, state.redone);
  ASSERT_EQ(again.reasons.size(), 1u);
  EXPECT_EQ(again.reasons[0].ride, 2u);
  EXPECT_EQ(sweep_state(open_sweep(directory_ / "hard")).failed, 10u);
}

TEST_F(Sweep, WhatKilledProcessesLeftIsSweptUp) {
  sweep("left");
  const fs::path folder = directory_ / "left";
  const fs::path half = folder / ".plunge-12345-0.part";
  const fs::path line = folder / "work" / ".plunge-12345-1.part";
  const fs::path worker = folder / "work" / "worker-0.txt";
  std::ofstream(half) << "half a shard";
  std::ofstream(line) << "half a line";
  std::ofstream(worker) << "host far\nprocess 1\nrides 3\nrate 2\n";
  EXPECT_TRUE(sweep_state(open_sweep(folder)).workers.empty());  // it holds no lock
  sweep("left");
  for (const fs::path& path : {half, line, worker}) EXPECT_FALSE(fs::exists(path)) << path;
}

TEST_F(Sweep, AFullDiskStopsItAndKeepsWhatIsDone) {
  fs::create_directory(directory_ / "disk");
  const SmallDisk disk(directory_ / "disk");
  if (!disk.mounted()) GTEST_SKIP() << "no right to mount";
  const std::string said = complaint([&] { sweep("disk/out"); });
  EXPECT_NE(said.find("No space left on device"), std::string::npos) << said;
  const auto some = shards_in(directory_ / "disk/out");
  EXPECT_GT(some.size(), 0u);
  EXPECT_LT(some.size(), kShards);
  for (const auto& [name, sum] : some) EXPECT_EQ(sum, expected().at(name)) << name;
  for (const auto& entry : fs::recursive_directory_iterator(directory_ / "disk")) {
    EXPECT_NE(entry.path().extension(), ".part");
  }
  // Room is made: here, by moving the folder to a larger disk.
  fs::copy(directory_ / "disk/out", directory_ / "moved", fs::copy_options::recursive);
  EXPECT_EQ(sweep("moved").ridden,
            kRides - sweep_state(open_sweep(directory_ / "disk/out")).rides_done);
  EXPECT_EQ(shards_in(directory_ / "moved"), expected());
}

TEST_F(Sweep, ProgressOnlyGrowsToTheEnd) {
  SweepOptions options = into("watched");
  std::size_t before = 0;
  options.on_progress = [&](const SweepState& state) {
    EXPECT_EQ(state.rides, kRides);
    EXPECT_GE(state.rides_done, before);
    before = state.rides_done;
  };
  EXPECT_GE(run_sweep(plan_, options).rides_done, before);
}

}  // namespace
}  // namespace plunge::sweep_test
