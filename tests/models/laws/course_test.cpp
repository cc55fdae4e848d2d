#include "models/laws/course.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>

#include "tests/support.hpp"

namespace plunge::course_test {
namespace {

constexpr double kDegree = kPi / 180.0;

// Bike and rider of 91 kg, 40 % of them in front, wheelbase 1.22 m, centre of gravity at 1.1 m,
// wheels of 0.35 m; air of 1.2 kg/m3 on 0.55 m2.
constexpr double kMass = 91.0;
constexpr double kWheelbase = 1.22;
constexpr double kHeight = 1.1;
constexpr double kRadius = 0.35;

BikeLine<double> bike() {
  BikeLine<double> bike;
  bike.sine = std::sin(65.0 * kDegree);
  bike.cosine = std::cos(65.0 * kDegree);
  bike.total_mass = kMass;
  bike.front_mass = 0.40 * kMass;
  bike.cg_lever = kHeight / kWheelbase;
  bike.axle_lever = (kHeight - kRadius) / kWheelbase;
  bike.dive_lever = kMass * kHeight / square(kWheelbase);
  bike.rest_travel = 0.03;
  bike.rolling = 0.03 * kMass * kGravity;
  bike.drag = 0.5 * 1.2 * 0.55;
  bike.grip = 0.9;
  return bike;
}

BikeLine<double> free_rolling_bike() {
  BikeLine<double> free = bike();
  free.rolling = free.drag = 0.0;
  return free;
}

Motion<double> on_grade(double grade, double speed = 5.0, double acceleration = 0.0) {
  return {0.0, speed, acceleration, 0.65, kGravity, {std::tan(grade), 0.0, 0.0}};
}

Motion<double> any_motion(Dice& dice) {
  return {0.0,
          dice.between(0.5, 15.0),
          dice.between(-8.0, 4.0),
          dice.between(0.0, 1.0),
          kGravity / std::cos(dice.between(0.0, 0.7)),
          {dice.between(-0.7, 0.7), dice.between(-0.2, 0.2), dice.between(-0.3, 0.3)}};
}

// Load on the front with the braking force that is asked for.
double front_load(const BikeLine<double>& bike, const Course<double>& line) {
  return line.front_load + line.brake_wanted * bike.cg_lever;
}

TEST(Course, ASteadyGradeLoadsTheFrontByTheClosedForm) {
  // phi m g cos + P h/L + F_rr (h - r)/L, worked out by hand at 5 m/s.
  constexpr std::array<std::array<double, 2>, 6> kLoads = {{{-25.0, 647.55},
                                                            {-15.0, 537.66},
                                                            {-8.0, 450.28},
                                                            {0.0, 341.84},
                                                            {8.0, 226.31},
                                                            {15.0, 121.15}}};
  for (const auto& [degrees, load] : kLoads) {
    const Course<double> line = bike().course(on_grade(degrees * kDegree));
    EXPECT_NEAR(front_load(bike(), line), load, 5e-3) << degrees;
  }
}

TEST(Course, FreeRollingLeavesTheStaticLoadAndTheResistance) {
  // P = 0 where the grade pays for the resistance: m g sin = F_rr + F_aero.
  double grade = 0.0;
  for (int i = 0; i < 50; ++i) {
    grade = -std::asin((0.03 * std::cos(grade) * kMass * kGravity +
                        0.5 * 1.2 * 0.55 * square(5.0 / std::cos(grade))) /
                       (kMass * kGravity));
  }
  const Course<double> line = bike().course(on_grade(grade));
  EXPECT_NEAR(line.drive, 0.0, 1e-9);
  EXPECT_NEAR(line.brake_wanted + line.rear_brake, 0.0, 1e-9);
  EXPECT_NEAR(line.front_load,
              std::cos(grade) * kMass * kGravity * (0.40 + 0.03 * (kHeight - kRadius) / kWheelbase),
              1e-9);
}

TEST(Course, MomentsAboutTheRearContactGiveTheLoads) {
  // A rigid bike on a straight line in its own axes, e along and n across: both contacts carry a
  // normal force, the resistance is a couple F_rr r on the wheels, and the air pushes at the centre
  // of gravity. Forces and moments about the rear contact must add up to m times the acceleration
  // (a/cos + kappa sin, kappa cos) at the centre of gravity.
  Dice dice(3);
  for (int i = 0; i < 1000; ++i) {
    const BikeLine<double> b = bike();
    Motion<double> motion = any_motion(dice);
    motion.gravity = kGravity;
    const Course<double> line = b.course(motion);
    const double grade = std::atan(motion.grade.slope);
    const double kappa = square(motion.speed) * motion.grade.rate;
    const double rolling = 0.03 * kMass * kGravity * std::cos(grade);
    const double air = 0.5 * 1.2 * 0.55 * square(motion.speed / std::cos(grade));
    const double front = front_load(b, line);
    const double rear = line.rear_load;
    const double brakes = line.brake_wanted + line.rear_brake;
    const double along = line.drive - brakes - rolling - air - kMass * kGravity * std::sin(grade);
    const double across = front + rear - kMass * kGravity * std::cos(grade);
    const double forward = motion.acceleration / std::cos(grade) + kappa * std::sin(grade);
    const double up = kappa * std::cos(grade);
    EXPECT_NEAR(along, kMass * forward, 1e-9 * kMass * 100.0);
    EXPECT_NEAR(across, kMass * up, 1e-9 * kMass * 100.0);
    // Backwards forces at the centre of gravity lift the front; a couple against the wheels' turn
    // that is taken up by shifted contacts does so too.
    const double held = front * kWheelbase + rolling * kRadius;
    const double turned = kMass * (kGravity * std::cos(grade) + up) * 0.40 * kWheelbase -
                          (kMass * (kGravity * std::sin(grade) + forward) + air) * kHeight;
    EXPECT_NEAR(held, turned, 1e-9 * kMass * 100.0) << i;
  }
}

TEST(Course, BeyondALimitTheRearOrTheFrontLifts) {
  // P/m = g (1 - phi) L/h and D/m = g phi L/h: 6.53 and 4.35 m/s2 on level ground.
  const BikeLine<double> free = free_rolling_bike();
  const double brakes = kGravity * 0.6 * kWheelbase / kHeight;
  const double drives = kGravity * 0.4 * kWheelbase / kHeight;
  EXPECT_NEAR(brakes, 6.53, 5e-3);
  EXPECT_NEAR(drives, 4.35, 5e-3);
  EXPECT_NEAR(free.course(on_grade(0.0, 5.0, -brakes)).rear_load, 0.0, 1e-9);
  EXPECT_NEAR(free.course(on_grade(0.0, 5.0, drives)).front_load, 0.0, 1e-9);
  // A rear wheel that is about to lift brakes no more: the front takes all.
  const Course<double> over = free.course(on_grade(0.0, 5.0, -1.05 * brakes));
  EXPECT_EQ(over.rear_brake, 0.0);
  EXPECT_NEAR(over.brake_wanted, kMass * 1.05 * brakes, 1e-9);
}

TEST(Course, GripOfTheRearLimitsItsBrakeAndTheFrontTakesTheRest) {
  const BikeLine<double> free = free_rolling_bike();
  Motion<double> motion = on_grade(0.0, 5.0, -5.0);
  motion.brake_share = 0.0;
  const Course<double> line = free.course(motion);
  EXPECT_NEAR(line.rear_brake, 0.9 * line.rear_load, 1e-9);
  EXPECT_NEAR(line.rear_brake + line.brake_wanted, kMass * 5.0, 1e-9);
  EXPECT_GT(line.brake_wanted, 100.0);
  motion.brake_share = 0.65;
  motion.acceleration = -3.0;
  EXPECT_NEAR(free.course(motion).brake_wanted, 0.65 * kMass * 3.0, 1e-9);
}

TEST(Course, NothingIsMovedWhereNothingPushes) {
  // Level, at rest, without resistance.
  const Course<double> line = free_rolling_bike().course(on_grade(0.0, 0.0));
  EXPECT_EQ(line.transfer, 0.0);
  EXPECT_EQ(line.transfer_in_air, 0.0);
  EXPECT_EQ(line.drive, 0.0);
  EXPECT_EQ(line.brake_wanted, 0.0);
  EXPECT_EQ(line.pitch_rate, 0.0);
  EXPECT_EQ(line.sine, free_rolling_bike().sine);
  EXPECT_EQ(line.cosine, free_rolling_bike().cosine);
  EXPECT_NEAR(line.front_load, 0.40 * kMass * kGravity, 1e-12);
}

TEST(Course, TheTransferIsWhatTheFrontCarriesBeyondItsWeight) {
  // A front that follows the line rises with a T + v^2 T'; vertical forces on it, from N along the
  // normal of the line and B along its tangent, with any braking force and travel.
  Dice dice(4);
  for (int i = 0; i < 1000; ++i) {
    const BikeLine<double> b = bike();
    const Motion<double> motion = any_motion(dice);
    const Course<double> line = b.course(motion);
    const double brake = dice.between(0.0, 500.0);
    const double x = dice.between(0.0, 0.15);
    const double normal = line.front_load + brake * b.cg_lever + b.dive_load(line, x);
    const double rise =
        motion.acceleration * motion.grade.slope + square(motion.speed) * motion.grade.rate;
    const double grade = std::atan(motion.grade.slope);
    const double transfer = line.transfer + brake * line.transfer_by_brake +
                            (x - b.rest_travel) * line.transfer_by_travel;
    EXPECT_NEAR(
        normal * std::cos(grade) - brake * std::sin(grade) - b.front_mass * (motion.gravity + rise),
        transfer, 1e-9 * 1e4)
        << i;
  }
}

TEST(Course, ADivingForkLoadsTheFrontAndTheForwardShareIsItsLever) {
  // The head comes down by dx sin of the legs at the front: the centre of gravity, h above the
  // line, comes forward by h dx sin/L as the bike turns about its rear contact.
  const BikeLine<double> b = bike();
  const Course<double> line = b.course(on_grade(0.0));
  EXPECT_NEAR(b.dive_load(line, 0.03), 0.0, 1e-12);
  const double forward = kHeight * 0.06 * b.sine / kWheelbase;
  EXPECT_NEAR(b.dive_load(line, 0.09), kMass * kGravity * forward / kWheelbase, 1e-9);
}

TEST(Course, ATyreHandsOverToTheAirWithoutAJump) {
  BikeLine<double> b = bike();
  b.light_load = kLightLoad * b.front_mass * kGravity;
  const double light = 0.05 * 0.40 * kMass * kGravity;
  EXPECT_EQ(b.grounded(0.0), 0.0);
  EXPECT_EQ(b.grounded(-100.0), 0.0);
  EXPECT_NEAR(b.grounded(0.5 * light), 0.5, 1e-12);
  EXPECT_NEAR(b.grounded(light), 1.0, 1e-12);
  EXPECT_EQ(b.grounded(1000.0), 1.0);
  // Level at both ends.
  EXPECT_NEAR(b.grounded(1e-3 * light), 3e-6, 1e-8);
  EXPECT_NEAR(b.grounded((1.0 - 1e-3) * light), 1.0 - 3e-6, 1e-8);
}

TEST(Course, PitchRateAndAccelerationAreThoseOfTheLine) {
  // theta' along s(t) by differences, with T(s) the parabola that slope, rate and bend give.
  Dice dice(5);
  for (int i = 0; i < 1000; ++i) {
    const Motion<double> motion = any_motion(dice);
    const BikeLine<double> b = bike();
    const Course<double> line = b.course(motion);
    const auto angle = [&](long double t) {
      const long double s = motion.speed * t + motion.acceleration * t * t / 2;
      return 65.0L * kDegree -
             std::atan(motion.grade.slope + motion.grade.rate * s + motion.grade.bend * s * s / 2);
    };
    const long double h = 1e-4L;
    EXPECT_NEAR(line.pitch_rate, static_cast<double>((angle(h) - angle(-h)) / (2 * h)), 1e-5);
    EXPECT_NEAR(line.pitch_acceleration,
                static_cast<double>((angle(h) - 2 * angle(0) + angle(-h)) / (h * h)), 1e-4);
    EXPECT_NEAR(line.sine, static_cast<double>(std::sin(angle(0))), 1e-14);
    EXPECT_NEAR(line.cosine, static_cast<double>(std::cos(angle(0))), 1e-14);
  }
}

TEST(Course, InACornerOnlyTheWeightOnTheWheelsGrows) {
  // The slope still pulls with g0 and the resistance is that of the upright bike.
  Motion<double> upright = on_grade(-10.0 * kDegree);
  Motion<double> leant = upright;
  leant.gravity = kGravity / std::cos(0.6);
  const Course<double> a = bike().course(upright);
  const Course<double> b = bike().course(leant);
  EXPECT_NEAR(a.brake_wanted + a.rear_brake, b.brake_wanted + b.rear_brake, 1e-12);
  EXPECT_NEAR(front_load(bike(), b) - front_load(bike(), a),
              0.40 * kMass * (leant.gravity - kGravity) * std::cos(10.0 * kDegree), 1e-9);
}

}  // namespace
}  // namespace plunge::course_test
