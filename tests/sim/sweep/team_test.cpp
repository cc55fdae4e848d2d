#include "sim/sweep/team.hpp"

#include <gtest/gtest.h>

#include <atomic>
#include <stdexcept>
#include <string>
#include <thread>

namespace plunge::team_test {
namespace {

constexpr auto kPause = std::chrono::milliseconds(1);

std::string trouble_of(Team& team, const std::function<void()>& work,
                       const std::function<bool()>& watch) {
  try {
    team.run(3, work, watch, kPause);
  } catch (const std::runtime_error& error) {
    return error.what();
  }
  return "";
}

TEST(Team, EachThreadDoesTheJobOnceWhileThisOneWatches) {
  Team team;
  std::atomic<int> jobs{0};
  const std::thread::id self = std::this_thread::get_id();
  int watched = 0;
  team.run(
      5,
      [&] {
        EXPECT_NE(std::this_thread::get_id(), self);
        ++jobs;
      },
      [&] {
        EXPECT_EQ(std::this_thread::get_id(), self);
        ++watched;
        return false;
      },
      kPause);
  EXPECT_EQ(jobs, 5);
  EXPECT_GE(watched, 1);
  EXPECT_FALSE(team.failed());
}

TEST(Team, ItGoesOnWithoutThreadsAsLongAsTheWatchSays) {
  Team team;
  int left = 4;
  team.run(
      0, [] {}, [&] { return --left > 0; }, kPause);
  EXPECT_EQ(left, 0);
}

TEST(Team, TheFirstTroubleIsThrownWhenAllAreBack) {
  Team team;
  std::atomic<int> back{0};
  std::atomic<bool> first{true};
  const auto work = [&] {
    if (first.exchange(false)) throw std::runtime_error("no room");
    while (!team.failed()) std::this_thread::yield();
    ++back;
  };
  EXPECT_EQ(trouble_of(team, work, [] { return false; }), "no room");
  EXPECT_EQ(back, 2);
}

TEST(Team, TroubleOfTheWatchLetsTheThreadsComeBack) {
  Team team;
  std::atomic<int> back{0};
  const auto work = [&] {
    while (!team.failed()) std::this_thread::yield();
    ++back;
  };
  EXPECT_EQ(trouble_of(team, work, []() -> bool { throw std::runtime_error("folder gone"); }),
            "folder gone");
  EXPECT_EQ(back, 3);
}

}  // namespace
}  // namespace plunge::team_test
