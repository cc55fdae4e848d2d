#include "sim/fit/bench.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "models/setup/statics.hpp"
#include "tests/fork_at_bench.hpp"
#include "tests/ready_setup.hpp"

namespace plunge::bench_test {
namespace {

constexpr double kAmbient = 101325.0;  // ISO 2533, level of the sea [Pa]

plunge::Setup fork() { return family_fork().setup; }

// Boyle: p V is the same before and after, with the hose part of the chamber.
TEST(Bench, PumpThatStaysOnFollowsBoyle) {
  const plunge::Setup setup = fork();
  const AirSetup& air = setup.fork.air;
  BenchReading reading = reading_of(ReadingKind::pump_on, 1.0, 5e5, 2.0);
  reading.reading.travel = 0.1;
  const double open = air.main_volume - 2.0 * air.spacer_volume - air.oil_volume + air.hose_volume;
  const double shut = open - 0.1 * air.main_area;
  EXPECT_NEAR(predicted(setup, 1.0, reading), (5e5 + kAmbient) * open / shut - kAmbient, 1e-3);
  // A gauge that shows too little is set to more than it says, and says less than there is.
  const double gain = 1.1;
  EXPECT_NEAR(predicted(setup, gain, reading),
              ((5e5 * gain + kAmbient) * open / shut - kAmbient) / gain, 1e-3);
}

// At full extension: p V/(V + V_h).
TEST(Bench, PumpThatIsScrewedOnAgainLosesWhatFillsItsHose) {
  const plunge::Setup setup = fork();
  const AirSetup& air = setup.fork.air;
  BenchReading reading = reading_of(ReadingKind::pump_again, 1.0, 5e5, 0.0);
  reading.reading.travel = 0.0;
  const double volume = air.main_volume - air.oil_volume;
  EXPECT_NEAR(predicted(setup, 1.0, reading), 5e5 * volume / (volume + air.hose_volume), 1e-3);
}

// What stands in equilibrium: the force at the sag is the weight, less or more the friction.
TEST(Bench, SagCarriesTheWeightWithFrictionAgainstTheWay) {
  plunge::Setup setup = fork();
  setup.fork.spacers = 0.0;
  setup.fork.pressure = 70.0 * kPsi;
  const Rider rider = assemble(setup);
  const double seal = setup.fork.friction.seal;
  const double weight = 30.0 * kGravity;
  for (const auto& [moving, friction] :
       {std::pair(Moving::down, -seal), std::pair(Moving::settled, 0.0),
        std::pair(Moving::up, seal)}) {
    const double sag = predicted(setup, 1.0, sag_reading(30.0, moving));
    EXPECT_NEAR(slow_force(rider, sag), weight + friction, 1e-6);
  }
  EXPECT_LT(predicted(setup, 1.0, sag_reading(30.0, Moving::down)),
            predicted(setup, 1.0, sag_reading(30.0, Moving::up)));
  // Leaning legs carry the part of the weight along them, and rub on their bushings.
  BenchReading leaning = sag_reading(30.0, Moving::settled);
  leaning.reading.angle = 65.0 * kPi / 180.0;
  EXPECT_NEAR(slow_force(rider, predicted(setup, 1.0, leaning)),
              weight * std::sin(leaning.reading.angle), 1e-6);
}

TEST(Bench, AScaleShowsSpringAndFriction) {
  plunge::Setup setup = fork();
  setup.fork.spacers = 4.0;
  setup.fork.pressure = 30.0 * kPsi;
  const Rider rider = assemble(setup);
  const double spring = slow_spring_force(rider, setup.fork.travel);
  EXPECT_NEAR(predicted(setup, 1.0, push_reading(4.0, Moving::down)) * kGravity,
              spring + setup.fork.friction.seal, 1e-6);
  EXPECT_NEAR(predicted(setup, 1.0, push_reading(4.0, Moving::up)) * kGravity,
              spring - setup.fork.friction.seal, 1e-6);
}

TEST(Bench, ReadsWhatIsMeasuredItself) {
  const plunge::Setup setup = fork();
  EXPECT_DOUBLE_EQ(predicted(setup, 1.0, stack_reading(4.0)), 4.0 * setup.fork.air.spacer_volume);
  const double bore = predicted(setup, 1.0, reading_of(ReadingKind::bore, 1e-4));
  EXPECT_NEAR(kPi / 4.0 * bore * bore, setup.fork.air.main_area, 1e-12);
  EXPECT_DOUBLE_EQ(predicted(setup, 1.0, reading_of(ReadingKind::wheel, 0.05)),
                   setup.fork.wheel_share * setup.fork.unsprung_mass);
}

// The ring of a scene is what a ride of it says, with the fork and the pressure of the reading.
TEST(Bench, ARingIsTheLargestTravelOfARide) {
  const plunge::Setup scene = shipped_setup("drop-to-flat");
  BenchReading ring = reading_of(ReadingKind::ring, 2e-3, scene.fork.pressure);
  ring.scene = scene;
  ring.scene.fork = fork().fork;
  plunge::Setup with = fork();
  with.fork = scene.fork;
  ReadyRide ride;
  ride.setup = scene;
  const Result whole = ride_one(ride);
  const double travel = std::ranges::find(whole.metrics, "travel_max", &Metric::name)->value;
  EXPECT_DOUBLE_EQ(predicted(with, 1.0, ring), travel);
  ring.reading.pressure *= 0.9;
  EXPECT_GT(predicted(with, 1.0, ring), travel);
}

// By hand: with dp/dx of a chamber, and dp/dp, in quadrature with the reading's own.
TEST(Bench, SpreadHoldsWhatSettingAndTravelLeaveOpen) {
  const plunge::Setup setup = fork();
  const AirSetup& air = setup.fork.air;
  Instruments instruments = usual_instruments();
  BenchReading reading = reading_of(ReadingKind::pump_on, 5e3, 5e5, 0.0);
  const double open = air.main_volume - air.oil_volume + air.hose_volume;
  const double shut = open - setup.fork.travel * air.main_area;
  const double by_pressure = open / shut * instruments.pressure;
  const double by_travel =
      (5e5 + kAmbient) * open * air.main_area / square(shut) * instruments.travel;
  EXPECT_NEAR(whole_spread(setup, 1.0, instruments, reading),
              std::sqrt(square(5e3) + square(by_pressure) + square(by_travel)), 20.0);
  EXPECT_DOUBLE_EQ(whole_spread(setup, 1.0, instruments, stack_reading(4.0)), 0.5e-6);
}

TEST(Bench, AForkWithoutRoomForAirCannotBeRead) {
  EXPECT_TRUE(std::isnan(predicted(fork(), 1.0, push_reading(30.0, Moving::down))));
}

}  // namespace
}  // namespace plunge::bench_test
