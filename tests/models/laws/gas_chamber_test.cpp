#include "models/laws/gas_chamber.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <complex>

#include "tests/support.hpp"

namespace plunge::gas_chamber_test {
namespace {

constexpr double kWall = 293.15;  // [K]

// A main chamber of 198 cm3 under a 7.5 cm2 piston.
GasChamber<double> main_chamber() { return {198e-6, -7.5e-4, 3.0, kWall}; }

// Temperature after a smooth stroke from 0 to `depth` that takes `duration`.
double stroked(const GasChamber<double>& chamber, double depth, double duration, int steps) {
  using One = std::array<double, 1>;
  const auto rates = [&](double t, const One& y) -> One {
    const double phase = kPi * t / duration;
    const double x = 0.5 * depth * (1.0 - std::cos(phase));
    const double v = 0.5 * depth * kPi / duration * std::sin(phase);
    return {chamber.heating(y[0], x, v)};
  };
  return integrate(One{kWall}, duration, steps, rates)[0];
}

TEST(GasChamber, PressureTimesVolumeIsMassTimesTemperature) {
  // By hand: 1.29 g of air at 300 K in 150 cm3: 1.29e-3*287.05287*300/150e-6 = 740 596 Pa.
  const GasChamber<double> chamber{180e-6, -7.5e-4, 3.0, kWall};
  EXPECT_NEAR(chamber.pressure(1.29e-3, 300.0, 0.04), 740596.4, 0.1);
  EXPECT_NEAR(chamber.mass_at(740596.4, 300.0, 0.04), 1.29e-3, 1e-9);
}

TEST(GasChamber, SlowStrokeIsIsothermal) {
  // A stroke of 1e5 s against a time constant of 3 s. Its lag is at most (gamma-1) T tau |V'|/V,
  // here 3e-5 T, and none at the end, where the stroke comes to rest.
  const GasChamber<double> chamber = main_chamber();
  const double end = stroked(chamber, 0.14, 1e5, 100'000);
  EXPECT_NEAR(end / kWall, 1.0, 1e-8);
  const double compression = chamber.volume_at(0.0) / chamber.volume_at(0.14);
  EXPECT_NEAR(chamber.pressure(1e-3, end, 0.14) / chamber.pressure(1e-3, kWall, 0.0), compression,
              1e-7);
}

TEST(GasChamber, FastStrokeIsIsentropic) {
  // p V^gamma is kept (Poisson) but for what leaks to the wall: about duration/tau = 3e-6.
  const GasChamber<double> chamber = main_chamber();
  const double end = stroked(chamber, 0.14, 1e-5, 2000);
  const double compression = chamber.volume_at(0.0) / chamber.volume_at(0.14);
  const double ratio = chamber.pressure(1e-3, end, 0.14) / chamber.pressure(1e-3, kWall, 0.0);
  EXPECT_NEAR(ratio / std::pow(compression, kGamma), 1.0, 4e-6);
}

TEST(GasChamber, GasThatIsHeldReturnsToItsWallWithTheTimeConstant) {
  // Closed form: T - T_wall = dT exp(-t/tau); after 3 tau 1/e^3 is left.
  const GasChamber<double> chamber = main_chamber();
  using One = std::array<double, 1>;
  const auto rates = [&](double, const One& y) -> One { return {chamber.heating(y[0], 0.1, 0.0)}; };
  const One end = integrate(One{kWall + 40.0}, 9.0, 2000, rates);
  EXPECT_NEAR(end[0] - kWall, 40.0 * std::exp(-3.0), 1e-9);
}

TEST(GasChamber, SmallStrokesMeetTheComplexStiffness) {
  // n* = (1 + j gamma w tau)/(1 + j w tau), against the full equation integrated over a stroke of
  // 1 um about mid-travel and projected on the stroke, after 25 time constants of settling.
  const GasChamber<double> chamber = main_chamber();
  const double middle = 0.07;
  const double size = 1e-6;
  for (const double y : {0.1, 0.845154, 3.0, 20.0}) {
    const double frequency = y / chamber.time;
    const double period = 2.0 * kPi / frequency;
    using Lane = std::array<double, 3>;  // temperature, in-phase and lagging projection
    double from = 0.0;
    const auto rates = [&](double t, const Lane& s) -> Lane {
      const double angle = frequency * (from + t);
      const double x = middle + size * std::sin(angle);
      const double v = size * frequency * std::cos(angle);
      const double pressure = chamber.pressure(1.0, s[0], x);
      return {chamber.heating(s[0], x, v), pressure * std::sin(angle), pressure * std::cos(angle)};
    };
    const int settling = static_cast<int>(std::ceil(25.0 * chamber.time / period));
    Lane state = integrate(Lane{kWall, 0.0, 0.0}, settling * period, settling * 400, rates);
    from = settling * period;
    state = integrate(Lane{state[0], 0.0, 0.0}, period, 4000, rates);
    // dp/p = -n* dV/V, and dV/V = A x/V.
    const double scale = -chamber.area * size / chamber.volume_at(middle) *
                         chamber.pressure(1.0, kWall, middle) * period / 2.0;
    const PolytropicRatio ratio = polytropic_ratio(frequency, chamber.time);
    EXPECT_NEAR(state[1] / scale, ratio.real, 2e-5) << y;
    EXPECT_NEAR(state[2] / scale, ratio.imaginary, 2e-5) << y;
    const std::complex<double> j(0.0, 1.0);
    const std::complex<double> closed = (1.0 + j * kGamma * y) / (1.0 + j * y);
    EXPECT_NEAR(ratio.real, closed.real(), 1e-14);
    EXPECT_NEAR(ratio.imaginary, closed.imag(), 1e-14);
  }
}

TEST(GasChamber, LossPeaksBetweenSlowAndFast) {
  // Computed from n*: loss factor Im/Re is largest, 0.169031, at w tau = 0.845154 = 1/sqrt(gamma).
  const auto loss = [](double y) {
    const PolytropicRatio ratio = polytropic_ratio(y / 3.0, 3.0);
    return ratio.imaginary / ratio.real;
  };
  double peak = 0.0;
  for (double y = 0.5; y < 1.5; y += 1e-6) {
    if (loss(y) > loss(peak)) peak = y;
  }
  EXPECT_NEAR(peak, 0.845154, 2e-6);
  EXPECT_NEAR(loss(peak), 0.169031, 5e-7);
  EXPECT_LT(loss(1e-3), 1e-3);
  EXPECT_LT(loss(1e3), 1e-3);
}

TEST(GasChamber, EnergyBalanceClosesWithFlow) {
  // First law of an open chamber: d(m c_v T)/dt = -p V' - heat + w c_p T_up, at random states.
  const double heat_capacity_p = kGamma * kAirHeatCapacity;
  Dice dice(1);
  for (int i = 0; i < 1000; ++i) {
    const GasChamber<double> chamber{dice.between(50e-6, 250e-6), dice.between(-3e-4, 3e-4),
                                     dice.between(0.5, 9.0), kWall};
    const double x = dice.between(0.0, 0.15);
    const double v = dice.between(-8.0, 8.0);
    const double mass = dice.between(1e-4, 3e-3);
    const double temperature = dice.between(250.0, 700.0);
    const double inflow = dice.between(-5e-3, 5e-3);
    const double upstream = inflow > 0.0 ? dice.between(250.0, 700.0) : temperature;

    const double rate = chamber.heating(temperature, x, v) +
                        GasChamber<double>::flow_heating(inflow, mass, temperature, upstream);
    const double stored = kAirHeatCapacity * (inflow * temperature + mass * rate);
    const double work = -chamber.pressure(mass, temperature, x) * chamber.area * v;
    const double heat = chamber.heat_out(mass, temperature);
    const double enthalpy = inflow * heat_capacity_p * upstream;
    const double turned_over = std::abs(work) + std::abs(heat) + std::abs(enthalpy);
    EXPECT_NEAR(stored, work - heat + enthalpy, 1e-12 * turned_over);
  }
}

TEST(GasChamber, GasThatFlowsOutSlowlyCoolsAsIfItExpanded) {
  // Closed form: what stays behind expands isentropically, T ~ m^(gamma-1). Half of it leaves.
  using Two = std::array<double, 2>;  // mass, temperature
  const auto rates = [](double, const Two& y) -> Two {
    return {-0.5, GasChamber<double>::flow_heating(-0.5, y[0], y[1], y[1])};
  };
  const Two end = integrate(Two{1.0, kWall}, 1.0, 1000, rates);
  EXPECT_NEAR(end[1], kWall * std::pow(0.5, kGamma - 1.0), 1e-8);
}

TEST(GasChamber, RealAirDepartsFromIdealByLessThanOnePerCent) {
  // Lemmon and others 2000, J. Phys. Chem. Ref. Data 29, 331: compressibility Z of air at 300 K.
  // For the mass that fills a chamber at a true pressure p the ideal law says p/Z.
  struct Point {
    double pressure, z, too_high;
  };
  const GasChamber<double> chamber = main_chamber();
  for (const Point& point : {Point{10e5, 0.99716, 0.285e-2}, Point{20e5, 0.99484, 0.519e-2},
                             Point{30e5, 0.99302, 0.703e-2}}) {
    const double density = point.pressure / (point.z * kAirConstant * 300.0);
    const double ideal = chamber.pressure(density * chamber.volume_at(0.1), 300.0, 0.1);
    EXPECT_NEAR(ideal / point.pressure - 1.0, point.too_high, 0.5e-5);
  }
}

}  // namespace
}  // namespace plunge::gas_chamber_test
