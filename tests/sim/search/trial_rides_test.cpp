// Trials against the adaptive path, and what luck changes.
#include "sim/search/trial_rides.hpp"

#include <gtest/gtest.h>

#include <atomic>

#include "sim/sweep/ride_many.hpp"
#include "tests/search_case.hpp"

namespace plunge {
namespace {

const SearchCase kQuick = {"teasel-150", "hazel", "trail", {"drop-to-flat", "roots"}};
const ForkSettings kSet{2.0, 80.0 * kPsiStep, 6.0, 10.0};

TEST(TrialRides, AreTheRidesOfTheirSettings) {
  TrialRides rides(scenes_of(kQuick), {"travel_max", "sag_share"});
  const Outcome outcome = rides.ride(kSet);
  ASSERT_EQ(outcome.failure, "");
  for (std::size_t i = 0; i < 2; ++i) {
    ReadyRide ride;
    ride.setup = setup_of(rides.scenes()[i], {kSet, nullptr});
    EXPECT_EQ(ride.setup.fork.compression.clicks, 6.0);
    for (const Metric& metric : ride_one(ride).metrics) {
      // As closely as the lanes are held to the adaptive path.
      if (metric.name == "travel_max") {
        EXPECT_NEAR(outcome.scenes[i][0], metric.value, 1e-4);
      } else if (metric.name == "sag_share") {
        EXPECT_DOUBLE_EQ(outcome.scenes[i][1], metric.value);
      }
    }
  }
}

TEST(TrialRides, WhatIsKnownIsNotRiddenAgain) {
  TrialRides rides(scenes_of(kQuick), {"travel_max"});
  const Trial twice[] = {{kSet, nullptr}, {kSet, nullptr}};
  const auto outcomes = rides.ride(twice);
  EXPECT_EQ(outcomes[0].scenes, outcomes[1].scenes);
  EXPECT_EQ(rides.ridden(), 2U);  // one setting, two scenes
  rides.ride(kSet);
  EXPECT_EQ(rides.ridden(), 2U);
  EXPECT_EQ(rides.settings(), 1U);
}

TEST(TrialRides, LuckIsWhatItSays) {
  const plunge::Setup scene = scenes_of(kQuick).front();
  Luck luck;
  luck.gauge = 2e4;
  luck.mass = -3.0;
  luck.speed = 1.1;
  luck.heights = 0.5;
  luck.fork = {{"fork.air.main_volume", 2.1e-4}};
  const plunge::Setup ridden = setup_of(scene, {kSet, &luck});
  EXPECT_DOUBLE_EQ(ridden.fork.pressure, kSet.pressure + 2e4);
  EXPECT_DOUBLE_EQ(ridden.rider.mass, scene.rider.mass - 3.0);
  EXPECT_DOUBLE_EQ(ridden.ride.speed, 1.1 * scene.ride.speed);
  EXPECT_DOUBLE_EQ(ridden.fork.air.main_volume, 2.1e-4);
  bool found = false;
  for (std::size_t i = 0; i < scene.terrain.size(); ++i) {
    if (scene.terrain[i].kind != FeatureKind::drop) continue;
    EXPECT_DOUBLE_EQ(ridden.terrain[i].height, 0.5 * scene.terrain[i].height);
    found = true;
  }
  EXPECT_TRUE(found);
}

TEST(TrialRides, APressurePastTheLimitIsNotRidden) {
  TrialRides rides(scenes_of(kQuick), {"travel_max"});
  ForkSettings past = kSet;
  past.pressure = 151.0 * kPsiStep;  // of 150
  EXPECT_NE(rides.ride(past).failure.find("150 psi"), std::string::npos);
  EXPECT_EQ(rides.ridden(), 0U);
}

TEST(TrialRides, AreStoppedWhenAsked) {
  std::atomic<int> asked = 0;
  SearchWatch watch;
  watch.stop = [&] { return ++asked > 0; };
  TrialRides rides(scenes_of(kQuick), {"travel_max"}, watch);
  EXPECT_THROW(rides.ride(kSet), SearchStopped);
}

}  // namespace
}  // namespace plunge
