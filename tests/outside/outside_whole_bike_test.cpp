// A whole bike in its plane (whole_bike.hpp): held to closed forms, then laid beside the quarter
// rider on scenes of its own. What differs there is what a quarter rider leaves out.
#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <string>
#include <utility>
#include <vector>

#include "models/laws/constants.hpp"
#include "models/setup/parameters.hpp"
#include "models/setup/statics.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/ride/run.hpp"
#include "tests/builders.hpp"
#include "tests/outside/record.hpp"
#include "tests/outside/whole_bike.hpp"
#include "tests/ready_setup.hpp"
#include "tests/scene_files.hpp"

namespace plunge::outside_whole_bike_test {
namespace {

using whole_bike::Course;
using whole_bike::Instant;
using whole_bike::Rest;
using whole_bike::Ridden;
using whole_bike::Values;
using whole_bike::WholeBike;
using whole_bike::Wish;

constexpr double kDegrees = kPi / 180.0;

WheelPath straight(double angle) {
  return WheelPath({PathPiece{0.0, {0.0, std::tan(angle), 0.0, 0.0, 0.0, 0.0}}}, {});
}

// ---- the whole bike itself

// Kestrel Hollow's trail bike and hazel, 91 kg, where nothing gives way: fork, tyres and body are
// so stiff that they stay where they are.
Setup stiff_setup(double stiffness) {
  Setup setup = shipped_setup("drop-to-flat");
  setup.fork.spring = Spring::coil;
  setup.fork.coil = {stiffness, 0.0};
  setup.fork.friction.seal = setup.fork.friction.bushing = 0.0;
  setup.bike.tyre_stiffness = stiffness;
  setup.rider.body_stiffness = stiffness;
  setup.bike.wheel_inertia = 0.0;
  return setup;
}

TEST(WholeBike, StandsOnLevelGroundAtTheSagAndTheShareOfTheSetup) {
  plunge::Setup setup = shipped_setup("drop-to-flat");
  setup.bike.rolling_resistance = 0.0;
  const WholeBike bike(setup);
  const WheelPath level = WheelPath::level();
  const Values y = bike.steady(level, 0.0);
  const Instant now = bike.at(y, level, 0.0, 0.0);
  EXPECT_NEAR(y[whole_bike::kFork], 0.22 * 0.15, 1e-6);
  EXPECT_NEAR(y[whole_bike::kPitch], 0.0, 1e-8);
  EXPECT_NEAR(now.front, 0.40 * 91.0 * kGravity, 1e-4);
  EXPECT_NEAR(now.rear, 0.60 * 91.0 * kGravity, 1e-4);
  // 1.1 m as the bike's file says.
  EXPECT_NEAR(bike.sums(y).centre.y(), 1.1, 1e-9);
}

TEST(WholeBike, CarriesTheLoadsThatMomentsGiveOnGrades) {
  // By moments about the rear contact, of a bike that gives way nowhere, at 5 m/s along the
  // horizontal: F = phi m g cos + P h/L + F_rr (h - r)/L with P = -(m g sin + F_rr + F_drag),
  // F_rr = 0.03 m g cos, F_drag = 0.5 * 1.2 * 0.55 (5/cos)^2.
  const std::vector<std::pair<double, double>> by_hand = {{-25.0, 647.55}, {-15.0, 537.66},
                                                          {-8.0, 450.28},  {0.0, 341.84},
                                                          {8.0, 226.31},   {15.0, 121.15}};
  const WholeBike bike(stiff_setup(1e9));
  for (const auto& [angle, load] : by_hand) {
    const WheelPath path = straight(angle * kDegrees);
    const Values y = bike.steady(path, 5.0);
    const Instant now = bike.at(y, path, 5.0, 0.0);
    EXPECT_NEAR(now.front, load, 0.01) << angle;
    EXPECT_NEAR(now.front + now.rear, 91.0 * kGravity * std::cos(angle * kDegrees), 0.01) << angle;
    EXPECT_LT(now.acceleration.norm(), 1e-2) << angle;
  }
}

TEST(WholeBike, KeepsItsMomentumInTheAir) {
  // Thrown up, turning, the fork on its way in: nothing outside acts but weight.
  plunge::Setup setup = shipped_setup("drop-to-flat");
  setup.bike.drag_area = 0.0;
  Rest rest;
  rest.sprung = true;
  const WholeBike bike(setup, rest);
  const WheelPath level = WheelPath::level();
  Values start = bike.steady(level, 5.0);
  start[whole_bike::kUp] += 1.0;
  start[whole_bike::rate_at(whole_bike::kUp)] = 2.0;
  start[whole_bike::rate_at(whole_bike::kPitch)] = 1.5;
  start[whole_bike::rate_at(whole_bike::kFork)] = 1.0;
  const WholeBike::Sums before = bike.sums(start);
  constexpr double kTime = 0.4;
  Course course{level, [](double) { return Wish{5.0, 0.0}; }, kTime};
  course.tolerance = 1e-9;
  WholeBike::Sums after;
  double stroke = 0.0;
  whole_bike::ride(bike, course, start, [&](double, const Values& y, const Instant& now) {
    EXPECT_EQ(now.front + now.rear, 0.0);
    stroke = std::max(stroke, std::abs(y[whole_bike::kFork] - start[whole_bike::kFork]));
    after = bike.sums(y);
  });
  EXPECT_GT(stroke, 0.01);
  EXPECT_NEAR(after.momentum.x(), before.momentum.x(), 1e-5);
  EXPECT_NEAR(after.momentum.y(), before.momentum.y() - 91.0 * kGravity * kTime, 1e-5);
  EXPECT_NEAR(after.turning, before.turning, 1e-5);
}

TEST(WholeBike, RollsFreelyDownAGradeAsItsResistancesAllow) {
  // m dv/dt = m g (sin - c_rr cos) - k v^2 along the ground, k = 0.5 rho CdA: with v_e^2 = (m g
  // (sin
  // - c_rr cos))/k and T = m v_e/F, v = v_e tanh(t/T + artanh(v0/v_e)).
  const double angle = 10.0 * kDegrees;
  const WheelPath path = straight(-angle);
  const plunge::Setup setup = shipped_setup("drop-to-flat");
  const Values start = WholeBike(setup).steady(path, 3.0 * std::cos(angle));
  Rest free;
  free.hands = false;
  const WholeBike bike(setup, free);
  constexpr double kTime = 6.0;
  const Course course{path, [](double) { return Wish{0.0, 0.0}; }, kTime};
  const Ridden out = whole_bike::ridden(bike, course, start);
  const double inertia =
      91.0 + 2.0 * setup.bike.wheel_inertia / (setup.bike.wheel_radius * setup.bike.wheel_radius);
  const double push = 91.0 * kGravity * (std::sin(angle) - 0.03 * std::cos(angle));
  const double most = std::sqrt(push / (0.5 * 1.2 * 0.55));
  const double expected =
      most * std::tanh(kTime * push / (inertia * most) + std::atanh(3.0 / most));
  EXPECT_NEAR(out.speed.back() / std::cos(angle), expected, 2e-3 * expected);
  EXPECT_GT(expected, 10.0);
}

// Two and a half seconds of braking at a rate on level ground.
Ridden braked_hard(double rate) {
  plunge::Setup setup = stiff_setup(1e6);
  setup.bike.tyre_grip = 1.5;
  setup.bike.rolling_resistance = setup.bike.drag_area = 0.0;
  const WholeBike bike(setup);
  const WheelPath level = WheelPath::level();
  constexpr double kSpeed = 20.0;
  constexpr double kRise = 0.3;
  const auto wish = [rate](double t) {
    if (t < kRise) return Wish{kSpeed - 0.5 * rate * t * t / kRise, -rate * t / kRise};
    return Wish{kSpeed - rate * (t - 0.5 * kRise), -rate};
  };
  return whole_bike::ridden(bike, Course{level, wish, 2.5}, bike.steady(level, kSpeed));
}

TEST(WholeBike, TipsWhereTheMomentOfBrakingExceedsThatOfTheRearLoad) {
  // g (1 - phi) L/h = 6.526 m/s2.
  const double limit = kGravity * 0.6 * 1.22 / 1.1;
  const Ridden under = braked_hard(0.9 * limit);
  EXPECT_LT(under.steepest_pitch, 1.0 * kDegrees);
  EXPECT_GT(under.least_rear, 0.0);
  EXPECT_NEAR(under.rear.back(), 0.1 * 0.6 * 91.0 * kGravity, 3.0);
  const Ridden over = braked_hard(1.1 * limit);
  EXPECT_EQ(over.rear.back(), 0.0);
  EXPECT_GT(over.steepest_pitch, 10.0 * kDegrees);
}

TEST(WholeBike, EnergyCloses) {
  // Roots under braking, on a grade, with either rear: what moves and is stored changes by what
  // brakes, drag, dampers and the fork take.
  for (const bool sprung : {false, true}) {
    plunge::Setup setup = shipped_setup("drop-to-flat");
    setup.terrain = {flat(5.0, -6.0 * kDegrees), bumps(BumpShape::root, 0.16, 0.05, 0.9, 5),
                     flat(8.0, -6.0 * kDegrees)};
    Rest rest;
    rest.sprung = sprung;
    setup.bike.wheel_inertia = 0.0;
    const WholeBike bike(setup, rest);
    const Ground ground = build_ground(setup.terrain, setup.bike);
    const auto wish = [](double t) {
      return t < 0.8 ? Wish{6.0, 0.0} : Wish{6.0 - 2.0 * (t - 0.8), -2.0};
    };
    Course course{ground.path, wish, 2.2};
    course.tolerance = 1e-8;
    double least = kInfinity;
    double most = -kInfinity;
    double swing = 0.0;
    double first = kUnset;
    double least_front = kInfinity;
    whole_bike::ride(bike, course, bike.steady(ground.path, 6.0),
                     [&](double, const Values& y, const Instant& now) {
                       const double stored = bike.energy(y, ground.path);
                       const double sum = stored - y[whole_bike::kWork];
                       if (std::isnan(first)) first = stored;
                       swing = std::max(swing, std::abs(stored - first));
                       least = std::min(least, sum);
                       most = std::max(most, sum);
                       least_front = std::min(least_front, now.front);
                     });
    EXPECT_EQ(least_front, 0.0) << "the front wheel lifts off and comes back";
    EXPECT_GT(swing, 500.0);
    EXPECT_LT(most - least, 1e-5 * swing) << sprung;
  }
}

// ---- beside the quarter rider

enum class Kind { grade, braking, bump, step, wave, hollow, washboard, landing, drop, climb };

// What a quarter rider leaves, by kind of scene: the largest differences that count as its own, of
// deepest and mean travel over the fork's travel, and of the peak load over itself. Up to twice
// what was found, so that the estimates in Rest have room: with a radius of gyration of the main
// body from 0.3 to 0.6 m and hands half or twice as quick, the whole bike's own travel changes by
// 4 % of the fork's on waves, hollows and braking bumps, by 16 % in the air and on rough climbs,
// by 1 % else.
struct Left {
  double deepest;
  double mean;
  double peak;
};

Left left_by(Kind kind) {
  switch (kind) {
    case Kind::grade:
      return {0.04, 0.04, 0.04};
    case Kind::braking:
      return {0.05, 0.04, 0.08};
    case Kind::bump:
      return {0.03, 0.03, 0.06};
    case Kind::step:
      return {0.03, 0.04, 0.06};
    case Kind::wave:
      return {0.07, 0.03, 0.08};
    case Kind::hollow:
      return {0.05, 0.03, 0.08};
    case Kind::washboard:
      return {0.06, 0.05, 0.08};
    case Kind::landing:
      return {0.08, 0.0, 0.10};
    case Kind::drop:
      return {0.25, 0.05, 0.25};
    case Kind::climb:
      return {0.15, 0.05, 0.25};
  }
  return {};
}

struct Beside {
  std::string name;
  Kind kind;
  Setup setup;  // bike, rider and fork
  bool sprung;  // the whole bike's rear wheel
  double speed;
  std::vector<Feature> ground;
  std::vector<RideEvent> events = {};
  double duration = kUnset;
};

Setup of_files(const std::string& fork, const std::string& rider, const std::string& bike,
               double sag) {
  Setup setup = shipped_setup("drop-to-flat");
  setup.fork = load_fork("scenarios/forks/" + fork + ".toml");
  setup.rider = load_rider("scenarios/riders/" + rider + ".toml");
  setup.bike = load_bike("scenarios/bikes/" + bike + ".toml");
  fill_defaults(setup);
  hold_sag(setup, sag);
  return setup;
}

Setup trail() { return of_files("teasel-150", "hazel", "trail", 0.22); }
Setup cross_country() { return of_files("sorrel-120", "wren", "cross-country", 0.20); }
Setup downhill() { return of_files("bracken-200", "alder", "downhill", 0.28); }

// A bike of the tests' own: the worked design point's fork, a tall rider far forward.
Setup own() {
  Setup setup = load_scene("tests/outside/data/worked-point.toml").setup;
  setup.fork.spacers = 2.0;
  setup.rider.mass = 84.0;
  setup.rider.front_share = 0.43;
  setup.rider.sprung_mass = setup.rider.body_mass = kUnset;
  setup.bike = {};
  setup.bike.mass = 14.0;
  setup.bike.wheelbase = 1.19;
  setup.bike.cg_height = 1.06;
  setup.bike.head_angle = 66.0 * kDegrees;
  fill_defaults(setup);
  hold_sag(setup, 0.25);
  return setup;
}

// From one grade to another [deg]: a circle's worth of turning over a length, then straight on.
Feature turning(double from, double to, double length, double straight_on) {
  constexpr int kPoints = 64;
  std::vector<double> distance = {0.0};
  std::vector<double> height = {0.0};
  for (int i = 0; i < kPoints; ++i) {
    const double share = (i + 0.5) / kPoints;
    // Slope by a smoothstep.
    const double step = share * share * (3.0 - 2.0 * share);
    const double slope = std::tan(from * kDegrees) * (1.0 - step) + std::tan(to * kDegrees) * step;
    distance.push_back(distance.back() + length / kPoints);
    height.push_back(height.back() + slope * length / kPoints);
  }
  distance.push_back(distance.back() + straight_on);
  height.push_back(height.back() + std::tan(to * kDegrees) * straight_on);
  return profile(ProfileJoin::smooth, distance, height);
}

RideEvent brakes(double at, double rate, double to_speed) {
  RideEvent event = braking(at, rate, to_speed, 0.25);
  event.front_share = 0.65;
  return event;
}

std::vector<Feature> waves(double length, double height, int count) {
  std::vector<Feature> ground = {flat(6.0)};
  for (int i = 0; i < count; ++i) ground.push_back(bump(BumpShape::cosine, length, height));
  ground.push_back(flat(6.0));
  return ground;
}

std::vector<Feature> level_with(const Feature& feature) { return {flat(6.0), feature, flat(8.0)}; }

std::vector<Beside> grades_and_braking() {
  const double d = kDegrees;
  return {
      {"down 12 deg, trail", Kind::grade, trail(), false, 5.0, {flat(20.0, -12.0 * d)}},
      {"down 19 deg, downhill", Kind::grade, downhill(), true, 4.0, {flat(20.0, -19.0 * d)}},
      {"up 10 deg, cross-country",
       Kind::grade,
       cross_country(),
       false,
       3.0,
       {flat(15.0, 10.0 * d)}},
      {"onto 14 deg down, own",
       Kind::grade,
       own(),
       false,
       5.0,
       {flat(6.0), turning(0.0, -14.0, 9.0, 20.0)}},
      {"onto 25 deg down, trail",
       Kind::grade,
       trail(),
       false,
       3.0,
       {flat(6.0), turning(0.0, -25.0, 5.0, 16.0)}},
      {"braking 4 m/s2 on level, cross-country",
       Kind::braking,
       cross_country(),
       false,
       10.0,
       {flat(30.0)},
       {brakes(5.0, 4.0, 3.0)}},
      {"braking 2.5 m/s2 on 12 deg down, trail",
       Kind::braking,
       trail(),
       false,
       8.0,
       {flat(30.0, -12.0 * d)},
       {brakes(5.0, 2.5, 3.0)}},
      {"braking 4 m/s2 on level, downhill",
       Kind::braking,
       downhill(),
       true,
       11.0,
       {flat(35.0)},
       {brakes(5.0, 4.0, 4.0)}},
  };
}

std::vector<Beside> bumps_and_steps() {
  return {
      {"root of 40 mm, cross-country", Kind::bump, cross_country(), false, 6.0,
       level_with(bump(BumpShape::root, 0.12, 0.04))},
      {"root of 75 mm, own", Kind::bump, own(), false, 5.0,
       level_with(bump(BumpShape::root, 0.3, 0.075))},
      {"square edge of 30 mm, trail", Kind::bump, trail(), false, 8.0,
       level_with(bump(BumpShape::square, 0.3, 0.03))},
      {"square edge of 90 mm, downhill", Kind::bump, downhill(), true, 5.0,
       level_with(bump(BumpShape::square, 0.25, 0.09))},
      {"step up of 70 mm, trail",
       Kind::step,
       trail(),
       false,
       5.0,
       {flat(6.0), bump(BumpShape::square, 20.0, 0.07)},
       {},
       3.0},
      {"step up of 80 mm, downhill",
       Kind::step,
       downhill(),
       true,
       6.0,
       {flat(6.0), bump(BumpShape::square, 20.0, 0.08)},
       {},
       3.0},
      {"braking bumps of 50 mm, trail",
       Kind::washboard,
       trail(),
       false,
       8.0,
       {flat(6.0), bumps(BumpShape::half_sine, 0.6, 0.05, 1.2, 10), flat(8.0)},
       {brakes(5.0, 2.0, 5.0)}},
  };
}

std::vector<Beside> waves_and_hollows() {
  return {
      {"waves of 2.5 m, 60 mm, cross-country", Kind::wave, cross_country(), false, 4.0,
       waves(2.5, 0.06, 4)},
      {"waves of 4 m, 0.14 m, trail", Kind::wave, trail(), false, 5.0, waves(4.0, 0.14, 4)},
      {"waves of 6 m, 0.25 m, downhill", Kind::wave, downhill(), true, 6.0, waves(6.0, 0.25, 4)},
      {"waves of 10 m, 0.7 m, own", Kind::wave, own(), false, 7.0, waves(10.0, 0.7, 3)},
      {"hollow of 8 m, 0.5 m, trail", Kind::hollow, trail(), false, 6.0,
       level_with(bump(BumpShape::cosine, 8.0, -0.5))},
      {"hollow of 12 m, 0.8 m, downhill", Kind::hollow, downhill(), true, 8.0,
       level_with(bump(BumpShape::cosine, 12.0, -0.8))},
  };
}

// Where the rest of the bike matters most: it pitches in the air and on what its rear wheel meets.
std::vector<Beside> drops_and_climbs() {
  const double d = kDegrees;
  return {
      {"drop of 0.3 m to 14 deg down, downhill",
       Kind::drop,
       downhill(),
       true,
       7.0,
       {flat(6.0), drop(0.3, 14.0 * d, 5.0, 4.0), flat(10.0)}},
      {"drop of 0.1 m to flat, own",
       Kind::drop,
       own(),
       false,
       6.0,
       {flat(6.0), drop(0.1), flat(12.0)}},
      {"jump off a ramp of 0.4 m to flat, trail",
       Kind::drop,
       trail(),
       false,
       7.0,
       {flat(8.0), bump(BumpShape::ramp, 1.8, 0.4), flat(12.0)}},
      {"rough climb of 10 deg, cross-country",
       Kind::climb,
       cross_country(),
       false,
       2.0,
       {flat(4.0, 10.0 * d),
        profile(ProfileJoin::linear, {0.0, 0.1, 0.3, 0.8, 0.9, 1.3},
                {0.0, 0.07, 0.1, 0.15, 0.25, 0.29}),
        flat(6.0, 10.0 * d)}},
  };
}

// What a setup lacks before it can be ridden.
plunge::Setup made_ready(const Beside& scene) {
  plunge::Setup setup = scene.setup;
  setup.terrain = scene.ground;
  setup.events = scene.events;
  for (Feature& feature : setup.terrain) fill_defaults(feature);
  for (RideEvent& event : setup.events) fill_defaults(event);
  setup.ride.speed = scene.speed;
  setup.ride.duration = scene.duration;
  return setup;
}

Ridden ridden_whole(const Setup& setup, bool sprung) {
  Rest rest;
  rest.sprung = sprung;
  const WholeBike bike(setup, rest);
  const Ground ground = build_ground(setup.terrain, setup.bike);
  const RideLine line(setup.ride, setup.events, ground.length);
  const auto wish = [&line](double t) {
    const Motion<double> motion = line.at(t);
    return Wish{motion.speed, motion.acceleration};
  };
  return whole_bike::ridden(bike, Course{ground.path, wish, line.duration()},
                            bike.steady(ground.path, setup.ride.speed));
}

double metric_of(const Result& result, const std::string& name) {
  for (const Metric& one : result.metrics) {
    if (one.name == name) return one.value;
  }
  return kUnset;
}

// The ends of the travel and of the load, which every scene compares.
void record_most(const Beside& scene, const plunge::Setup& setup, const Ridden& whole,
                 const Result& quarter) {
  // A bike that goes over is no yardstick.
  EXPECT_LT(whole.steepest_pitch, 45.0 * kDegrees) << scene.name;
  EXPECT_EQ(quarter.failure, "") << scene.name;
  const Left left = left_by(scene.kind);
  const double travel = setup.fork.travel * 1e3;  // [mm]
  record({fmt::format("whole bike, {}: deepest of {:.0f} mm travel [mm]", scene.name, travel),
          "computed", whole.deepest * 1e3, metric_of(quarter, "travel_max") * 1e3,
          left.deepest * travel});
  record({fmt::format("whole bike, {}: peak front load [N]", scene.name), "computed", whole.peak,
          metric_of(quarter, "ground_force_max"), left.peak * whole.peak});
}

void lay_beside(const std::vector<Beside>& scenes) {
  for (const Beside& scene : scenes) {
    const plunge::Setup setup = made_ready(scene);
    for (const Fault& fault : judge(setup)) ADD_FAILURE() << fault.key << ": " << fault.rule;
    const Ridden whole = ridden_whole(setup, scene.sprung);
    const Result quarter = run_ride(setup);
    record_most(scene, setup, whole, quarter);
    record({fmt::format("whole bike, {}: mean travel [mm]", scene.name), "computed",
            whole.mean_travel * 1e3, metric_of(quarter, "travel_mean") * 1e3,
            left_by(scene.kind).mean * setup.fork.travel * 1e3});
  }
}

TEST(BesideAWholeBike, GradesAndBrakingAreRight) { lay_beside(grades_and_braking()); }
TEST(BesideAWholeBike, BumpsAndStepsAreRight) { lay_beside(bumps_and_steps()); }
TEST(BesideAWholeBike, WavesAndHollowsLackThePitchOfTheBike) { lay_beside(waves_and_hollows()); }
// A whole bike let go level over level ground, its quarter rolling off a ledge of that height: what
// separates the two on a ledge is the pitch that a passive rider lets the bike take there.
TEST(BesideAWholeBike, ALevelLandingIsRight) {
  for (const auto& [bike, height] : {std::pair{trail(), 0.2}, std::pair{downhill(), 0.3}}) {
    const bool sprung = bike.fork.travel > 0.19;
    const Beside scene{fmt::format("landing level from {} m, {}", height, bike.bike.name),
                       Kind::landing,
                       bike,
                       sprung,
                       7.0,
                       {flat(6.0), drop(height), flat(12.0)}};
    const plunge::Setup setup = made_ready(scene);
    Rest rest;
    rest.sprung = sprung;
    const WholeBike whole(setup, rest);
    const WheelPath level = WheelPath::level();
    Values start = whole.steady(level, scene.speed);
    start[whole_bike::kUp] += height;
    const auto wish = [&scene](double) { return Wish{scene.speed, 0.0}; };
    record_most(scene, setup, whole_bike::ridden(whole, Course{level, wish, 1.0}, start),
                run_ride(setup));
  }
}

TEST(BesideAWholeBike, DropsAndRoughClimbsAreRough) { lay_beside(drops_and_climbs()); }

TEST(BesideAWholeBike, AWholeBikeGoesOverWhereAQuarterCannotSayHow) {
  // Down 35 deg, held at 3 m/s: past atan(0.6 L/h) = 33.6 deg of the trail bike.
  Beside over{"", Kind::grade, trail(), false, 3.0, {flat(6.0), turning(0.0, -35.0, 5.0, 6.0)}};
  EXPECT_GT(ridden_whole(made_ready(over), false).steepest_pitch, 90.0 * kDegrees);
  // Up 12 deg over ledges at 3 m/s, its rider passive: over backwards.
  over.ground = {
      flat(4.0, 12.0 * kDegrees),
      profile(ProfileJoin::linear, {0.0, 0.1, 0.3, 0.8, 0.9, 1.3, 1.8, 1.9, 2.4, 2.6, 3.0},
              {0.0, 0.09, 0.1, 0.15, 0.27, 0.29, 0.32, 0.45, 0.45, 0.55, 0.6}),
      flat(6.0, 12.0 * kDegrees)};
  EXPECT_GT(ridden_whole(made_ready(over), false).steepest_pitch, 90.0 * kDegrees);
}

}  // namespace
}  // namespace plunge::outside_whole_bike_test
