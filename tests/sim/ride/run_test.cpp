#include "sim/ride/run.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <string>
#include <vector>

#include "models/setup/statics.hpp"
#include "sim/input/scene_text.hpp"
#include "sim/measure/metrics.hpp"
#include "tests/grade_starts.hpp"
#include "tests/ready_setup.hpp"
#include "tests/scene_files.hpp"

namespace plunge::run_test {
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

TEST(Run, OnAGradeNothingMovesBeforeSomethingHappens) {
  // By hand: frame and wheel move along the slope together, nothing accelerates. 0.1 um is what the
  // integrator's tolerance leaves open over two seconds.
  for (const GradeStart& start : grade_starts()) {
    SCOPED_TRACE(start.name);
    const Result result = run_ride(start.setup);
    ASSERT_EQ(result.failure, "");
    const std::vector<double>& travel = channel(result, "travel");
    double still = 0.0;
    double later = 0.0;
    for (std::size_t i = 0; i < travel.size(); ++i) {
      double& most = result.time[i] < start.undisturbed ? still : later;
      most = std::max(most, std::abs(travel[i] - travel[0]));
    }
    EXPECT_LE(still, 1e-7);
    EXPECT_GT(later, 5e-3);  // the bump
  }
}

TEST(Run, AGradeChangesWhereAForkRests) {
  // Virtual work, by hand: the coil carries N (sin + tan(grade) cos) - m_u g sin along the legs,
  // with 43.8 kg in all, 3.8 kg of them unsprung, at 65 deg; 9 N/mm and 20 N of preload.
  for (const GradeStart& start : grade_starts()) {
    if (start.setup.fork.spring != Spring::coil) continue;
    const Prepared prepared = prepare(start.setup);
    const double slope = std::tan(start.setup.terrain[0].grade);
    const double angle = 65.0 * kPi / 180.0;
    const double load = 43.8 * kGravity * (std::sin(angle) + slope * std::cos(angle)) -
                        3.8 * kGravity * std::sin(angle);
    EXPECT_NEAR(prepared.start[kTravel], (load - 20.0) / 9e3, 1e-12) << start.name;
  }
}

TEST(Run, ALevelStartIsTheLevelSag) {
  for (const char* name : {"drop-to-flat", "rock-garden", "corner"}) {
    const Prepared prepared = prepare(shipped_setup(name));
    const double x = sag(prepared.rider);
    const State<double> level = state_at_rest(prepared.rider, {}, prepared.line.at(0.0));
    EXPECT_EQ(prepared.start, level) << name;
    EXPECT_EQ(prepared.start[kTravel], x) << name;
  }
}

TEST(Run, AWheelThatBeginsOnABumpStandsWhereItsSlopeCarriesIt) {
  // A wheel that leans on a bump from the start pushes along the legs by the slope there: travel
  // and place answer to each other. The forces along the legs are in balance.
  plunge::Setup setup = shipped_setup("drop-to-flat");
  Feature bump;
  bump.kind = FeatureKind::bump;
  bump.length = 1.0;
  bump.height = 0.1;
  setup.terrain.insert(setup.terrain.begin(), bump);
  fill_defaults(setup);
  const Prepared prepared = prepare(setup);
  const Rider& rider = prepared.rider;
  const double x = prepared.start[kTravel];
  const double slope = prepared.ground.path.at(-x * rider.bike.cosine).slope;
  EXPECT_GT(slope, 0.02);
  EXPECT_GT(x, sag(rider) + 1e-4);
  EXPECT_NEAR(slow_force(rider, x), static_load(rider, slope, kGravity), 1e-8);
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
  EXPECT_EQ(channel(one, "ground_force"), channel(again, "ground_force"));
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

TEST(Run, AStopEndsARideInItsMiddle) {
  const plunge::Setup setup = shipped_setup("rock-garden");
  const Prepared prepared = prepare(setup);
  std::size_t asked = 0;
  run_ride(setup, prepared, {}, [&] {
    ++asked;
    return false;
  });
  EXPECT_GT(asked, 10u);
  asked = 0;
  EXPECT_THROW(run_ride(setup, prepared, {}, [&] { return ++asked == 5; }), RideStopped);
  EXPECT_EQ(asked, 5u) << "nothing was ridden that would ask again";
}

}  // namespace
}  // namespace plunge::run_test
