#include "sim/measure/reserve.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "models/laws/constants.hpp"
#include "models/setup/statics.hpp"
#include "tests/support.hpp"

namespace plunge::reserve_test {
namespace {

// A linear coil of 8 N/mm under 14 + 26 kg, and a bumper over the last 10 mm.
Rider on_a_coil() {
  plunge::Setup setup = standard_setup();
  setup.fork.spring = Spring::coil;
  setup.fork.negative = NegativeSpring::none;
  setup.fork.coil = {8000.0, 40.0};
  return assemble(setup);
}

TEST(Reserve, OfACoilAndABumperIsThatByHand) {
  // From 100 mm: 40*0.05 + 8000 (0.15^2 - 0.1^2)/2 = 2 + 50 J; the bumper's 3e4*0.01^2/2 +
  // 6.5e9*0.01^4/4 = 1.5 + 16.25 J.
  const Rider rider = on_a_coil();
  EXPECT_NEAR(energy_to_metal(rider, 0.03, 0.1), 69.75, 1e-9);
  // From 145 mm: 8000 (0.15^2 - 0.145^2)/2 + 0.2 and 17.75 - 0.375 - 1.015625 J.
  EXPECT_NEAR(energy_to_metal(rider, 0.03, 0.145), 6.1 + 16.359375, 1e-9);
  EXPECT_EQ(energy_to_metal(rider, 0.03, 0.15), 0.0);
  EXPECT_EQ(energy_to_metal(rider, 0.03, 0.152), 0.0);
}

TEST(Reserve, OfAGasIsTheWorkOfItsQuickStroke) {
  const Rider rider = assemble(standard_setup());
  const double x = 0.11;
  const int steps = 100'000;
  double work = 0.0;
  for (int i = 0; i < steps; ++i) {
    const double at = x + (rider.travel - x) * (i + 0.5) / steps;
    work += (fast_spring_force(rider, 0.033, at) + rider.bumper.force(at, 0.0, at > 0.14)) *
            (rider.travel - x) / steps;
  }
  ASSERT_GT(work, 30.0);
  EXPECT_NEAR(energy_to_metal(rider, 0.033, x), work, 1e-6 * work);
}

TEST(Reserve, AsHeightLiftsWhatLandsAndWhatSinksFurther) {
  // By hand: 69.75 J of 14 + 3.8 + 26 kg are 162.4 mm, of which 50 mm sin(65) are sunk anyway.
  const Rider rider = on_a_coil();
  ASSERT_NEAR(rider.unsprung_mass, 3.8, 1e-12);
  EXPECT_NEAR(drop_to_metal(rider, 69.75, 0.1), 69.75 / (43.8 * kGravity) - 0.05 * rider.bike.sine,
              1e-12);
  EXPECT_NEAR(drop_to_metal(rider, 69.75, 0.1), 0.1171, 1e-4);
  EXPECT_EQ(drop_to_metal(rider, 1.0, 0.1), 0.0);
}

}  // namespace
}  // namespace plunge::reserve_test
