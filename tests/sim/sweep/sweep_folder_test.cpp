#include "sim/sweep/sweep_folder.hpp"

#include <gtest/gtest.h>

#include "models/setup/fault.hpp"
#include "sim/sweep/shard_file.hpp"
#include "tests/scratch.hpp"
#include "tests/sweep_plan.hpp"

namespace plunge::sweep_folder_test {
namespace {

namespace fs = std::filesystem;

// The small plan has 30 rides: 8 shards of 4, the last of 2.
constexpr std::size_t kRides = 30;

class SweepFolderTest : public testing::Test {
 protected:
  SweepFolder begin(const std::string& name) { return begin(name, plan_); }
  SweepFolder begin(const std::string& name, const Plan& plan,
                    std::optional<InstructionSet> lanes = InstructionSet::portable) {
    return begin_sweep(plan, directory_ / name, lanes, best_instruction_set());
  }
  const ScratchDirectory directory_;
  const Plan plan_ = small_plan(directory_);
};

TEST_F(SweepFolderTest, ANewFolderHasTheLanesAskedForOrTheBest) {
  EXPECT_EQ(begin("asked").lanes, InstructionSet::portable);
  EXPECT_EQ(begin("best", plan_, std::nullopt).lanes, best_instruction_set());
}

TEST_F(SweepFolderTest, TheLastShardHoldsTheRest) {
  const SweepFolder folder = begin("all");
  EXPECT_EQ(folder.shards, 8u);
  EXPECT_EQ(rides_in(folder, 0), 4u);
  EXPECT_EQ(rides_in(folder, 7), 2u);
}

TEST_F(SweepFolderTest, ShardsAreKnownByTheirNames) {
  const SweepFolder folder = begin("named");
  for (const char* name :
       {"shard-00000002.h5", "shard-2.h5", "shard-00000003.h5.damaged", "shard-00000099.h5"}) {
    std::ofstream(fs::path(folder.path) / name) << "rows";
  }
  std::vector<bool> expected(8);
  expected[2] = true;
  EXPECT_EQ(shards_there(folder), expected);
}

TEST_F(SweepFolderTest, AChangedPlanIsRefusedWithTheDifference) {
  begin("changed");
  const Plan other =
      load_plan(write_small_plan(directory_ / "other.toml", "", "60 psi..85 psi:2.5 psi"));
  const std::string said = complaint([&] { begin("changed", other); });
  EXPECT_NE(said.find("holds a sweep of another plan"), std::string::npos) << said;
  EXPECT_NE(said.find("rides: was 30, is 55"), std::string::npos) << said;
  EXPECT_NE(said.find("fork.pressure: was 60 to 85 psi in steps of 5, is "), std::string::npos)
      << said;
  EXPECT_EQ(said.find("fork.spacers: was"), std::string::npos) << said;
  EXPECT_THROW(begin("changed", other), InputError);
  EXPECT_EQ(plan_of(open_sweep(directory_ / "changed")).size(), kRides);
}

TEST_F(SweepFolderTest, OtherLanesThanTheFolderBeganWithAreRefused) {
  begin("lanes");
  const std::string said = complaint([&] { begin("lanes", plan_, InstructionSet::avx2); });
  EXPECT_NE(said.find("--lanes = avx2: the sweep in "), std::string::npos) << said;
  // Where none are asked for it keeps its own.
  EXPECT_EQ(begin("lanes", plan_, std::nullopt).lanes, InstructionSet::portable);
}

TEST_F(SweepFolderTest, AFolderOfOtherFilesIsRefusedAndStaysAsItIs) {
  fs::create_directory(directory_ / "photos");
  std::ofstream(directory_ / "photos/fork.jpg") << "a fork";
  const std::string said = complaint([&] { begin("photos"); });
  EXPECT_EQ(said, (directory_ / "photos") +
                      ": holds other files and no sweep: name a new or an empty folder");
  EXPECT_EQ(std::distance(fs::directory_iterator(directory_ / "photos"), {}), 1);
  std::ofstream(directory_ / "file") << "a file";
  EXPECT_EQ(complaint([&] { begin("file"); }), (directory_ / "file") + ": is not a folder");
  EXPECT_EQ(complaint([&] { open_sweep(directory_ / "no"); }),
            (directory_ / "no") + ": does not exist");
  EXPECT_EQ(complaint([&] { open_sweep(directory_ / "photos"); }),
            (directory_ / "photos") + ": holds no sweep: there is no resolved-plan.txt");
}

TEST_F(SweepFolderTest, AnotherVersionOfTheResultsIsRefused) {
  begin("old");
  const std::string path = directory_ / "old/resolved-plan.txt";
  std::string text = bytes_of(path);
  const std::string version = std::to_string(kResultsVersion);
  text.replace(text.find("results " + version), 8 + version.size(), "results 0");
  std::ofstream(path, std::ios::binary) << text;
  const std::string said = complaint([&] { begin("old"); });
  EXPECT_NE(said.find("results = 0: this program has results " + version), std::string::npos)
      << said;
  std::ofstream(path, std::ios::binary) << "";
  EXPECT_NE(complaint([&] { begin("old"); }).find("the file is damaged"), std::string::npos);
}

TEST_F(SweepFolderTest, APlanThatChangedSinceIsNotTakenForTheOneThatRan) {
  const Plan plan = load_plan(write_small_plan(directory_ / "mine.toml"));
  begin("mine", plan);
  write_small_plan(directory_ / "mine.toml", "", "60 psi..80 psi:5 psi");
  const std::string said = complaint([&] { plan_of(open_sweep(directory_ / "mine")); });
  EXPECT_NE(said.find("mine.toml has changed since"), std::string::npos) << said;
  EXPECT_NE(said.find("rides: was 30, is 25"), std::string::npos) << said;
}

TEST_F(SweepFolderTest, APlanThatMovedIsFoundAgainWhenItRanFromThere) {
  begin("moved", load_plan(write_small_plan(directory_ / "here.toml")));
  fs::rename(directory_ / "here.toml", directory_ / "there.toml");
  const std::string said = complaint([&] { plan_of(open_sweep(directory_ / "moved")); });
  EXPECT_NE(said.find("its plan was " + (directory_ / "here.toml") + ", which is not there"),
            std::string::npos)
      << said;
  begin("moved", load_plan(directory_ / "there.toml"));
  EXPECT_EQ(plan_of(open_sweep(directory_ / "moved")).size(), kRides);
}

// A process killed before its folder was complete left no resolved plan.
TEST_F(SweepFolderTest, AFolderThatWasOnlyBegunIsTakenUp) {
  fs::create_directories(directory_ / "begun/work");
  std::ofstream(directory_ / "begun/work/locks") << "";
  std::ofstream(directory_ / "begun/plan.toml") << "half";
  EXPECT_EQ(begin("begun").rides, kRides);
  EXPECT_EQ(bytes_of(directory_ / "begun/plan.toml"), bytes_of(plan_.path()));
}

}  // namespace
}  // namespace plunge::sweep_folder_test
