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
#include "tests/builders.hpp"
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
  // The start is the exact equilibrium: it stays, to a micron, for
  // ten seconds, and no work is done. The ceiling on the drift is the integrator's tolerance.
  plunge::Setup setup = shipped_setup("drop-to-flat");
  setup.terrain.resize(1);
  setup.terrain[0].length = 60.0;
  const Result result = run_ride(setup);
  ASSERT_EQ(result.failure, "");
  ASSERT_GT(result.time.back(), 9.9);
  const double start = prepare(setup).start[kTravel];
  for (const double x : channel(result, "travel")) EXPECT_NEAR(x, start, 1e-6);
  EXPECT_LT(std::abs(value_of(result.energy, "damper_out")), 1e-6);
}

TEST(Run, LocatedInstantsTellWhereTheBikeIs) {
  // By hand: at an even speed the way is speed times time; the wheel leaves the ground at the lip
  // of the drop, which the bike has passed by the fork's reach at most.
  const plunge::Setup setup = shipped_setup("drop-to-flat");
  const Result result = run_ride(setup);
  const auto lip = std::ranges::find(result.located, "lift_off", &Located::what);
  ASSERT_NE(lip, result.located.end());
  EXPECT_NEAR(lip->distance, setup.ride.speed * lip->time, 1e-9);
  EXPECT_NEAR(lip->distance, setup.terrain[0].length, 0.2);
}

TEST(Run, OnAGradeNothingMovesBeforeSomethingHappens) {
  // By hand: bike and wheel move along the slope together, brakes or drive hold the speed, nothing
  // accelerates. 0.1 um is what the integrator's tolerance leaves open over two seconds.
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
  // By hand on a coil of 9 N/mm and 20 N of preload at 65 deg, 40 + 3.8 of 95 kg in front. Along
  // the legs N sin + B cos - m_u g sin(theta') in the axes of the grade, with the load of the
  // moments about the rear contact and (m g h/L^2)(x - x_rest) sin(theta') of the dive.
  int starts = 0;
  for (const GradeStart& start : grade_starts()) {
    if (start.setup.fork.spring != Spring::coil) continue;
    const Prepared prepared = prepare(start.setup);
    const BikeSetup& bike = start.setup.bike;
    const double grade = start.setup.terrain[0].grade;
    const double angle = 65.0 * kPi / 180.0;
    const double mass = start.setup.rider.mass + bike.mass;
    const double speed = start.setup.ride.speed / std::cos(grade);
    const double rolling = bike.rolling_resistance * mass * kGravity * std::cos(grade);
    const double held =
        -(mass * kGravity * std::sin(grade) + rolling + 0.5 * 1.2 * bike.drag_area * speed * speed);
    const double brake = 0.65 * std::max(0.0, held);
    const double load = 43.8 * kGravity * std::cos(grade) + held * bike.cg_height / bike.wheelbase +
                        rolling * (bike.cg_height - bike.wheel_radius) / bike.wheelbase;
    const double dive = mass * kGravity * bike.cg_height / (bike.wheelbase * bike.wheelbase) *
                        std::sin(angle - grade);
    const double rest = (40.0 * kGravity * std::sin(angle) - 20.0) / 9e3;
    const double along = (load - dive * rest) * std::sin(angle) + brake * std::cos(angle) -
                         3.8 * kGravity * std::sin(angle - grade);
    const double x = (along - 20.0) / (9e3 - dive * std::sin(angle));
    // Steep climbs unload the fork until it stands on the top-out.
    if (x < 0.0 || std::abs(grade) < 0.01) continue;
    EXPECT_NEAR(prepared.start[kTravel], x, 1e-9) << start.name;
    ++starts;
  }
  EXPECT_GE(starts, 8);
}

// On a bike that stays level, whose load nothing moves.
plunge::Setup still_level(plunge::Setup setup) {
  setup.bike.line_length = 0.0;
  setup.bike.wheelbase = 1e6;
  setup.bike.rolling_resistance = setup.bike.drag_area = setup.bike.wheel_inertia = 0.0;
  return setup;
}

TEST(Run, ALevelStartIsTheLevelSagWhereNothingDrives) {
  for (const char* name : {"drop-to-flat", "rock-garden", "corner"}) {
    const plunge::Setup setup = shipped_setup(name);
    const Prepared free = prepare(still_level(setup));
    EXPECT_NEAR(free.start[kTravel], sag(free.rider), 1e-6) << name;
    // The drive against air and ground takes load off the front.
    const Prepared driven = prepare(setup);
    EXPECT_LT(driven.start[kTravel], sag(driven.rider) - 1e-4) << name;
    EXPECT_GT(driven.start[kTravel], sag(driven.rider) - 10e-3) << name;
  }
}

TEST(Run, AWheelThatBeginsOnABumpStandsWhereItsSlopeCarriesIt) {
  // A wheel that leans on a bump from the start pushes along the legs by the slope there: travel
  // and place answer to each other. By virtual work N cos(beta_w) carries the weight and
  // N sin(theta + beta_w) - m_u g sin(theta) pushes along the legs.
  plunge::Setup setup = still_level(shipped_setup("drop-to-flat"));
  setup.terrain.insert(setup.terrain.begin(), bump(BumpShape::half_sine, 1.0, 0.1));
  fill_defaults(setup);
  const Prepared prepared = prepare(setup);
  const Rider& rider = prepared.rider;
  const double x = prepared.start[kTravel];
  const double slope = prepared.ground.path.at(-x * rider.bike.cosine).slope;
  EXPECT_GT(slope, 0.02);
  EXPECT_GT(x, sag(rider) + 1e-4);
  const double angle = setup.bike.head_angle;
  const double weight = (rider.sprung_mass + rider.unsprung_mass + rider.body_mass) * kGravity;
  const double load = weight * (std::sin(angle) + slope * std::cos(angle)) -
                      rider.unsprung_mass * kGravity * std::sin(angle);
  EXPECT_NEAR(slow_force(rider, x), load, 1e-3);
}

TEST(Run, ASteadyGradeSettlesWhereItBegan) {
  // A ride that comes onto a long grade ends, its heat gone, where a ride that begins there stands:
  // within what friction holds.
  for (const double degrees : {-15.0, 8.0}) {
    plunge::Setup setup = standard_setup();
    setup.fork.friction.seal = setup.fork.friction.bushing = 0.0;
    setup.fork.air.main_time = setup.fork.air.negative_time = 0.1;
    setup.terrain = {flat(6.0), flat(40.0, degrees * kPi / 180.0)};
    setup.ride.duration = 8.0;
    fill_defaults(setup);
    const Result result = run_ride(setup);
    ASSERT_EQ(result.failure, "");
    plunge::Setup there = setup;
    there.terrain.erase(there.terrain.begin());
    const double stands = prepare(there).start[kTravel];
    EXPECT_NEAR(channel(result, "travel").back(), stands, 1e-5) << degrees;
    EXPECT_GT(std::abs(stands - channel(result, "travel").front()), 8e-3) << degrees;
    EXPECT_NEAR(channel(result, "pitch").back(), degrees * kPi / 180.0, 1e-12);
    EXPECT_NEAR(channel(result, "pitch").front(), 0.0, 1e-12);
  }
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
  // The load becomes not-a-number as the corner begins, 12 m out at 10 m/s, which judge() would
  // have refused.
  plunge::Setup setup = shipped_setup("braking-bumps");
  setup.events = {corner(12.0, kUnset, 5.0, 0.4)};
  const Result result = run_ride(setup);
  ASSERT_NE(result.failure, "");
  EXPECT_EQ(result.failure.substr(0, 6), "at 1.2") << result.failure;
  EXPECT_NE(result.failure.find("travel = "), std::string::npos) << result.failure;
  EXPECT_NE(result.failure.find('('), std::string::npos) << "names the part: " << result.failure;
  EXPECT_NEAR(result.time.back(), 1.2, 0.01);
  EXPECT_NEAR(channel(result, "travel").back(), channel(result, "travel").front(), 1e-4);
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
