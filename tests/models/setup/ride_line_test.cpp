#include "models/setup/ride_line.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

#include "models/setup/fault.hpp"
#include "tests/builders.hpp"
#include "tests/support.hpp"

namespace plunge::ride_line_test {
namespace {

constexpr double kGround = 100.0;  // [m]
constexpr double kShare = 0.6;     // of the front where no event brakes

RideLine line(double speed, const std::vector<RideEvent>& events, double ground = kGround) {
  RideSetup ride;
  ride.speed = speed;
  ride.brake_share = kShare;
  return RideLine(ride, events, ground);
}

std::string refusal(double speed, const std::vector<RideEvent>& events) {
  try {
    line(speed, events);
  } catch (const InputError& error) {
    return error.what();
  }
  return "";
}

// Two brakes, a spurt and two corners, one of them braked into.
std::vector<RideEvent> a_busy_trail() {
  return {braking(10.0, 4.0, 5.0, 0.2), corner(14.0, 0.5, 8.0, 0.4),
          accelerating(30.0, 2.0, 9.0, 0.3), braking(60.0, 6.0, 8.5, 0.25),
          corner(70.0, -0.3, 5.0, 0.3)};
}

TEST(RideLine, ASteadyRideIsAStraightLine) {
  const RideLine steady = line(5.0, {});
  EXPECT_EQ(steady.phases().size(), 1u);
  EXPECT_DOUBLE_EQ(steady.duration(), 20.0);
  const Motion<double> motion = steady.at(7.0);
  EXPECT_DOUBLE_EQ(motion.distance, 35.0);
  EXPECT_EQ(motion.speed, 5.0);
  EXPECT_EQ(motion.acceleration, 0.0);
  EXPECT_EQ(motion.brake_share, kShare);
  EXPECT_EQ(motion.gravity, kGravity);
}

TEST(RideLine, DistanceSpeedAndAccelerationGoOnUnbroken) {
  const RideLine busy = line(8.0, a_busy_trail());
  const std::vector<RidePhase>& phases = busy.phases();
  ASSERT_GT(phases.size(), 12u);
  for (std::size_t i = 1; i < phases.size(); ++i) {
    const double cut = phases[i].start;
    ASSERT_GT(cut, phases[i - 1].start);
    const Motion<double> before = phases[i - 1].at(cut);
    const Motion<double> after = phases[i].at(cut);
    EXPECT_NEAR(before.distance, after.distance, 1e-12 * (1.0 + after.distance)) << i;
    EXPECT_NEAR(before.speed, after.speed, 1e-12) << i;
    EXPECT_NEAR(before.acceleration, after.acceleration, 1e-12) << i;
    EXPECT_NEAR(before.gravity, after.gravity, 1e-12) << i;
  }
}

TEST(RideLine, SpeedIsTheSlopeOfDistanceAndAccelerationThatOfSpeed) {
  const RideLine busy = line(8.0, a_busy_trail());
  const double h = 1e-5;
  for (double t = 0.05; t < busy.duration() - 0.05; t += 0.0137) {
    const Motion<double> before = busy.at(t - h);
    const Motion<double> after = busy.at(t + h);
    const Motion<double> now = busy.at(t);
    EXPECT_NEAR((after.distance - before.distance) / (2.0 * h), now.speed, 1e-8) << t;
    EXPECT_NEAR((after.speed - before.speed) / (2.0 * h), now.acceleration, 3e-4) << t;
    EXPECT_GT(now.speed, 0.0);
  }
}

TEST(RideLine, StoppingDistanceIsTheClosedForm) {
  // By hand: from 8 to 5 m/s at 4 m/s2 with rises of 0.2 s takes 3/4 + 0.2 s; a trapezoid of
  // acceleration is symmetric in time, so the mean speed is 6.5 m/s: 0.95*6.5 = 6.175 m.
  const RideLine braked = line(8.0, {braking(10.0, 4.0, 5.0, 0.2)});
  EXPECT_NEAR(braked.event_starts()[0], 1.25, 1e-12);
  EXPECT_NEAR(braked.event_ends()[0], 2.2, 1e-12);
  EXPECT_NEAR(braked.at(2.2).distance, 16.175, 1e-11);
  EXPECT_EQ(braked.at(2.2).speed, 5.0);
  EXPECT_EQ(braked.at(2.3).acceleration, 0.0);
  EXPECT_NEAR(braked.at(1.7).acceleration, -4.0, 1e-12);
  // 83.825 m are left at 5 m/s.
  EXPECT_NEAR(braked.duration(), 2.2 + 83.825 / 5.0, 1e-11);
}

TEST(RideLine, ASmallChangeOfSpeedNeverReachesItsFullRate) {
  // By hand: 0.5 m/s at up to 6 m/s2 with rises of 0.25 s would need 1.5 m/s. The two ramps meet at
  // sqrt(0.5*6/0.25) = 3.4641 m/s2 after sqrt(0.5*0.25/6) = 0.144338 s.
  const RideLine brief = line(9.0, {braking(9.0, 6.0, 8.5, 0.25)});
  EXPECT_NEAR(brief.event_ends()[0] - brief.event_starts()[0], 0.288675, 1e-6);
  EXPECT_NEAR(brief.at(1.0 + 0.144338).acceleration, -3.4641, 1e-4);
  EXPECT_EQ(brief.at(1.3).speed, 8.5);
  double hardest = 0.0;
  for (double t = 0.9; t < 1.4; t += 1e-4) {
    hardest = std::min(hardest, brief.at(t).acceleration);
  }
  EXPECT_NEAR(hardest, -3.4641, 2e-3);
}

TEST(RideLine, ABrakeHasItsOwnShareOfTheFront) {
  // While it brakes; before and after, and while the rider pedals, that of the ride.
  const RideLine braked = line(8.0, {braking(10.0, 4.0, 5.0, 0.2)});
  EXPECT_EQ(braked.at(1.7).brake_share, 0.7);
  EXPECT_EQ(braked.at(1.3).brake_share, 0.7);
  EXPECT_EQ(braked.at(1.2).brake_share, kShare);
  EXPECT_EQ(braked.at(2.25).brake_share, kShare);
  const RideLine spurt = line(5.0, {accelerating(10.0, 2.0, 9.0, 0.3)});
  EXPECT_NEAR(spurt.at(3.0).acceleration, 2.0, 1e-12);
  for (double t = 0.0; t < spurt.duration(); t += 0.01) {
    EXPECT_EQ(spurt.at(t).brake_share, kShare);
    EXPECT_FALSE(spurt.phases()[spurt.phase_at(t)].brakes);
  }
  EXPECT_EQ(spurt.at(spurt.event_ends()[0]).speed, 9.0);
}

TEST(RideLine, PhasesOfABrakeAreMarked) {
  // The share changes where the acceleration is 0, so that no force jumps on level ground.
  const RideLine busy = line(8.0, a_busy_trail());
  const std::vector<RidePhase>& phases = busy.phases();
  for (std::size_t i = 1; i < phases.size(); ++i) {
    EXPECT_EQ(phases[i].brakes, phases[i].brake_share == 0.7) << i;
    if (phases[i].brakes == phases[i - 1].brakes) continue;
    EXPECT_NEAR(phases[i].at(phases[i].start).acceleration, 0.0, 1e-12) << i;
  }
  const auto brakes = [&](double time) { return busy.phases()[busy.phase_at(time)].brakes; };
  EXPECT_FALSE(brakes(busy.event_starts()[0] - 1e-6));
  EXPECT_TRUE(brakes(busy.event_starts()[0] + 1e-6));
  EXPECT_TRUE(brakes(busy.event_ends()[0] - 1e-6));
  EXPECT_FALSE(brakes(busy.event_ends()[0] + 1e-6));
}

TEST(RideLine, ACornerPressesWithOneOverTheCosineOfItsLean) {
  // By hand: steady cornering at lean phi loads the bike's plane with g/cos(phi); 0.5 rad: 1.13949.
  const RideLine leaned = line(5.0, {corner(10.0, 0.5, 8.0, 0.4)});
  EXPECT_NEAR(leaned.at(3.0).gravity / kGravity, 1.13949, 1e-5);
  EXPECT_EQ(leaned.lean_at(3.0), 0.5);
  EXPECT_EQ(leaned.at(1.9).gravity, kGravity);
  // Half-way in, the smoothstep of fifth order has half the lean.
  EXPECT_NEAR(leaned.lean_at(2.2), 0.25, 1e-12);
  EXPECT_NEAR(leaned.lean_at(4.2), 0.25, 1e-12);
  // In at 2 s, leaned at 2.4, 8 m at 5 m/s, out until 4.4 s.
  EXPECT_NEAR(leaned.event_starts()[0], 2.0, 1e-12);
  EXPECT_NEAR(leaned.event_ends()[0], 4.4, 1e-12);
  EXPECT_EQ(leaned.at(4.45).gravity, kGravity);
  // Left and right press alike.
  const RideLine other = line(5.0, {corner(10.0, -0.5, 8.0, 0.4)});
  EXPECT_EQ(other.at(2.15).gravity, leaned.at(2.15).gravity);
}

TEST(RideLine, ACornerMayBeBrakedInto) {
  // What is covered, and when, is as without the corner.
  const RideLine both = line(8.0, a_busy_trail());
  std::vector<RideEvent> upright;
  for (const RideEvent& event : a_busy_trail()) {
    if (event.kind != EventKind::corner) upright.push_back(event);
  }
  const RideLine straight = line(8.0, upright);
  EXPECT_NEAR(both.duration(), straight.duration(), 1e-11);
  for (double t = 0.0; t < both.duration(); t += 0.0171) {
    EXPECT_NEAR(both.at(t).distance, straight.at(t).distance, 1e-11) << t;
    EXPECT_EQ(both.at(t).brake_share, straight.at(t).brake_share) << t;
  }
  EXPECT_GT(both.at(both.time_at(15.5)).gravity, kGravity);
  EXPECT_LT(both.at(both.time_at(15.5)).acceleration, 0.0);
}

TEST(RideLine, TimeAndDistanceUndoEachOther) {
  const RideLine busy = line(8.0, a_busy_trail());
  for (double s = 0.0; s <= kGround; s += 0.173) {
    EXPECT_NEAR(busy.at(busy.time_at(s)).distance, s, 1e-12 * (1.0 + s));
  }
  EXPECT_NEAR(busy.at(busy.duration()).distance, kGround, 1e-10);
  // Also where speed changes by a large factor in one phase.
  const RideLine spurt = line(0.3, {accelerating(1.0, 20.0, 15.0, 1.0)}, 30.0);
  for (double s = 0.0; s <= 30.0; s += 0.05) {
    EXPECT_NEAR(spurt.at(spurt.time_at(s)).distance, s, 1e-12 * (1.0 + s));
  }
  const RideLine stop = line(15.0, {braking(1.0, 12.0, 0.3, 1.5)}, 30.0);
  for (double s = 0.0; s <= 30.0; s += 0.05) {
    EXPECT_NEAR(stop.at(stop.time_at(s)).distance, s, 1e-12 * (1.0 + s));
  }
}

TEST(RideLine, ADurationThatIsGivenHolds) {
  RideSetup ride;
  ride.speed = 5.0;
  ride.duration = 3.0;
  EXPECT_EQ(RideLine(ride, {}, kGround).duration(), 3.0);
}

TEST(RideLine, EventsMayBeGivenInAnyOrder) {
  const std::vector<RideEvent> forth{braking(10.0, 4.0, 5.0, 0.2),
                                     accelerating(30.0, 2.0, 9.0, 0.3)};
  const std::vector<RideEvent> back{forth[1], forth[0]};
  const RideLine a = line(8.0, forth);
  const RideLine b = line(8.0, back);
  EXPECT_EQ(a.duration(), b.duration());
  EXPECT_EQ(a.event_ends()[0], b.event_ends()[1]);
  EXPECT_EQ(a.event_starts()[1], b.event_starts()[0]);
}

TEST(RideLine, OverlapsAreRefused) {
  EXPECT_EQ(refusal(8.0, {braking(10.0, 4.0, 5.0, 0.2), accelerating(16.0, 2.0, 9.0, 0.3)}),
            "event[1].at: begins before the change of speed before it has ended");
  EXPECT_EQ(refusal(8.0, {braking(10.0, 4.0, 5.0, 0.2), accelerating(16.2, 2.0, 9.0, 0.3)}), "");
  EXPECT_EQ(refusal(8.0, {corner(20.0, 0.3, 5.0, 0.3), corner(10.0, 0.5, 8.0, 0.4)}),
            "event[0].at: begins before the corner before it has ended");
  EXPECT_EQ(refusal(8.0, {braking(-1.0, 4.0, 5.0, 0.2)}),
            "event[0].at: must not lie before the start");
  EXPECT_EQ(refusal(8.0, {corner(-1.0, 0.5, 8.0, 0.4)}),
            "event[0].at: must not lie before the start");
}

TEST(RideLine, AChangeOfSpeedTheWrongWayIsRefused) {
  EXPECT_EQ(refusal(8.0, {braking(10.0, 4.0, 9.0, 0.2)}),
            "event[0].to_speed: must be below the speed at which the braking begins");
  EXPECT_EQ(refusal(8.0, {accelerating(10.0, 4.0, 8.0, 0.2)}),
            "event[0].to_speed: must be above the speed at which the accelerating begins");
}

}  // namespace
}  // namespace plunge::ride_line_test
