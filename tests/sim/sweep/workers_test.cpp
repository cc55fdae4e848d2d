#include "sim/sweep/workers.hpp"

#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <memory>

#include "tests/scratch.hpp"

namespace plunge::workers_test {
namespace {

class Workers : public testing::Test {
 protected:
  const ScratchDirectory directory_;
  const bool made_ = std::filesystem::create_directory(directory_ / "work");
  const std::string folder_ = directory_.path().string();
  Claims claims_{folder_, ByteLocks::For::taking};
};

TEST_F(Workers, ANoteIsSeenByOthersWhileItsPlaceIsHeld) {
  const std::size_t place = claims_.take_place();
  const Claims other(folder_, ByteLocks::For::looking);
  {
    WorkerNote note(folder_, place);
    note.say(12, 3.5);
    const std::vector<SweepWorker> seen = running_workers(folder_, other, std::nullopt);
    ASSERT_EQ(seen.size(), 1u);
    EXPECT_EQ(seen[0].host, host_name());
    EXPECT_EQ(seen[0].process, std::to_string(::getpid()));
    EXPECT_EQ(seen[0].rides, 12u);
    EXPECT_EQ(seen[0].rate, 3.5);
    EXPECT_TRUE(running_workers(folder_, other, place).empty());  // but for oneself
  }
  EXPECT_FALSE(std::filesystem::exists(directory_ / "work/worker-0.txt"));
}

TEST_F(Workers, ANoteThatNobodyHoldsIsPassedOver) {
  std::ofstream(directory_ / "work/worker-3.txt") << "host far\nprocess 1\nrides 3\nrate 2\n";
  EXPECT_TRUE(running_workers(folder_, claims_, std::nullopt).empty());
}

TEST_F(Workers, ANoteThatIsALinkIsNeitherReadNorWrittenThrough) {
  const std::size_t place = claims_.take_place();
  const Claims other(folder_, ByteLocks::For::looking);
  WorkerNote note(folder_, place);
  const std::string mine = "host far\nprocess 1\n";
  std::ofstream(directory_ / "mine") << mine;
  std::filesystem::create_symlink("../mine", directory_ / "work/worker-0.txt");
  ASSERT_EQ(place, 0u);
  EXPECT_TRUE(running_workers(folder_, other, std::nullopt).empty());
  note.say(12, 3.5);
  EXPECT_NE(complaint([&] { note.begin(); }).find("it is a link"), std::string::npos);
  EXPECT_EQ(bytes_of(directory_ / "mine"), mine);
}

TEST_F(Workers, WorkersAreListedByHostAndProcess) {
  const std::vector<std::string> hosts = {"oak", "ash", "elm"};
  std::vector<std::unique_ptr<Claims>> others;
  for (std::size_t i = 0; i < hosts.size(); ++i) {
    others.push_back(std::make_unique<Claims>(folder_, ByteLocks::For::taking));
    ASSERT_EQ(others.back()->take_place(), i);
    std::ofstream(directory_ / ("work/worker-" + std::to_string(i) + ".txt"))
        << "host " << hosts[i] << "\nprocess 7\n";
  }
  const std::vector<SweepWorker> seen = running_workers(folder_, claims_, std::nullopt);
  ASSERT_EQ(seen.size(), 3u);
  EXPECT_EQ(seen[0].host, "ash");
  EXPECT_EQ(seen[1].host, "elm");
  EXPECT_EQ(seen[2].host, "oak");
}

// Another folder of the same name has no note, or one of another process.
TEST_F(Workers, AMarkTellsTheFolderFromAnotherOfItsName) {
  const WorkerNote note(folder_, claims_.take_place());
  EXPECT_FALSE(sees_mark(folder_, note.mark()));
  note.begin();
  EXPECT_TRUE(sees_mark(folder_, note.mark()));
  const ScratchDirectory elsewhere;
  EXPECT_FALSE(sees_mark(elsewhere.path().string(), note.mark()));
  std::filesystem::create_directory(elsewhere / "work");
  std::ofstream(elsewhere / "work/worker-0.txt") << "host far\nprocess 1\n";
  EXPECT_FALSE(sees_mark(elsewhere.path().string(), note.mark()));
  EXPECT_FALSE(sees_mark(folder_, ""));
}

TEST_F(Workers, AFolderThatIsGoneStopsABeginningButNoReport) {
  WorkerNote note((directory_ / "gone"), 0);
  EXPECT_NO_THROW(note.say(1, 1.0));
  EXPECT_ANY_THROW(note.begin());
}

}  // namespace
}  // namespace plunge::workers_test
