#include "models/setup/assemble.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "models/setup/statics.hpp"
#include "tests/support.hpp"

namespace plunge::assemble_test {
namespace {

constexpr double kRoom = 293.15;  // [K]

Forces<double> forces_at(const Rider& rider, double x, double v) {
  const Motion<double> motion{0.0, 5.0, 0.0, 0.65, kGravity, {}};
  const Course<double> line = rider.course(motion);
  State<double> y = state_at_rest_on(
      rider, [](double) { return PathPoint<double>{}; }, motion);
  y[kTravel] = x;
  y[kTravelSpeed] = v;
  return rider.forces(y, line, {}, modes_of_state(rider, y, line, {}));
}

TEST(Assemble, SpacersAndOilTakeTheirVolumeFromTheMainChamber) {
  // By hand: 198 - 3*9 - 3 = 168 cm3.
  auto setup = standard_setup();
  setup.fork.spacers = 3.0;
  EXPECT_NEAR(assemble(setup).air.main.volume_at(0.0), 168e-6, 1e-15);
}

TEST(Assemble, GasFollowsFromThePump) {
  // Ideal gas, by hand: (6e5 + 101325)*195e-6/(287.05287*293.15) = 1.62519 g in the main chamber;
  // 717891.8 Pa in 19.02 cm3 at the port, 0.16226 g in the negative one.
  const Rider rider = assemble(standard_setup());
  EXPECT_NEAR(rider.main_mass_at_port, 1.62519e-3, 1e-8);
  EXPECT_NEAR(rider.gas_mass - rider.main_mass_at_port, 0.16226e-3, 1e-8);
}

TEST(Assemble, ForkThatWasPumpedInAWarmWorkshopIsSofterOnAColdDay) {
  // Ideal gas, by hand: pumped to 6 bar gauge at 20 degC, 0 degC at full extension reads
  // 701325*273.15/293.15 - 101325 = 552153 Pa.
  auto setup = standard_setup();
  setup.pumped = {0.0, kRoom};
  setup.ambient.temperature = kZeroCelsius;
  const Rider cold = assemble(setup);
  EXPECT_NEAR(cold.air.main.pressure(cold.main_mass_at_port, kZeroCelsius, 0.0) - 101325.0,
              552153.0, 1.0);
  EXPECT_GT(sag(cold), sag(assemble(standard_setup())));
}

TEST(Assemble, ARightHeadAngleHasNoReach) {
  auto setup = standard_setup();
  setup.bike.head_angle = kPi / 2.0;
  EXPECT_EQ(assemble(setup).bike.cosine, 0.0);
  EXPECT_EQ(assemble(setup).bike.sine, 1.0);
}

TEST(Assemble, TheBikeOnItsLineHasTheMassesAndLeversOfTheSetup) {
  // By hand: 80 + 15 kg, of which 14 + 26 + 3.8 stand in front; h 1.1, L 1.25, r 0.36 m.
  auto setup = standard_setup();
  setup.bike.mass = 15.0;
  setup.bike.cg_height = 1.1;
  setup.bike.wheelbase = 1.25;
  setup.bike.wheel_radius = 0.36;
  setup.bike.rolling_resistance = 0.02;
  setup.bike.drag_area = 0.5;
  setup.bike.wheel_inertia = 0.2;
  setup.bike.tyre_grip = 0.8;
  setup.fork.unsprung_mass = 3.8;
  const Rider rider = assemble(setup);
  EXPECT_NEAR(rider.bike.total_mass, 95.0, 1e-12);
  EXPECT_NEAR(rider.bike.front_mass, 43.8, 1e-12);
  EXPECT_NEAR(rider.bike.cg_lever, 0.88, 1e-12);
  EXPECT_NEAR(rider.bike.axle_lever, 0.592, 1e-12);
  EXPECT_NEAR(rider.bike.dive_lever, 66.88, 1e-9);
  EXPECT_NEAR(rider.bike.rolling, 18.632635, 1e-9);
  EXPECT_NEAR(rider.bike.drag, 0.3, 1e-12);  // air of 1.2 kg/m3
  EXPECT_NEAR(rider.spin_mass, 1.54321, 1e-5);
  EXPECT_EQ(rider.bike.grip, 0.8);
  // The dive counts from the sag on level ground.
  EXPECT_EQ(assemble_ridden(setup).bike.rest_travel, sag(rider));
}

TEST(Assemble, HandsCarryTheirShareOfTheBodyAtRestAndTheArmsTheirPart) {
  // By hand: 26 kg, a quarter of it on the hands: 63.743 N; arms are 30 % of 4 kN/m.
  auto setup = standard_setup();
  setup.rider.body_stiffness = 4e3;
  setup.rider.body_damping = 300.0;
  setup.rider.arm_part = 0.30;
  setup.rider.hand_share = 0.25;
  const Rider rider = assemble(setup);
  const double weight = 26.0 * kGravity;
  EXPECT_NEAR(rider.body.hand_force(-weight / 4e3, 0.0), 63.743225, 1e-9);
  EXPECT_NEAR(rider.body.force(-weight / 4e3, 0.0), -weight, 1e-9);
  EXPECT_NEAR(rider.body.arm_stiffness, 1200.0, 1e-9);
  EXPECT_NEAR(rider.body.arm_damping, 90.0, 1e-9);
}

TEST(Assemble, ACoilForkHasNoAirSpring) {
  auto setup = standard_setup();
  setup.fork.spring = Spring::coil;
  setup.fork.pressure = kUnset;
  setup.fork.coil = {8000.0, 30.0};
  const Rider rider = assemble(setup);
  EXPECT_FALSE(rider.has_air);
  EXPECT_EQ(forces_at(rider, 0.05, 0.0).air, 0.0);
  EXPECT_NEAR(forces_at(rider, 0.05, 0.0).coil, 430.0, 1e-9);
  EXPECT_NEAR(slow_spring_force(rider, 0.05), 430.0, 1e-9);
}

TEST(Assemble, AirInTheLegsWorksBesideAnySpring) {
  // By hand: 300 cm3 swept by 10 cm2 halves at 150 mm: one atmosphere of gauge on 10 cm2.
  for (const Spring spring : {Spring::air, Spring::coil}) {
    auto setup = standard_setup();
    setup.fork.spring = spring;
    setup.fork.coil = {8000.0, 30.0};
    const double without = slow_spring_force(assemble(setup), 0.15);
    setup.fork.air.leg_volume = 300e-6;
    setup.fork.air.leg_area = 10e-4;
    setup.fork.air.leg_time = 1.0;
    const Rider rider = assemble(setup);
    EXPECT_TRUE(rider.has_leg_air);
    EXPECT_NEAR(slow_spring_force(rider, 0.15) - without, 101.325, 1e-6);
    EXPECT_NEAR(forces_at(rider, 0.15, 0.0).air + forces_at(rider, 0.15, 0.0).coil,
                slow_spring_force(rider, 0.15), 1e-9);
  }
}

TEST(Assemble, AnAirMainOnANegativeCoilHasNoSecondChamber) {
  // By hand: at full extension 6 bar on 7.5 cm2 less 10 N/mm over 30 mm: 450 - 300 N; past the
  // coil's reach, at 50 mm, p = 701325*195/157.5 absolute: 575.24 N.
  auto setup = standard_setup();
  setup.fork.negative = NegativeSpring::coil;
  setup.fork.negative_coil = {10e3, 0.03};
  const Rider rider = assemble(setup);
  EXPECT_NEAR(slow_spring_force(rider, 0.0), 150.0, 1e-6);
  EXPECT_NEAR(slow_spring_force(rider, 0.05), 575.24, 0.01);
  setup.fork.negative = NegativeSpring::none;
  EXPECT_NEAR(slow_spring_force(assemble(setup), 0.0), 450.0, 1e-6);
}

TEST(Assemble, PartsThatAreLeftOutDoNothing) {
  auto setup = standard_setup();
  setup.fork.hydraulic_stop.length = 0.0;
  setup.fork.friction.seal = setup.fork.friction.bushing = 0.0;
  setup.rider.body_mass = 0.0;
  const Rider rider = assemble(setup);
  const Forces<double> f = forces_at(rider, 0.149, 1.0);
  EXPECT_FALSE(rider.has_friction);
  EXPECT_FALSE(rider.has_body);
  EXPECT_EQ(f.friction, 0.0);
  EXPECT_EQ(f.body, 0.0);
  EXPECT_NEAR(f.damper, rider.damper.force(1.0, true), 1e-12);
  setup.fork.hydraulic_stop = {0.03, 1500.0};
  EXPECT_NEAR(forces_at(assemble(setup), 0.15, 1.0).damper, f.damper + 1500.0, 1e-6);
}

}  // namespace
}  // namespace plunge::assemble_test
