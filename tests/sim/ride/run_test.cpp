#include "sim/ride/run.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <string>
#include <vector>

#include "models/setup/statics.hpp"
#include "sim/input/scene_file.hpp"
#include "sim/input/scene_text.hpp"
#include "sim/measure/metrics.hpp"
#include "tests/ready_setup.hpp"

namespace plunge {
namespace {

double value_of(const std::vector<Metric>& metrics, const std::string& name) {
  for (const Metric& m : metrics) {
    if (m.name == name) return m.value;
  }
  ADD_FAILURE() << "no metric " << name;
  return kUnset;
}

TEST(Run, OnLevelGroundNothingMoves) {
  // The start is the exact static equilibrium: the sag that was asked for stays, to a micron, for
  // ten seconds, and no work is done. The ceiling on the drift is the integrator's tolerance.
  plunge::Setup setup = shipped_setup("drop-to-flat");
  setup.terrain.resize(1);
  setup.terrain[0].length = 60.0;
  const Result result = run_ride(setup);
  ASSERT_EQ(result.failure, "");
  ASSERT_GT(result.time.back(), 9.9);
  for (const double x : channel(result, "travel")) EXPECT_NEAR(x, 0.22 * 0.15, 1e-6);
  EXPECT_LT(std::abs(value_of(result.energy, "damper_out")), 1e-6);
}

TEST(Run, OnASteadySlopeItGlidesWithoutMoving) {
  // By hand: frame and wheel move along the slope together, nothing accelerates.
  plunge::Setup setup = shipped_setup("drop-to-flat");
  setup.terrain.resize(1);
  setup.terrain[0].length = 40.0;
  setup.terrain[0].grade = -5.0 * kPi / 180.0;
  setup.ride.duration = 4.0;
  // The line begins on the level; ride it from inside the slope instead.
  const Prepared prepared = prepare(setup);
  const Motion<double> motion = prepared.line.at(0.0);
  const PathPoint<double> point = prepared.ground.path.at(20.0);
  const State<double> rest = state_at_rest(prepared.rider, point, motion);
  EXPECT_NEAR(point.slope, std::tan(-5.0 * kPi / 180.0), 1e-12);
  const Forces<double> forces =
      prepared.rider.forces(rest, motion, point, modes_of(prepared.rider, rest, motion, point));
  EXPECT_NEAR(forces.sprung_acceleration, 0.0, 1e-9);
  EXPECT_NEAR(forces.travel_acceleration, 0.0, 1e-9);
  EXPECT_NEAR(forces.body_acceleration, 0.0, 1e-9);
}

TEST(Run, TheSameSceneGivesTheSameBits) {
  const plunge::Setup setup = shipped_setup("rock-garden");
  const Result one = run_ride(setup);
  const Result two = run_ride(setup);
  ASSERT_EQ(one.time.size(), two.time.size());
  for (std::size_t c = 0; c < one.channels.size(); ++c) {
    EXPECT_EQ(one.channels[c].values, two.channels[c].values) << one.channels[c].name;
  }
  for (std::size_t m = 0; m < one.metrics.size(); ++m) {
    EXPECT_EQ(one.metrics[m].value, two.metrics[m].value) << one.metrics[m].name;
  }
}

TEST(Run, TheStoredSceneTextRidesToTheSameNumbers) {
  const plunge::Setup setup = shipped_setup("braking-bumps");
  const Result one = run_ride(setup);
  const Result again = run_ride(parse_scene(to_scene_text(setup), "stored").setup);
  EXPECT_EQ(channel(one, "travel"), channel(again, "travel"));
  EXPECT_EQ(channel(one, "axle_force"), channel(again, "axle_force"));
  EXPECT_EQ(one.metrics.size(), again.metrics.size());
}

TEST(Run, EnergyClosesOnEveryShippedScene) {
  int scenes = 0;
  for (const auto& file : std::filesystem::directory_iterator("scenarios/scenes")) {
    const std::string name = file.path().stem().string();
    const Result result = run_ride(shipped_setup(name));
    EXPECT_EQ(result.failure, "") << name;
    EXPECT_LT(std::abs(value_of(result.energy, "closing_error")), 1e-4) << name;
    EXPECT_GT(std::abs(value_of(result.energy, "damper_out")), 1.0) << name;  // not vacuous
    ++scenes;
  }
  EXPECT_GE(scenes, 8);
}

TEST(Run, ALooserToleranceClosesTheEnergyLessWell) {
  // So the closing error says something about a run.
  plunge::Setup setup = shipped_setup("drop-to-landing");
  const double fine = std::abs(value_of(run_ride(setup).energy, "closing_error"));
  setup.ride.tolerance = 1e-3;
  const double coarse = std::abs(value_of(run_ride(setup).energy, "closing_error"));
  EXPECT_GT(coarse, 10.0 * fine);
}

TEST(Run, SamplesStandAtTheirTimes) {
  plunge::Setup setup = shipped_setup("square-edge");
  setup.ride.sample_rate = 250.0;
  const Result result = run_ride(setup);
  for (std::size_t i = 0; i < result.time.size(); ++i) {
    EXPECT_EQ(result.time[i], static_cast<double>(i) / 250.0);
  }
  const double duration = prepare(setup).line.duration();
  EXPECT_GT(result.time.back(), duration - 1.0 / 250.0);
  EXPECT_LE(result.time.back(), duration);
  for (const Channel& c : result.channels) EXPECT_EQ(c.values.size(), result.time.size());
}

TEST(Run, ARideThatCannotBeFollowedKeepsWhatItHad) {
  // The braking force becomes not-a-number as the braking begins, 12 m out at 10 m/s, which judge()
  // would have refused.
  plunge::Setup setup = shipped_setup("braking-bumps");
  setup.events[0].front_share = kUnset;
  const Result result = run_ride(setup);
  ASSERT_NE(result.failure, "");
  EXPECT_EQ(result.failure.substr(0, 6), "at 1.2") << result.failure;
  EXPECT_NE(result.failure.find("travel = "), std::string::npos) << result.failure;
  EXPECT_NE(result.failure.find('('), std::string::npos) << "names the part: " << result.failure;
  EXPECT_NEAR(result.time.back(), 1.2, 0.01);
  EXPECT_NEAR(channel(result, "travel").back(), 0.033, 1e-4);
  for (const Channel& c : result.channels) EXPECT_EQ(c.values.size(), result.time.size());
}

}  // namespace
}  // namespace plunge
