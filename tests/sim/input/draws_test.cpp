#include "sim/input/draws.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "models/setup/judge.hpp"
#include "tests/fork_at_bench.hpp"

namespace plunge::draws_test {
namespace {

// Covariance of the logarithms over 20 000 draws against that of the family at a quarter of its
// spread, where every draw is a fork; a sampled covariance is off by about C sqrt(2/n), the
// tolerance is five times that.
TEST(Draws, LogarithmsHaveTheJointSpread) {
  BegunFork fork = family_fork();
  for (std::size_t i = 0; i < fork.knowledge.size(); ++i) {
    for (std::size_t j = 0; j <= i; ++j) {
      fork.knowledge.set_covariance(i, j, fork.knowledge.covariance(i, j) / 16.0);
    }
  }
  constexpr std::size_t kCount = 20'000;
  const std::vector<ForkDraw> draws = draw_forks(fork.setup, fork.knowledge, kCount, 7);
  const std::vector<std::size_t> places = fork.knowledge.uncertain();
  ASSERT_EQ(draws.front().size(), places.size());
  for (std::size_t i = 0; i < places.size(); ++i) {
    for (std::size_t j = 0; j <= i; ++j) {
      double sum = 0.0;
      for (const ForkDraw& draw : draws) {
        const auto log_of = [&](std::size_t k) {
          return std::log(draw[k].value / draw[k].knob.get(fork.setup));
        };
        sum += log_of(i) * log_of(j);
      }
      const double scale = fork.knowledge.spread(places[i]) * fork.knowledge.spread(places[j]);
      EXPECT_NEAR(sum / kCount, fork.knowledge.covariance(places[i], places[j]), 0.05 * scale)
          << draws.front()[i].knob.name << " " << draws.front()[j].knob.name;
    }
  }
}

TEST(Draws, FollowFromTheSeedAndTheirNumberAlone) {
  const BegunFork fork = family_fork();
  const auto few = draw_forks(fork.setup, fork.knowledge, 3, 11);
  const auto many = draw_forks(fork.setup, fork.knowledge, 50, 11);
  const auto others = draw_forks(fork.setup, fork.knowledge, 3, 12);
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t k = 0; k < few[i].size(); ++k) {
      EXPECT_EQ(few[i][k].value, many[i][k].value);
      EXPECT_NE(few[i][k].value, others[i][k].value);
    }
  }
}

TEST(Draws, EveryOneIsAFork) {
  const BegunFork fork = family_fork();
  for (const ForkDraw& draw : draw_forks(fork.setup, fork.knowledge, 500, 3)) {
    plunge::Setup drawn = fork.setup;
    put(drawn, draw);
    EXPECT_TRUE(judge(drawn.fork).empty());
  }
}

TEST(Draws, AForkThatIsKnownDrawsNothing) {
  const BegunFork fork = family_fork();
  const auto draws = draw_forks(fork.setup, {}, 4, 1);
  ASSERT_EQ(draws.size(), 4u);
  for (const ForkDraw& draw : draws) EXPECT_TRUE(draw.empty());
}

// p = m exp(s e) of a number that is independent of the others.
TEST(Draws, SayWhichEvenNumbersTheyCameFrom) {
  const BegunFork fork = family_fork();
  const std::size_t seal = fork.knowledge.find("fork.friction.seal");
  for (const ForkDraw& draw : draw_forks(fork.setup, fork.knowledge, 10, 5)) {
    for (const DrawnNumber& number : draw) {
      if (number.knob.name != "fork.friction.seal") continue;
      const double median = number.knob.get(fork.setup);
      EXPECT_NEAR(std::log(number.value / median), fork.knowledge.spread(seal) * number.even,
                  1e-12);
    }
  }
}

}  // namespace
}  // namespace plunge::draws_test
