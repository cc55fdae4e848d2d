// Gas, atmosphere, pump and oil against published laws, read off assembled and ridden scenes.
//
// tests/outside/data/air-column.toml is a mass on a single chamber of air; tests/support.hpp gives
// the psi.
#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <string>
#include <vector>

#include "tests/outside/rig.hpp"
#include "tests/support.hpp"

namespace plunge::outside_gas_test {
namespace {

using Complex = std::complex<double>;

const char* const kLevel = "[[terrain]]\nkind = \"flat\"\nlength = \"10 m\"\n";

// Force over travel of a chamber that is ridden over small waves, over its isothermal stiffness at
// the sag; w: angular frequency, tau: thermal time constant.
Complex stiffness_ratio(double w, double tau) {
  const double speed = 5.0;
  const Result result =
      ridden(rig("air-column", waves(2.0 * kPi * speed / w, 50e-6, 62.0),
                 {"ride.duration=12s", fmt::format("fork.air.main_time={} s", tau)}));
  const Complex force = wave_in(result, "air_force", w, 9.0, 12.0);
  const Complex travel = wave_in(result, "travel", w, 9.0, 12.0);
  EXPECT_GT(std::abs(travel), 50e-6);
  return force / travel / number_in(result, "stiffness_slow");
}

// n* = (1 + j gamma w tau)/(1 + j w tau): isothermal when slow, isentropic when fast.
TEST(Gas, ComplexStiffnessOfASmallStroke) {
  const double w = 4.0 * kPi;
  for (const double slowness : {0.02, 0.4, 3.0, 50.0}) {
    const Complex found = stiffness_ratio(w, slowness / w);
    const Complex expected = (1.0 + Complex(0.0, 1.4 * slowness)) / (1.0 + Complex(0.0, slowness));
    const std::string at = fmt::format("gas spring at w tau = {}: ", slowness);
    record({at + "stiffness over isothermal", "closed form", expected.real(), found.real(), 2e-5});
    record({at + "loss over isothermal", "closed form", expected.imag(), found.imag(), 2e-5});
  }
}

TEST(Gas, LossPeaksBetweenSlowAndFast) {
  const double w = 4.0 * kPi;
  const auto loss = [&](double slowness) {
    const Complex ratio = stiffness_ratio(w, slowness / w);
    return ratio.imag() / ratio.real();
  };
  // Computed: (gamma - 1)/(2 sqrt gamma) at 1/sqrt gamma.
  const double peak = loss(0.845154);
  record(
      {"gas spring: largest loss factor, at w tau = 0.845154", "computed", 0.169031, peak, 2e-5});
  EXPECT_LT(loss(0.7), peak);
  EXPECT_LT(loss(1.0), peak);
}

// Ambient pressure of a scene's altitude, taken as geopotential.
TEST(Atmosphere, IsTheStandardOne) {
  struct Level {
    double kilometres;
    double pressure;  // [hPa]
  };
  // ISO 2533.
  for (const Level& level : {Level{1.0, 898.746}, Level{2.0, 794.952}, Level{3.0, 701.085}}) {
    const Prepared prepared =
        prepare(rig("air-column", terrain_of(kLevel),
                    {fmt::format("ambient.altitude={} km", level.kilometres)}));
    record({fmt::format("standard atmosphere at {} km [hPa]", level.kilometres), "ISO 2533",
            level.pressure, prepared.rider.air.ambient / 100.0, 1e-3});
  }
}

// Absolute pressure of the main chamber at full extension and wall temperature [Pa].
double open_pressure(const Rider& rider) {
  return rider.air.main.pressure(rider.main_mass_at_port, rider.air.main.wall, 0.0);
}

TEST(Pump, AGaugeReadsLessInTheCold) {
  struct Reading {
    const char* temperature;
    double gauge;  // [psi]
  };
  // Closed form: (80 + 14.696) T/293.15 K - 14.696.
  for (const Reading& reading : {Reading{"0 degC", 73.54}, Reading{"40 degC", 86.46}}) {
    const Prepared prepared =
        prepare(rig("air-column", terrain_of(kLevel),
                    {"fork.pressure=80psi", "pumped.temperature=20degC",
                     fmt::format("ambient.temperature={}", reading.temperature)}));
    record({fmt::format("80 psi set at 20 degC, read at {} [psi]", reading.temperature),
            "closed form", reading.gauge,
            (open_pressure(prepared.rider) - prepared.rider.air.ambient) / kPsi, 0.005});
  }
}

// How far an ideal gas is off: Z = pV/(mRT) of real air at 300 K.
TEST(Gas, RealAirIsCloseToIdeal) {
  struct Real {
    double pressure;  // absolute [bar]
    double factor;
  };
  // Lemmon and others 2000. The tolerance is what gas_chamber.hpp admits.
  for (const Real& real : {Real{10.0, 0.99716}, Real{20.0, 0.99484}, Real{30.0, 0.99302}}) {
    const Prepared prepared =
        prepare(rig("air-column", terrain_of(kLevel),
                    {"ambient.temperature=300 K", "fork.pressure_limit=30bar",
                     fmt::format("fork.pressure={} Pa", real.pressure * 1e5 - kSeaLevelPressure)}));
    const Rider& rider = prepared.rider;
    const double volume = 250e-6;
    const double gas_constant = 287.05287;
    record({fmt::format("Z of air at 300 K and {} bar, taken as ideal", real.pressure),
            "Lemmon 2000", real.factor,
            open_pressure(rider) * volume / (rider.main_mass_at_port * gas_constant * 300.0),
            0.0072});
  }
}

// Force of a damper of one needle at a speed in compression [N].
double needle_force(double speed, const std::vector<std::string>& more) {
  std::vector<std::string> words = {
      "fork.compression.kind=hydraulic", "fork.compression.piston_area=2 cm2",
      "fork.compression.bleed_area=4 mm2", "fork.compression.bleed_clicks=10",
      "fork.compression.clicks=10"};
  words.insert(words.end(), more.begin(), more.end());
  const Prepared prepared = prepare(rig("air-column", terrain_of(kLevel), words));
  return prepared.rider.damper.force(speed, true);
}

// A slow stroke is laminar, F = 8 pi rho nu L A_p^2/A_n^2 v, and so tells the viscosity.
TEST(Oil, ThinsOutAsTheStandardSays) {
  const double length = 0.1;
  const double density = 860.0;
  const double speed = 1e-6;
  const double force =
      needle_force(speed, {"fork.compression.bleed_length=100 mm", "fork.oil.viscosity_40=32 cSt",
                           "fork.oil.viscosity_100=5.4 cSt", "fork.oil.temperature=80 degC",
                           fmt::format("fork.oil.density={} kg/m3", density)});
  const double areas = 2e-4 / 4e-6;
  record({"oil of 32 and 5.4 cSt at 40 and 100 degC: at 80 degC [cSt]", "ASTM D341", 8.53,
          1e6 * force / (8.0 * kPi * density * length * areas * areas * speed), 0.005});
}

// A fast stroke through a short needle is an orifice, F = A_p^3 rho v^2/(2 C_d^2 A_n^2), and so
// tells the discharge coefficient that a damper has unless the scene says otherwise.
TEST(Oil, ASharpEdgeDischargesPiOverPiPlusTwo) {
  const double density = 860.0;
  const double speed = 10.0;
  const double force = needle_force(speed, {"fork.compression.bleed_length=0.001 mm",
                                            fmt::format("fork.oil.density={} kg/m3", density)});
  const double areas = 2e-4 / 4e-6;
  record({"discharge coefficient of a sharp edge", "free-streamline theory", kPi / (kPi + 2.0),
          areas * speed * std::sqrt(0.5 * density * 2e-4 / force), 5e-4});
}

}  // namespace
}  // namespace plunge::outside_gas_test
