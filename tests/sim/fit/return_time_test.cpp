#include "sim/fit/return_time.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/fork_at_bench.hpp"

namespace plunge::return_time_test {
namespace {

// A coil fork with linear damping and no friction: m x'' + c x' + k x = 0 from rest at x0, which
// is overdamped: x = x0 (r2 e^(r1 t) - r1 e^(r2 t))/(r2 - r1).
TEST(ReturnTime, IsThatOfAnOverdampedOscillator) {
  constexpr double kMass = 4.0, kRate = 8000.0, kDamping = 800.0, kFrom = 0.1, kUntil = 0.01;
  Rider rider = assemble(family_fork().setup);
  rider.has_air = false;
  rider.has_friction = false;
  rider.unsprung_mass = kMass;
  rider.coil = {kRate, 0.0};
  rider.damper.rebound.low_speed = rider.damper.rebound.high_speed = kDamping;
  const double root = std::sqrt(square(kDamping / (2.0 * kMass)) - kRate / kMass);
  const double slow = -kDamping / (2.0 * kMass) + root;
  const double fast = -kDamping / (2.0 * kMass) - root;
  const auto travel = [&](double t) {
    return kFrom * (fast * std::exp(slow * t) - slow * std::exp(fast * t)) / (fast - slow);
  };
  const double time = return_time(rider, kFrom, kUntil, 0.0);
  EXPECT_NEAR(travel(time), kUntil, 1e-6);
  EXPECT_GT(time, 0.1);
}

TEST(ReturnTime, TwiceTheDampingTakesTwiceAsLong) {
  Rider rider = assemble(family_fork().setup);
  const double time = return_time(rider, 0.12, 0.06, kPi / 2.0);
  rider.damper.rebound.low_speed *= 2.0;
  rider.damper.rebound.high_speed *= 2.0;
  // Nearly: the wheel is light, and the knee is passed.
  EXPECT_NEAR(return_time(rider, 0.12, 0.06, kPi / 2.0) / time, 2.0, 0.35);
}

// Air that has lost its heat while it was held, and the negative chamber, hold the piston before
// full extension.
TEST(ReturnTime, AForkMayRestBeforeFullExtension) {
  EXPECT_TRUE(std::isnan(return_time(assemble(family_fork().setup), 0.12, 0.0, kPi / 2.0)));
}

TEST(ReturnTime, AForkThatSticksNeverComesBack) {
  Rider rider = assemble(family_fork().setup);
  rider.friction.seal = 1e5;
  EXPECT_TRUE(std::isnan(return_time(rider, 0.12, 0.06, kPi / 2.0)));
}

}  // namespace
}  // namespace plunge::return_time_test
