// The fewest actions: clicks before air, air before opening the fork.
#include "sim/search/next_step.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/search_case.hpp"

namespace plunge {
namespace {

const SearchCase kDropOnly = {"teasel-150", "hazel", "trail", {"drop-to-flat", "roots"}};

class Steps : public ::testing::Test {
 protected:
  Steps()
      : rides_(scenes_of(kDropOnly),
               {"travel_use", "hand_force_rms", "tyre_load_variation", "sag_share"}),
        lattice_(lattice_of(rides_.scenes().front())),
        luck_(luck_of_days(32)) {}

  NextStep step(const std::vector<Demand>& demands, double chance) {
    const Judge judge(demands, 0.5, rides_.metrics(), rides_.ride(today_));
    const Candidate today = with_chances(rides_, judge, std::array{today_}, luck_).front();
    const double least = demands.front().row->key == "sag" ? demands.front().low : 0.15;
    const double most = demands.front().row->key == "sag" ? demands.front().high : 0.30;
    const std::array<double, 2> band = {pressures_holding(rides_.scenes().front(), most)[0],
                                        pressures_holding(rides_.scenes().front(), least)[1]};
    return next_step(rides_, judge, lattice_, band, today, {}, chance, luck_);
  }

  const ForkSettings today_{1.0, 80.0 * kPsiStep, 8.0, 9.0};
  TrialRides rides_;
  Lattice lattice_;
  std::vector<Luck> luck_;
};

TEST_F(Steps, WhatIsGoodIsLeftAlone) {
  const NextStep found = step({{find_demand("sag"), 0.05, 0.60}}, 0.9);
  EXPECT_EQ(found.effort, 0);
  EXPECT_TRUE(found.reaches);
  EXPECT_EQ(found.candidate.settings, today_);
}

// Sag is air's alone: clicks cannot mend it, and no spacer is needed.
TEST_F(Steps, SagIsMendedWithAirAlone) {
  const double sag = rides_.ride(today_).scenes[0][3];
  const NextStep found = step({{find_demand("sag"), sag - 0.09, sag - 0.03}}, 0.8);
  EXPECT_TRUE(found.reaches);
  EXPECT_EQ(found.effort, kAirEffort);
  EXPECT_GT(found.candidate.settings.pressure, today_.pressure);
  EXPECT_EQ(found.candidate.settings.spacers, today_.spacers);
  EXPECT_EQ(found.candidate.settings.rebound, today_.rebound);
}

TEST_F(Steps, WhatCannotBeReachedIsSaid) {
  const NextStep found =
      step({{find_demand("sag"), 0.20, 0.25}, {find_demand("travel"), 0.10, 0.20}}, 0.8);
  EXPECT_FALSE(found.reaches);
  EXPECT_EQ(found.asked, 0.8);
}

TEST(Effort, OpeningWeighsMostThenAirThenClicks) {
  const ForkSettings from{1.0, 5e5, 8.0, 9.0};
  EXPECT_EQ(effort_between(from, from), 0);
  EXPECT_EQ(effort_between(from, {1.0, 5e5, 2.0, 9.0}), kClicksEffort);
  EXPECT_EQ(effort_between(from, {1.0, 6e5, 8.0, 9.0}), kAirEffort);
  EXPECT_EQ(effort_between(from, {2.0, 6e5, 8.0, 9.0}), kOpenEffort);
  EXPECT_LT(effort_between(from, {1.0, 6e5, 2.0, 2.0}), effort_between(from, {2.0, 5e5, 8.0, 9.0}));
}

}  // namespace
}  // namespace plunge
