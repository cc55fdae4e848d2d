#include "sim/input/balance.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "models/setup/judge.hpp"
#include "models/setup/statics.hpp"
#include "sim/ground/terrain.hpp"
#include "sim/input/settle.hpp"
#include "tests/builders.hpp"
#include "tests/support.hpp"

namespace plunge::balance_test {
namespace {

constexpr double kDegree = kPi / 180.0;

Setup setup_on(std::vector<Feature> terrain, std::vector<RideEvent> events, double speed = 8.0) {
  Setup setup = standard_setup();
  setup.rider.sprung_mass = kUnset;  // 40 % of all is on the front
  setup.rider.body_mass = kUnset;
  setup.ride.speed = speed;
  setup.terrain = std::move(terrain);
  setup.events = std::move(events);
  fill_defaults(setup);
  return setup;
}

RideLine line_of(const Setup& setup) {
  double length = 0.0;
  for (const Feature& feature : setup.terrain) length += feature_length(feature);
  return {setup.ride, setup.events, length};
}

std::string words(const Setup& setup, const Rider& rider) {
  std::string text;
  const GradeLine grade = build_grade(setup.terrain, setup.bike);
  for (const Fault& fault : judge_balance(setup, rider, grade, line_of(setup))) {
    text += to_string(fault) + "\n";
  }
  return text;
}

// A bike without rolling resistance and drag, whose centre of gravity stays where it is.
Rider bare_rider(const Setup& setup) {
  Rider rider = assemble_ridden(setup);
  rider.bike.rolling = 0.0;
  rider.bike.drag = 0.0;
  rider.bike.dive_lever = 0.0;
  return rider;
}

std::string bare(const std::vector<Feature>& terrain, const std::vector<RideEvent>& events,
                 double speed = 8.0) {
  const Setup setup = setup_on(terrain, events, speed);
  return words(setup, bare_rider(setup));
}

// Moments about one contact, by hand: h/L = 1.1/1.22 and phi = 0.4 give 0.6 g/0.9016 = 6.526 m/s2
// braking and 0.4 g/0.9016 = 4.351 m/s2 driving.
TEST(Balance, OnLevelGroundAWheelLiftsAtTheClosedForm) {
  const std::vector<Feature> level = {flat(60.0)};
  EXPECT_EQ(bare(level, {braking(10.0, 6.5, 2.0, 0.2)}), "");
  EXPECT_EQ(bare(level, {braking(10.0, 6.6, 2.0, 0.2)}).substr(0, 31),
            "event[0].rate = 6.6 m/s2: at 11");
  EXPECT_NE(bare(level, {braking(10.0, 7.0, 2.0, 0.2)})
                .find("m the rear wheel lifts: at most 6.5 m/s2 can be braked there (level ground "
                      "6.5)"),
            std::string::npos);
  EXPECT_EQ(bare(level, {accelerating(10.0, 4.3, 14.0, 0.2)}, 5.0), "");
  EXPECT_NE(bare(level, {accelerating(10.0, 4.4, 14.0, 0.2)}, 5.0)
                .find("m the front wheel lifts: at most 4.3 m/s2 can be accelerated there (level "
                      "ground 4.4)"),
            std::string::npos);
}

// The second of two events is at fault, on level ground behind hills that are not.
TEST(Balance, TheEventThatBrakesThereIsToBlame) {
  const std::string found = bare({flat(20.0), flat(20.0, -5.0 * kDegree), flat(60.0)},
                                 {braking(5.0, 3.0, 6.0, 0.2), accelerating(25.0, 1.0, 8.0, 0.2),
                                  corner(60.0, 0.3, 5.0, 0.3), braking(70.0, 7.0, 2.0, 0.2)});
  EXPECT_EQ(found.substr(0, 30), "event[3].rate = 7 m/s2: at 71.") << found;
  EXPECT_EQ(found.find('\n'), found.size() - 1);
}

// tan(beta) = 0.6 L/h and 0.4 L/h: 33.64 deg down and 23.92 deg up.
TEST(Balance, AGradeThatTipsTheBikeIsItsFeaturesFault) {
  const auto over = [](double degrees) {
    return bare({flat(20.0), flat(20.0, degrees * kDegree), flat(20.0)}, {}, 3.0);
  };
  EXPECT_EQ(over(-33.5), "");
  EXPECT_EQ(over(23.8), "");
  const std::string down = over(-34.0);
  EXPECT_EQ(down.substr(0, 32), "terrain[1].grade = -34 deg: at 2") << down;
  EXPECT_NE(down.find("at 3.0 m/s on a grade of -34.0 deg, the rear wheel lifts: at most -33.6 deg "
                      "can be ridden there"),
            std::string::npos)
      << down;
  const std::string up = over(24.2);
  EXPECT_EQ(up.substr(0, 33), "terrain[1].grade = 24.2 deg: at 2") << up;
  EXPECT_NE(up.find("the front wheel lifts: at most 23.9 deg"), std::string::npos) << up;
}

// What is as steep without being a flat is named by the number that makes it steep.
TEST(Balance, ALandingIsToBlameByItsAngle) {
  const std::string found =
      bare({flat(20.0), drop(0.5, 36.0 * kDegree, 12.0, 4.0), flat(20.0)}, {}, 3.0);
  EXPECT_EQ(found.substr(0, 37), "terrain[1].landing_angle = 36 deg: at") << found;
}

// A drag of 0.33 v^2 must be driven against: D h/L = phi m g at v = 34.2 m/s for 90 kg or so.
TEST(Balance, OnLevelGroundWithoutEventsTheSpeedIsToBlame) {
  plunge::Setup setup = setup_on({flat(60.0)}, {}, 40.0);
  Rider rider = bare_rider(setup);
  rider.bike.drag = 0.33;
  const double limit =
      std::sqrt(rider.bike.front_mass * kGravity / rider.bike.cg_lever / rider.bike.drag);
  const std::string found = words(setup, rider);
  EXPECT_EQ(found.substr(0, 13), "ride.speed = ") << found;
  const std::string most = "the front wheel lifts: at most ";
  ASSERT_NE(found.find(most), std::string::npos) << found;
  EXPECT_NEAR(std::stod(found.substr(found.find(most) + most.size())), limit, 0.11);
  setup.ride.speed = 20.0;
  setup.events = {accelerating(5.0, 0.5, 40.0, 0.2)};
  setup.terrain = {flat(2000.0)};
  fill_defaults(setup);
  EXPECT_EQ(words(setup, rider).substr(0, 19), "event[0].to_speed =") << words(setup, rider);
}

// By hand: m_r g = m a h/L + (m g h/L^2)(x - x_rest) sin(theta), x under the whole weight and the
// braking force of the front wheel; the rear wheel still brakes with mu times what the dive takes.
TEST(Balance, TheDivingForkBringsTheLimitDown) {
  const plunge::Setup setup = setup_on({flat(80.0)}, {braking(10.0, 7.0, 2.0, 0.2)}, 10.0);
  Rider rider = assemble_ridden(setup);
  rider.bike.rolling = 0.0;
  rider.bike.drag = 0.0;
  const BikeLine<double>& bike = rider.bike;
  const double mass = bike.total_mass;
  double limit = 6.0;
  double dive = 0.0;
  for (int i = 0; i < 100; ++i) {
    const double front = mass * limit - bike.grip * dive;
    const double normal = mass * kGravity;
    const double along = normal * bike.sine + front * bike.cosine -
                         rider.unsprung_mass * (kGravity * bike.sine + limit * bike.cosine) -
                         rider.spin_mass * limit * bike.cosine;
    const double x = travel_under(rider, along);
    dive = bike.dive_lever * kGravity * (x - bike.rest_travel) * bike.sine;
    limit = ((mass - bike.front_mass) * kGravity - dive) / (mass * bike.cg_lever);
  }
  EXPECT_LT(limit, 6.0);
  const std::string found = words(setup, rider);
  const std::string most = "the rear wheel lifts: at most ";
  ASSERT_NE(found.find(most), std::string::npos) << found;
  EXPECT_NEAR(std::stod(found.substr(found.find(most) + most.size())), limit, 0.11) << found;
}

// A wheel that jumps is no wheel that tips, nor do bumps shorter than the window tip a bike.
TEST(Balance, JumpsAndBumpsDoNotTip) {
  EXPECT_EQ(bare({flat(20.0), flat(10.0, 20.0 * kDegree), flat(40.0)}, {}, 10.0), "");
  EXPECT_EQ(bare({flat(20.0), bumps(BumpShape::half_sine, 0.5, 0.1, 1.0, 10.0), flat(20.0)},
                 {braking(15.0, 4.0, 2.0, 0.2)}, 10.0),
            "");
}

// With its sag still to be held, and once it is.
TEST(Balance, ARideIsJudgedBeforeAndAfterItsSagIsHeld) {
  plunge::Setup setup = setup_on({flat(60.0)}, {braking(10.0, 6.4, 2.0, 0.2)});
  setup.fork.pressure = kUnset;
  setup.hold.sag = 0.22;
  const Faults before = judge_ride(setup, Held::sag);
  ASSERT_EQ(before.size(), 1u);
  EXPECT_EQ(before.front().key, "event[0].rate");
  EXPECT_EQ(before.front().value, "6.4 m/s2");
  const Faults after = settle(setup);
  ASSERT_EQ(after.size(), 1u);
  EXPECT_EQ(after.front().rule, before.front().rule);
  // A plan's ride is judged with the ground that it is ridden on.
  EXPECT_TRUE(settle(setup, judge_ground_of, {}).empty());
}

TEST(Balance, AnEvenGradeTipsABikeThatStandsOverItsWheel) {
  // By hand: brakes that hold a bike on a slope leave the rear wheel m_r g cos(beta) -
  // m g sin(beta) h/L, and drive leaves the front wheel as much with m_f: tan(beta) is the load's
  // share over h/L.
  const plunge::Setup setup = setup_on({flat(20.0)}, {});
  const Rider rider = bare_rider(setup);
  const double front = rider.bike.front_mass / rider.bike.total_mass;
  const double down = std::atan((1.0 - front) / rider.bike.cg_lever);
  const double up = std::atan(front / rider.bike.cg_lever);
  EXPECT_FALSE(judge_even_grade(rider, 3.0, 0.0));
  EXPECT_FALSE(judge_even_grade(rider, 3.0, -0.999 * down));
  EXPECT_FALSE(judge_even_grade(rider, 3.0, 0.999 * up));
  const auto downhill = judge_even_grade(rider, 3.0, -1.01 * down);
  ASSERT_TRUE(downhill);
  EXPECT_EQ(downhill->rule.find("at 3.0 m/s the rear wheel lifts: at most -"), 0u);
  const auto uphill = judge_even_grade(rider, 3.0, 1.01 * up);
  ASSERT_TRUE(uphill);
  EXPECT_EQ(uphill->rule.find("at 3.0 m/s the front wheel lifts: at most "), 0u);
}

TEST(Balance, GradesPastTrustAreFoundWhereTheyBegin) {
  plunge::Setup setup = setup_on({flat(20.0), flat(10.0, -29.0 * kDegree), flat(20.0)}, {}, 3.0);
  const auto place = [&] {
    return first_past_trust(build_grade(setup.terrain, setup.bike), line_of(setup));
  };
  EXPECT_FALSE(place());
  setup.terrain[1].grade = -31.0 * kDegree;
  // Within the half window on either side of where the slope begins, seen from the middle.
  ASSERT_TRUE(place());
  EXPECT_GT(*place(), 20.0);
  EXPECT_LT(*place(), 22.0 + 0.5 * setup.bike.wheelbase);
  setup.terrain = {flat(20.0, 31.0 * kDegree)};
  EXPECT_EQ(*place(), 0.0);
}

}  // namespace
}  // namespace plunge::balance_test
