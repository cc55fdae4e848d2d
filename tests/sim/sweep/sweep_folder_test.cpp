#include "sim/sweep/sweep_folder.hpp"

#include <gtest/gtest.h>

#include "models/setup/fault.hpp"
#include "sim/sweep/build_identity.hpp"
#include "sim/sweep/kept_files.hpp"
#include "sim/sweep/shard_file.hpp"
#include "sim/sweep/sweep.hpp"
#include "tests/other_build.hpp"
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
  EXPECT_EQ(
      said,
      (directory_ / "photos") +
          ": holds other files and no sweep, such as fork.jpg: name a new or an empty folder");
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

TEST_F(SweepFolderTest, CountsThatCannotBeAreDamage) {
  begin("counts");
  const std::string path = directory_ / "counts/resolved-plan.txt";
  const std::string text = bytes_of(path);
  const std::pair<std::string, std::string> changes[] = {
      {"rides 30", "rides -1"},         {"rides 30", "rides 1000000000000"},
      {"rides 30", "rides 0"},          {"rides 30", "rides 31"},
      {"rides 30", "rides 30x"},        {"rides 30", "rides 99999999999999999999999"},
      {"rides 30", "rides "},           {"shard_size 4", "shard_size 0"},
      {"shard_size 4", "shard_size 1"}, {"shard_size 4", "shard_size -4"}};
  for (const auto& [from, to] : changes) {
    std::string changed = text;
    ASSERT_NE(changed.find(from), std::string::npos);
    changed.replace(changed.find(from), from.size(), to);
    std::ofstream(path, std::ios::binary) << changed;
    EXPECT_THROW(open_sweep(directory_ / "counts"), InputError);
    EXPECT_NE(complaint([&] { open_sweep(directory_ / "counts"); }).find("the file is damaged"),
              std::string::npos)
        << to;
  }
  std::ofstream(path, std::ios::binary) << text;
  EXPECT_EQ(open_sweep(directory_ / "counts").rides, kRides);
}

TEST_F(SweepFolderTest, APlanThatChangedSinceIsNotTakenForTheOneThatRan) {
  const Plan plan = load_plan(write_small_plan(directory_ / "mine.toml"));
  begin("mine", plan);
  write_small_plan(directory_ / "mine.toml", "", "60 psi..80 psi:5 psi");
  EXPECT_EQ(plan_of(open_sweep(directory_ / "mine")).resolved(), plan.resolved());
  const std::string said = complaint([&] { begin("mine", load_plan(directory_ / "mine.toml")); });
  EXPECT_NE(said.find("rides: was 30, is 25"), std::string::npos) << said;
}

// A plan beside its scene, fork and rider, which are then gone.
TEST_F(SweepFolderTest, AFolderNeedsNothingOutsideItself) {
  fs::create_directory(directory_ / "tree");
  for (const char* kind : {"scenes", "forks", "riders", "bikes", "terrain"}) {
    fs::copy(std::string("scenarios/") + kind, directory_ / ("tree/" + std::string(kind)),
             fs::copy_options::recursive);
  }
  fs::create_directory(directory_ / "tree/plans");
  std::ofstream(directory_ / "tree/plans/own.toml")
      << "type = \"plan\"\nformat = [1, 0]\nscenes = [\"../scenes/rock-garden.toml\"]\n"
         "[set]\n\"ride.duration\" = \"0.2 s\"\n[[axis]]\nname = \"rider\"\n"
         "values = [\"../riders/alder.toml\", \"../riders/wren.toml\"]\n[sweep]\nshard = 1\n";
  const Plan plan = load_plan(directory_ / "tree/plans/own.toml");
  EXPECT_GE(plan.texts().size(), 7u) << "plan, scene, fork, bike, two riders, terrain, profile";
  begin("own", plan);
  fs::remove_all(directory_ / "tree");
  fs::rename(directory_ / "own", directory_ / "moved");
  const SweepFolder folder = open_sweep(directory_ / "moved");
  const Plan kept = plan_of(folder);
  EXPECT_EQ(kept.resolved(), plan.resolved());
  EXPECT_EQ(kept.ride(1).setup.rider.mass, plan.ride(1).setup.rider.mass);
  SweepOptions options;
  options.folder = folder.path;
  EXPECT_EQ(run_sweep(kept, options).ridden, 2u);
  EXPECT_EQ(bytes_of(folder.path + "/plan.toml"), plan.texts().front().second);
}

TEST_F(SweepFolderTest, KeptFilesThatWereChangedAreRefused) {
  begin("touched");
  for (const auto& entry : fs::directory_iterator(directory_ / "touched/files")) {
    if (!entry.path().filename().string().starts_with("drop-to-flat")) continue;
    std::string text = bytes_of(entry.path().string());
    const std::size_t at = text.find("speed = \"");
    ASSERT_NE(at, std::string::npos) << text;
    text.insert(at + 9, "1");
    std::ofstream(entry.path(), std::ios::binary) << text;
    break;
  }
  const std::string said = complaint([&] { plan_of(open_sweep(directory_ / "touched")); });
  EXPECT_NE(said.find("the files in its folder files/ have changed"), std::string::npos) << said;
  EXPECT_NE(said.find("ride.speed: was"), std::string::npos) << said;
}

TEST_F(SweepFolderTest, AnotherBuildIsRefusedWithBoth) {
  begin("built");
  pretend_another_build(directory_ / "built");
  const std::string said = complaint([&] { begin("built"); });
  EXPECT_NE(said.find("was begun by another build of plunge"), std::string::npos) << said;
  EXPECT_NE(said.find(std::string("that build: ") + kOtherBuild), std::string::npos) << said;
  EXPECT_NE(said.find("this build: " + build_identity()), std::string::npos) << said;
  // To look at it and to merge it any build will do.
  const SweepFolder folder = open_sweep(directory_ / "built");
  EXPECT_EQ(folder.build, kOtherBuild);
  EXPECT_NE(folder.fingerprint, fingerprint_of(plan_, folder.lanes));
  EXPECT_EQ(plan_of(folder).size(), kRides);
}

TEST_F(SweepFolderTest, ALinkInTheFolderIsRefusedAndNotFollowed) {
  fs::create_directories(directory_ / "outside/work");
  for (const char* name :
       {"plan.toml", "plan-path.txt", "resolved-plan.txt", "work", "work/locks", "work/tallies"}) {
    fs::remove_all(directory_ / "linked");
    begin("linked");
    const std::string outside = (directory_ / "outside/") + name;
    const std::string inside = (directory_ / "linked/") + name;
    if (!fs::is_directory(outside)) std::ofstream(outside) << "mine";
    fs::remove_all(inside);
    fs::create_symlink(outside, inside);
    const std::string rule =
        inside + ": is a link, and links are not followed in the folder of a sweep";
    EXPECT_EQ(complaint([&] { begin("linked"); }), rule);
    EXPECT_EQ(complaint([&] { open_sweep(directory_ / "linked"); }), rule);
    if (!fs::is_directory(outside)) {
      EXPECT_EQ(bytes_of(outside), "mine");
    }
  }
  EXPECT_EQ(std::distance(fs::directory_iterator(directory_ / "outside/work"), {}), 2);
  // A link to the folder itself is the caller's own choice.
  fs::remove_all(directory_ / "linked");
  fs::create_directory_symlink("outside/elsewhere", directory_ / "linked");
  fs::create_directory(directory_ / "outside/elsewhere");
  EXPECT_EQ(begin("linked").rides, kRides);
}

TEST_F(SweepFolderTest, TheFolderOfThePlanIsRefusedWhereItsCopyWouldGoOverIt) {
  fs::create_directory(directory_ / "own");
  const Plan plan = load_plan(write_small_plan(directory_ / "own/plan.toml"));
  EXPECT_EQ(complaint([&] { begin("own", plan); }),
            (directory_ / "own") +
                ": is where the plan itself is, and its copy would go over it: name another "
                "folder");
  EXPECT_EQ(std::distance(fs::directory_iterator(directory_ / "own"), {}), 1);
}

// A process killed before its folder was complete left no resolved plan.
TEST_F(SweepFolderTest, AFolderThatWasOnlyBegunIsTakenUp) {
  begin("whole");
  const std::string last = "resolved-plan.txt";
  // In the order in which they are written; the last of them is lost first.
  std::vector<std::string> names = {"work/locks", "plan.toml"};
  for (const auto& [name, bytes] : kept_files_for(plan_.texts())) names.push_back("files/" + name);
  names.insert(names.end(), {"plan-path.txt", last});
  const std::string begun = directory_ / "begun";
  for (std::size_t written = 0; written < names.size(); ++written) {
    fs::remove_all(begun);
    fs::create_directories(begun + "/work");
    fs::create_directories(begun + "/files");
    for (std::size_t k = 0; k < written; ++k) {
      fs::copy_file(fs::path(directory_ / "whole") / names[k], fs::path(begun) / names[k]);
    }
    std::ofstream(begun + "/.plunge-1-0.part") << "half";
    std::ofstream(begun + "/files/.plunge-1-1.part") << "half";
    EXPECT_EQ(complaint([&] { begin("begun"); }), "") << written;
    for (const std::string& name : names) {
      EXPECT_EQ(bytes_of(begun + "/" + name), bytes_of((directory_ / "whole/") + name)) << name;
    }
  }
}

TEST_F(SweepFolderTest, FilesOfTheUserThatHaveItsNamesAreRefusedAndStayAsTheyAre) {
  const SweepFolder other = begin("other");
  const std::string mine = directory_ / "mine";
  for (const std::string name :
       {"plan.toml", "plan-path.txt", "files/index.txt", "files/hazel.toml", "work/tallies",
        "work/locks", "work/worker-0.txt", "files/more/plan.toml", ".plunge-notes.part",
        ".plunge-notes"}) {
    fs::remove_all(mine);
    fs::create_directories(fs::path(mine + "/" + name).parent_path());
    std::ofstream(mine + "/" + name) << "mine";
    const std::string rule = mine + ": holds other files and no sweep, such as ";
    const std::string end = ": name a new or an empty folder";
    const std::string named = name.starts_with("files/more") ? "files/more" : name;
    EXPECT_EQ(complaint([&] { begin("mine"); }), rule + named + end);
    EXPECT_EQ(complaint([&] { begin_same(other, plan_, mine); }), rule + named + end);
    EXPECT_EQ(bytes_of(mine + "/" + name), "mine");
    EXPECT_FALSE(fs::exists(mine + "/resolved-plan.txt"));
    EXPECT_EQ(std::distance(fs::directory_iterator(mine), {}), 1) << name;
  }
}

}  // namespace
}  // namespace plunge::sweep_folder_test
