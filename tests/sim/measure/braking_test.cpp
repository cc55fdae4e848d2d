#include "sim/measure/braking.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "models/setup/parameters.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/ride/run.hpp"
#include "tests/builders.hpp"
#include "tests/support.hpp"

namespace plunge::braking_test {
namespace {

// From 10 m/s at 10 m down by 5 m/s at 5 m/s2: it brakes from 1 s on, for 1.2 s.
RideLine one_second() {
  RideSetup ride;
  ride.speed = 10.0;
  return {ride, {braking(10.0, 5.0, 5.0, 0.2)}, 40.0};
}

TEST(Braking, TimeIsThatOfTheEventsAlone) {
  EXPECT_NEAR(braking_time(one_second(), 10.0), 1.2, 1e-12);
  EXPECT_NEAR(braking_time(one_second(), 1.5), 0.5, 1e-12);
  EXPECT_EQ(braking_time(one_second(), 0.5), 0.0);
}

// Two events, one after the other at once, are two.
TEST(Braking, TimeOfTwoEventsAddsUp) {
  RideSetup ride;
  ride.speed = 10.0;
  const RideLine line(ride, {braking(10.0, 5.0, 8.0, 0.2), braking(30.0, 4.0, 4.0, 0.5)}, 60.0);
  EXPECT_NEAR(braking_time(line, 100.0), 0.6 + 1.5, 1e-12);
}

// The wheel is in the air as the brake comes on, then grip limits it, with a hop in between.
TEST(Braking, LossesAreSharedOutByHand) {
  const RideLine line = one_second();
  const std::vector<Located> located = {{0.2, "brake_limited_by_grip"},
                                        {0.4, "brake_grips"},
                                        {0.9, "lift_off"},
                                        {1.1, "touch_down"},
                                        {1.3, "bumper_contact"},
                                        {1.5, "brake_limited_by_grip"},
                                        {1.6, "lift_off"},
                                        {1.65, "touch_down"},
                                        {1.8, "brake_grips"},
                                        {2.1, "lift_off"}};
  const BrakeLosses losses = brake_losses(line, located, 3.0);
  EXPECT_NEAR(losses.air.time, 0.1 + 0.05 + 0.1, 1e-12);
  EXPECT_NEAR(losses.air.first, 10.0, 1e-9);
  EXPECT_NEAR(losses.air.longest, 0.1, 1e-12);
  EXPECT_NEAR(losses.grip.time, 0.1 + 0.15, 1e-12);
  EXPECT_NEAR(losses.grip.first, line.at(1.5).distance, 1e-12);
  EXPECT_NEAR(losses.grip.longest, 0.15, 1e-12);
  EXPECT_NEAR(losses.grip.longest_at, line.at(1.65).distance, 1e-12);
  EXPECT_EQ(brake_losses(line, {}, 3.0).air.time, 0.0);
  EXPECT_TRUE(std::isnan(brake_losses(line, {}, 3.0).air.first));
}

double value(const Result& result, const std::string& name) {
  for (const Metric& metric : result.metrics) {
    if (metric.name == name) return metric.value;
  }
  return kUnset;
}

Setup braking_setup(std::vector<Feature> terrain, double grip) {
  plunge::Setup setup = standard_setup();
  setup.ride.speed = 8.0;
  setup.terrain = std::move(terrain);
  setup.events = {braking(10.0, 3.0, 3.0, 0.2)};
  setup.bike.tyre_grip = grip;
  fill_defaults(setup);
  return setup;
}

// On level ground the front wheel is asked for 0.7 of the braking force; grip of 0.9 gives it.
TEST(Braking, GripLimitsTheFrontBrakeOfASlipperyTyre) {
  const Result dry = run_ride(braking_setup({flat(30.0)}, 0.9));
  EXPECT_EQ(value(dry, "brake_grip_limited"), 0.0);
  EXPECT_EQ(value(dry, "brake_in_air"), 0.0);
  const Result wet = run_ride(braking_setup({flat(30.0)}, 0.2));
  EXPECT_GT(value(wet, "brake_grip_limited"), 0.7);
  EXPECT_LT(value(wet, "brake_grip_limited"), 1.0);
  EXPECT_EQ(value(wet, "brake_in_air"), 0.0);
}

// Off a drop; the share is that of the samples without force, to a sample's width at either end.
TEST(Braking, AWheelInTheAirIsCounted) {
  const plunge::Setup setup = braking_setup({flat(12.0), drop(0.4), flat(20.0)}, 0.9);
  const Result result = run_ride(setup);
  const RideLine line(setup.ride, setup.events, 32.0);
  const auto& force = channel(result, "ground_force");
  double in_air = 0.0;
  for (std::size_t i = 0; i < force.size(); ++i) {
    const bool brakes = line.phases()[line.phase_at(result.time[i])].brakes;
    if (brakes && force[i] == 0.0) in_air += 1.0 / setup.ride.sample_rate;
  }
  const double share = in_air / braking_time(line, line.duration());
  EXPECT_GT(share, 0.05);
  EXPECT_NEAR(value(result, "brake_in_air"), share, 0.01);
}

TEST(Braking, DoesNotApplyWhereNoEventBrakes) {
  plunge::Setup setup = braking_setup({flat(12.0)}, 0.9);
  setup.events.clear();
  const Result result = run_ride(setup);
  EXPECT_TRUE(std::isnan(value(result, "brake_in_air")));
  EXPECT_TRUE(std::isnan(value(result, "brake_grip_limited")));
}

}  // namespace
}  // namespace plunge::braking_test
