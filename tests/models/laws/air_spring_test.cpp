#include "models/laws/air_spring.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <vector>

#include "models/setup/atmosphere.hpp"
#include "models/setup/statics.hpp"
#include "tests/support.hpp"

namespace plunge::air_spring_test {
namespace {

constexpr double kRoom = 293.15;  // [K]

Rider held_at_sag(int spacers, double more_oil = 0.0) {
  Setup setup = worked_design_point();
  setup.fork.spacers = spacers;
  setup.fork.air.oil_volume += more_oil;
  hold_sag(setup, 0.22);
  return assemble(setup);
}

double pressure_held(int spacers, double more_oil = 0.0) {
  Setup setup = worked_design_point();
  setup.fork.spacers = spacers;
  setup.fork.air.oil_volume += more_oil;
  hold_sag(setup, 0.22);
  return setup.fork.pressure;
}

// The air spring of the worked design point and what it holds at 6 bar.
struct Filled {
  AirSpring<double> spring;
  AirMasses<double> masses;
};

Filled at_six_bar() {
  const Rider rider = assemble(standard_setup());
  return {rider.air, rider.air.inflated(6e5, kSeaLevelPressure, kRoom)};
}

TEST(AirSpring, WorkedDesignPointComesOut) {
  // The project's physics notes, computed independently there: slow force at 75 and 148 mm [N] and
  // pressure [psi] for 0 to 4 spacers at 22 % sag. Tolerance: half the last digit printed.
  constexpr std::array<double, 5> kMid{604, 612, 621, 632, 644};
  constexpr std::array<double, 5> kDeep{1157, 1229, 1319, 1439, 1603};
  constexpr std::array<double, 5> kPressure{89.2, 88.1, 86.8, 85.4, 83.9};
  for (int spacers = 0; spacers <= 4; ++spacers) {
    const auto i = static_cast<std::size_t>(spacers);
    const Rider rider = held_at_sag(spacers);
    EXPECT_NEAR(slow_spring_force(rider, 0.075), kMid[i], 0.5) << spacers;
    EXPECT_NEAR(slow_spring_force(rider, 0.148), kDeep[i], 0.5) << spacers;
    EXPECT_NEAR(pressure_held(spacers) / kPsi, kPressure[i], 0.05) << spacers;
  }
}

TEST(AirSpring, MoreSpacersAtEqualSagAskLessAirStartSofterRideHigherAndEndHarder) {
  // Common practice (no source).
  for (int spacers = 0; spacers < 4; ++spacers) {
    const Rider fewer = held_at_sag(spacers);
    const Rider more = held_at_sag(spacers + 1);
    EXPECT_LT(pressure_held(spacers + 1), pressure_held(spacers));
    EXPECT_LT(slow_spring_force(more, 0.015), slow_spring_force(fewer, 0.015));
    EXPECT_LT(breakaway_force(more), breakaway_force(fewer));
    EXPECT_GT(slow_spring_force(more, 0.075), slow_spring_force(fewer, 0.075));
    const double gain_in_mid = slow_spring_force(more, 0.075) / slow_spring_force(fewer, 0.075);
    const double gain_at_end = slow_spring_force(more, 0.148) / slow_spring_force(fewer, 0.148);
    EXPECT_GT(gain_at_end, gain_in_mid);
  }
}

TEST(AirSpring, OilDoesWhatSpacersDo) {
  // Common practice, and by hand: 9 cm3 of oil is one spacer of 9 cm3.
  EXPECT_NEAR(pressure_held(0, 9e-6), pressure_held(1), 1e-3);
  for (const double x : {0.0, 0.02, 0.075, 0.148}) {
    EXPECT_NEAR(slow_spring_force(held_at_sag(0, 9e-6), x), slow_spring_force(held_at_sag(1), x),
                1e-6);
  }
}

TEST(AirSpring, AirAloneIsProgressive) {
  // Common practice; closed form of one chamber: k = p A^2/V rises as V falls. Past the port the
  // negative chamber fades, which bends the curve the other way at first.
  const Filled fork = at_six_bar();
  const auto stiffness = [&](double x) {
    return (fork.spring.slow_force(fork.masses, x + 1e-4) -
            fork.spring.slow_force(fork.masses, x - 1e-4)) /
           2e-4;
  };
  for (double x = 0.08; x < 0.145; x += 0.005) EXPECT_GT(stiffness(x + 0.005), stiffness(x)) << x;
}

TEST(AirSpring, BothChambersHoldOnePressureAtThePort) {
  const auto [spring, masses] = at_six_bar();
  const double x = spring.port.deep_edge();
  EXPECT_NEAR(spring.main.pressure(masses.main, kRoom, x),
              spring.negative.pressure(masses.negative, kRoom, x), 1e-8);
  // The pump's reading is the main chamber's at full extension.
  EXPECT_NEAR(spring.main.pressure(masses.main, kRoom, 0.0), 6e5 + 101325.0, 1e-8);
  // Deeper, the main chamber holds more and the negative chamber less; above it is the reverse.
  EXPECT_GT(spring.main.pressure(masses.main, kRoom, 0.05),
            spring.negative.pressure(masses.negative, kRoom, 0.05));
  EXPECT_LT(spring.main.pressure(masses.main, kRoom, 0.0),
            spring.negative.pressure(masses.negative, kRoom, 0.0));
}

TEST(AirSpring, ForceAtThePortIsGaugePressureOnTheDifferenceOfAreas) {
  // By hand: V+(0) 195 cm3, V+(6 mm) 190.5 cm3: p = 701325*195/190.5 = 717891.8 Pa, less 101325
  // leaves 616566.8 Pa on 0.8 cm2: 49.325 N.
  const auto [spring, masses] = at_six_bar();
  EXPECT_NEAR(spring.slow_force(masses, 6e-3), 49.325, 1e-3);
}

TEST(AirSpring, FastStrokeIsStifferThanSlowAndStartsFromTheSameForce) {
  const auto [spring, masses] = at_six_bar();
  const double from = 0.033;
  EXPECT_NEAR(spring.fast_force(masses, from, from), spring.slow_force(masses, from), 1e-9);
  for (double x = 0.04; x < 0.15; x += 0.01) {
    EXPECT_GT(spring.fast_force(masses, from, x), spring.slow_force(masses, x)) << x;
  }
  EXPECT_LT(spring.fast_force(masses, from, 0.02), spring.slow_force(masses, 0.02));
  // Closed form: small fast strokes are gamma times as stiff.
  const double h = 1e-5;
  const double fast =
      spring.fast_force(masses, from, from + h) - spring.fast_force(masses, from, from - h);
  const double slow = spring.slow_force(masses, from + h) - spring.slow_force(masses, from - h);
  EXPECT_NEAR(fast / slow, kGamma, 1e-5);
}

TEST(AirSpring, AirInTheLegsResistsCompressionOnly) {
  // By hand: 300 cm3 sealed at ambient pressure and swept by 10 cm2; at 150 mm half is left, so
  // one atmosphere of gauge pressure acts on 10 cm2: 101.325 N.
  auto [spring, masses] = at_six_bar();
  spring.leg = {300e-6, -10e-4, 1.0, kRoom};
  masses.leg = spring.inflated(6e5, kSeaLevelPressure, kRoom).leg;
  const auto [without, same] = at_six_bar();
  EXPECT_NEAR(spring.slow_force(masses, 0.15) - without.slow_force(same, 0.15), 101.325, 1e-6);
  EXPECT_NEAR(spring.slow_force(masses, 0.0) - without.slow_force(same, 0.0), 0.0, 1e-9);
}

TEST(AirSpring, AForkTakenUpAMountainFirmsUp) {
  // By hand: the chambers keep their absolute pressure while ambient falls by 31.2165 kPa to 3 km;
  // at full extension that acts on the 7.5 - 6.7 = 0.8 cm2 that is open to the air: 2.497 N.
  const auto [low, masses] = at_six_bar();
  AirSpring<double> high = low;
  high.ambient = ambient_pressure(3000.0);
  EXPECT_NEAR(high.slow_force(masses, 0.0) - low.slow_force(masses, 0.0), 2.497, 1e-3);
}

TEST(AirSpring, GaugeFollowsTheWeather) {
  // Ideal gas, by hand: (80 psi + 14.696)*T/293.15 - 14.696: 73.54 psi at 0 degC, 86.46 at 40.
  const auto read_at = [](double celsius) {
    return gauge_elsewhere(80.0 * kPsi, kSeaLevelPressure, kRoom, kSeaLevelPressure,
                           celsius + kZeroCelsius) /
           kPsi;
  };
  EXPECT_NEAR(read_at(0.0), 73.54, 0.005);
  EXPECT_NEAR(read_at(20.0), 80.0, 1e-12);
  EXPECT_NEAR(read_at(40.0), 86.46, 0.005);
}

TEST(AirSpring, GaugeRisesWithAltitude) {
  // By hand: the reading gains what the atmosphere loses, 101325 - 79495.2 Pa to 2 km: 3.166 psi.
  const double read =
      gauge_elsewhere(80.0 * kPsi, kSeaLevelPressure, kRoom, ambient_pressure(2000.0), kRoom);
  EXPECT_NEAR(read / kPsi, 83.166, 5e-4);
}

TEST(AirSpring, AHoseTakesItsShare) {
  // Boyle, by hand: the hose holds ambient air, so (p + p_a) V + p_a V_h = (q + p_a)(V + V_h) gives
  // q = p V/(V + V_h): 80 psi in 195 cm3 on a hose of 5 cm3 reads 78 psi.
  EXPECT_NEAR(reading_with_hose(80.0, 195e-6, 5e-6), 78.0, 1e-12);
  EXPECT_EQ(reading_with_hose(80.0, 195e-6, 0.0), 80.0);
}

}  // namespace
}  // namespace plunge::air_spring_test
