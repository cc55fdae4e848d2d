#include "sim/measure/metal_hit.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <string>
#include <vector>

#include "sim/ride/run.hpp"
#include "tests/ready_setup.hpp"
#include "tests/support.hpp"

namespace plunge::metal_hit_test {
namespace {

// A rider whose fork is nothing but its metal: no damper, no bumper, no spring that grows stiffer.
Rider bare(double contact, double chassis) {
  Rider rider = assemble(standard_setup());
  rider.has_air = false;
  rider.damper = {};
  rider.hydraulic_stop = {};
  rider.bumper.stiffness = rider.bumper.cubic = 0.0;
  rider.metal.stiffness = contact;
  rider.metal.give = 1.0 / chassis;
  rider.metal.loss = 0.0;
  return rider;
}

TEST(MetalHit, ClosingMassIsThatOfAForkWithItsEndsFree) {
  // By hand: 3.8 + 0.2/0.35^2 cos^2 65 - (3.8 sin 65)^2/17.8 = 3.42526 kg; upright the reduced mass
  // of both.
  Rider rider = assemble(standard_setup());
  EXPECT_NEAR(closing_mass(rider), 3.42526, 1e-5);
  rider.bike.cosine = 0.0;
  rider.bike.sine = 1.0;
  EXPECT_DOUBLE_EQ(closing_mass(rider), 3.8 * 14.0 / 17.8);
}

TEST(MetalHit, AFreeForkPutsItsClosingEnergyIntoContactAndChassis) {
  // At 2 m/s, with nothing that drives or slows it but metal: the peak is where all is stored, and
  // a hard contact leaves it to the chassis, F = v sqrt(m_x k_c).
  const Rider rider = bare(1e8, 2.5e5);
  const double energy = 0.5 * closing_mass(rider) * 4.0;
  double d = 0.0;
  while (rider.metal.stored_energy(rider.metal.limit + d) < energy) d += 1e-7;
  const Closing hit{0.0, 2.0, rider.travel, 2.0, 0.0, 0.0};
  EXPECT_NEAR(force_of_hit(rider, hit), rider.metal.elastic(d), 1.0);
  EXPECT_NEAR(force_of_hit(bare(1e11, 2.5e5), hit), 2.0 * std::sqrt(closing_mass(rider) * 2.5e5),
              10.0);
}

TEST(MetalHit, TheBandRunsFromTheSoftestToTheStiffest) {
  const Closing hit{0.0, 2.0, 0.15, 2.0, 0.0, 0.0};
  const ForceBand band = band_of_hit(bare(1e8, 2.5e5), hit);
  EXPECT_DOUBLE_EQ(band.low, force_of_hit(bare(3e7, 1.5e5), hit));
  EXPECT_DOUBLE_EQ(band.high, force_of_hit(bare(3e8, 4e5), hit));
  EXPECT_LT(1.3 * band.low, band.high);
  // A fork of its own beyond widens it.
  EXPECT_DOUBLE_EQ(band_of_hit(bare(1e9, 1e6), hit).high, force_of_hit(bare(1e9, 1e6), hit));
  EXPECT_DOUBLE_EQ(band_of_hit(bare(1e7, 1e5), hit).low, force_of_hit(bare(1e7, 1e5), hit));
}

TEST(MetalHit, IsAsARideWithThatMetalHasIt) {
  // A landing that is too hard by far: fork peaks of rides with other stiffnesses against what one
  // ride alone says of them. What a hit of one degree of freedom leaves out, the ground that goes
  // on pressing and the rider who sinks, is below 3 % of the force.
  for (const auto& [speed, height] : {std::pair{"35 km/h", "0.9 m"}, std::pair{"35 km/h", "1.3 m"},
                                      std::pair{"45 km/h", "1.6 m"}}) {
    std::vector<std::string> set = {"fork.spacers=0", "terrain[1].height=" + std::string(height),
                                    "ride.speed=" + std::string(speed), "ride.duration=1.8 s"};
    const auto ridden = [&](double contact, double chassis) {
      plunge::Setup setup = shipped_setup("drop-to-landing", set);
      setup.fork.stops.metal_stiffness = contact;
      setup.fork.stops.chassis_stiffness = chassis;
      return run_ride(setup);
    };
    const auto number = [](const Result& result, const std::string& name) {
      for (const Metric& m : result.metrics) {
        if (m.name == name) return m.value;
      }
      return kUnset;
    };
    const Result usual = ridden(1e8, 2.5e5);
    const double low = number(usual, "metal_force_low");
    const double high = number(usual, "metal_force_high");
    const double soft = number(ridden(3e7, 1.5e5), "fork_force_max");
    const double stiff = number(ridden(3e8, 4e5), "fork_force_max");
    EXPECT_NEAR(low, soft, 0.03 * soft) << height;
    EXPECT_NEAR(high, stiff, 0.03 * stiff) << height;
    EXPECT_LE(low, 1.01 * number(usual, "fork_force_max")) << height;
    EXPECT_GE(high, number(usual, "fork_force_max")) << height;
    std::printf("%s: %.0f to %.0f N, ridden %.0f, %.0f, %.0f N\n", height, low, high, soft,
                number(usual, "fork_force_max"), stiff);
  }
}

}  // namespace
}  // namespace plunge::metal_hit_test
