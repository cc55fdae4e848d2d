#include "sim/sweep/hand_out.hpp"

#include <gtest/gtest.h>

#include <atomic>
#include <deque>
#include <filesystem>
#include <functional>
#include <map>
#include <mutex>
#include <thread>

#include "models/setup/fault.hpp"
#include "tests/sweep_plan.hpp"

namespace plunge::hand_out_test {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t kRides = 30;  // of the small plan, in 8 shards
constexpr std::size_t kShards = 8;

// Letters between threads. What the leader sends can be changed on its way.
class Office {
 public:
  explicit Office(int processes) : boxes_(static_cast<std::size_t>(processes)) {}

  class Desk : public Post {
   public:
    Desk(Office& office, int number) : office_(office), number_(number) {}
    int processes() const override { return static_cast<int>(office_.boxes_.size()); }
    void send(int to, const std::string& text) override { office_.send(number_, to, text); }
    std::optional<Letter> receive() override { return office_.receive(number_); }

   private:
    Office& office_;
    int number_;
  };

  std::function<std::string(int to, const std::string& text)> change;
  std::map<int, int> shards_given;  // to whom how many

 private:
  void send(int from, int to, const std::string& text) {
    const std::lock_guard lock(mutex_);
    if (text.starts_with("ride ")) ++shards_given[to];
    boxes_[static_cast<std::size_t>(to)].push_back(
        {from, from == 0 && change ? change(to, text) : text});
  }
  std::optional<Post::Letter> receive(int number) {
    const std::lock_guard lock(mutex_);
    std::deque<Post::Letter>& box = boxes_[static_cast<std::size_t>(number)];
    if (box.empty()) return std::nullopt;
    Post::Letter letter = box.front();
    box.pop_front();
    return letter;
  }

  std::mutex mutex_;
  std::vector<std::deque<Post::Letter>> boxes_;
};

class HandOutTest : public testing::Test {
 protected:
  SweepOptions into(const std::string& name) {
    SweepOptions options;
    options.folder = directory_ / name;
    options.lanes = InstructionSet::portable;
    options.threads = 1;
    return options;
  }
  // Rides a plan with a leader and riders in threads.
  SweepState led(const SweepOptions& options, Office& office, int processes) {
    return led(plan_, options, office, processes);
  }
  SweepState led(const Plan& plan, const SweepOptions& options, Office& office, int processes) {
    std::vector<std::thread> riders;
    for (int i = 1; i < processes; ++i) {
      riders.emplace_back([&office, i] {
        Office::Desk desk(office, i);
        ride_for_leader(desk);
      });
    }
    Office::Desk desk(office, 0);
    const auto end = [&] {
      end_riders(desk);
      for (std::thread& rider : riders) rider.join();
    };
    try {
      SweepState state = lead_sweep(plan, options, desk);
      end();
      return state;
    } catch (...) {
      end();
      throw;
    }
  }
  const ScratchDirectory directory_;
  const Plan plan_ = small_plan(directory_);
};

TEST_F(HandOutTest, AnyNumberOfRidersMakesTheSameBytes) {
  run_sweep(plan_, into("alone"));
  const auto expected = shards_in(directory_ / "alone");
  ASSERT_EQ(expected.size(), kShards);
  for (const int processes : {1, 2, 4, 12}) {
    Office office(processes);
    const SweepState state = led(into("led"), office, processes);
    EXPECT_EQ(state.rides_done, kRides);
    EXPECT_EQ(state.ridden, kRides);
    EXPECT_FALSE(state.interrupted);
    EXPECT_EQ(shards_in(directory_ / "led"), expected) << processes;
    EXPECT_EQ(office.shards_given.empty(), processes == 1);
    fs::remove_all(directory_ / "led");
  }
}

TEST_F(HandOutTest, OnlyWhatIsMissingIsHandedOut) {
  run_sweep(plan_, into("out"));
  const auto expected = shards_in(directory_ / "out");
  fs::remove(directory_ / "out/shard-00000003.h5");
  fs::remove(directory_ / "out/shard-00000007.h5");
  Office office(3);
  EXPECT_EQ(led(into("out"), office, 3).ridden, 4u + 2u);
  EXPECT_EQ(shards_in(directory_ / "out"), expected);
  Office idle(3);
  EXPECT_EQ(led(into("out"), idle, 3).ridden, 0u);
  EXPECT_TRUE(idle.shards_given.empty());
}

TEST_F(HandOutTest, AnInterruptLetsRidersFinishAndKeepsWhatTheyHave) {
  SweepOptions options = into("out");
  Office office(3);
  // The leader stops as soon as something was handed out.
  std::atomic<bool> stop{false};
  office.change = [&](int, const std::string& text) {
    if (text.starts_with("ride ")) stop = true;
    return text;
  };
  options.finish = [&] { return stop.load(); };
  const SweepState state = led(options, office, 3);
  EXPECT_TRUE(state.interrupted);
  EXPECT_GT(state.rides_done, 0u);
  EXPECT_LT(state.rides_done, kRides);
  EXPECT_EQ(shards_in(directory_ / "out").size(), state.shards_done);
}

TEST_F(HandOutTest, AStopReachesRidersInsideTheirShards) {
  // Every process would ride a shard of 300 rides to its end.
  std::string text =
      bytes_of(write_small_plan(directory_ / "large.toml", "", "60 psi..89.75 psi:0.25 psi"));
  text.replace(text.find("shard = 4"), 9, "shard = 300");
  std::ofstream(directory_ / "large.toml") << text;
  const Plan plan = load_plan(directory_ / "large.toml");
  ASSERT_EQ(plan.shards(), 2u);
  SweepOptions options = into("out");
  std::atomic<bool> stop{false};
  Office office(3);
  office.change = [&](int, const std::string& letter) {
    if (letter.starts_with("ride ")) stop = true;
    return letter;
  };
  options.stop = [&] { return stop.load(); };
  const SweepState state = led(plan, options, office, 3);
  EXPECT_FALSE(office.shards_given.empty());
  EXPECT_TRUE(state.interrupted);
  EXPECT_EQ(state.rides_done, 0u);
  EXPECT_TRUE(shards_in(options.folder).empty());
  Office calm(3);
  EXPECT_EQ(led(plan, into("out"), calm, 3).rides_done, 600u);
}

TEST_F(HandOutTest, ReasonsOfFailedRidesComeWithTheLetters) {
  // Past 85 psi comes 180 psi, which the fork does not take: 5 rides.
  const Plan plan = load_plan(
      write_small_plan(directory_ / "failing.toml", "", "60 psi, 70 psi, 80 psi, 180 psi"));
  std::map<std::string, std::size_t> counts[2];
  for (const int processes : {1, 4}) {
    Office office(processes);
    const SweepState state = led(plan, into(processes == 1 ? "one" : "four"), office, processes);
    EXPECT_EQ(state.failed, 5u);
    for (const SweepReason& reason : state.reasons) {
      counts[processes == 1 ? 0 : 1][reason.text] = reason.rides;
    }
  }
  EXPECT_FALSE(counts[0].empty());
  EXPECT_EQ(counts[0], counts[1]);
}

TEST_F(HandOutTest, ARiderThatSeesAnotherFolderOfTheNameIsFoundOut) {
  // Its host has a whole sweep of the same plan under another name; only the mark is not there.
  run_sweep(plan_, into("elsewhere"));
  for (int k = 0; k < 4; ++k) {
    fs::remove(directory_ / ("elsewhere/shard-0000000" + std::to_string(k) + ".h5"));
  }
  const auto before = shards_in(directory_ / "elsewhere");
  Office office(3);
  office.change = [&](int to, const std::string& text) {
    return to == 2 && text.starts_with("folder ") ? "folder " + (directory_ / "elsewhere") : text;
  };
  try {
    led(into("out"), office, 3);
    FAIL() << "it was taken for the same";
  } catch (const RunError& error) {
    EXPECT_NE(std::string(error.what()).find("must be on a file system that all hosts share"),
              std::string::npos)
        << error.what();
  }
  EXPECT_EQ(shards_in(directory_ / "elsewhere"), before);
}

TEST_F(HandOutTest, ManyRidersInTheSameTroubleAreToldOnce) {
  SweepOptions options = into("out");
  Office office(4);
  office.change = [&](int, const std::string& text) {
    return text.starts_with("folder ") ? "folder " + (directory_ / "nowhere") : text;
  };
  try {
    led(options, office, 4);
    FAIL() << "it went on";
  } catch (const RunError& error) {
    const std::string said = error.what();
    const std::size_t first = said.find("nowhere");
    ASSERT_NE(first, std::string::npos) << said;
    EXPECT_EQ(said.find("nowhere", first + 1), std::string::npos) << said;
  }
  // What the leader itself rode meanwhile is whole, and a run without trouble goes on from there.
  Office calm(4);
  EXPECT_EQ(led(options, calm, 4).rides_done, kRides);
}

}  // namespace
}  // namespace plunge::hand_out_test
