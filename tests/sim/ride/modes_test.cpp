#include "sim/ride/modes.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <string>
#include <utility>
#include <vector>

#include "tests/ready_setup.hpp"
#include "tests/scene_files.hpp"

namespace plunge::modes_test {
namespace {

// An upright linear quarter car on a bike whose load nothing moves, c = 400 N.s/m both ways.
Setup linear_setup() {
  std::string text =
      "type = \"scene\"\nformat = [1, 0]\nname = \"linear\"\n"
      "fork = {travel = \"200 mm\", unsprung_mass = \"4 kg\", spring = \"coil\", spacer_limit = 0, "
      "coil = {rate = \"9000 N/m\"}, "
      "compression = {low_speed = \"400 N.s/m\", high_speed = \"400 N.s/m\"}, "
      "rebound = {low_speed = \"400 N.s/m\", high_speed = \"400 N.s/m\"}}\n"
      "rider = {mass = \"80 kg\", sprung_mass = \"30 kg\", body_mass = \"0 kg\"}\n"
      "bike = {head_angle = \"90 deg\", tyre_stiffness = \"90 kN/m\", "
      "tyre_damping = \"0 N.s/m\", wheelbase = \"1000 km\", line_length = \"0 m\", "
      "rolling_resistance = 0, drag_area = \"0 m2\", wheel_inertia = \"0 kg.m2\"}\n"
      "[ride]\nspeed = \"5 m/s\"\n[[terrain]]\nkind = \"flat\"\nlength = \"10 m\"\n";
  return parse_scene(text, "linear").setup;
}

TEST(FindModes, ALinearQuarterCarHasTheRootsOfItsPolynomial) {
  // Closed form: m_s m_u s^4 + c (m_s + m_u) s^3 + (m_s k_t + (m_s + m_u) k) s^2 + c k_t s + k k_t.
  const ModeReport report = find_modes(linear_setup(), {});
  const double ms = 30.0, mu = 4.0, k = 9000.0, c = 400.0, kt = 90000.0;
  ASSERT_EQ(report.modes.size(), 2u);
  for (const Mode& mode : report.modes) {
    const std::complex<double> s(mode.real, mode.imaginary);
    const std::complex<double> p =
        ((((ms * mu) * s + c * (ms + mu)) * s + (ms * kt + (ms + mu) * k)) * s + c * kt) * s +
        k * kt;
    // Against the size of its largest term; the differences are good to about 1e-7.
    EXPECT_LT(std::abs(p), 1e-6 * k * kt * (1.0 + std::norm(s) / 300.0)) << mode.moves;
    EXPECT_GT(mode.imaginary, 0.0);
  }
  EXPECT_EQ(report.modes[0].moves, "frame");
  EXPECT_EQ(report.modes[1].moves, "wheel");
}

TEST(FindModes, EachDirectionHasTheRootsOfItsOwnSlope) {
  // The polynomial above with the slope of one direction; the mean has that of the mean slope.
  plunge::Setup setup = linear_setup();
  setup.fork.compression.low_speed = setup.fork.compression.high_speed = 200.0;
  setup.fork.rebound.low_speed = setup.fork.rebound.high_speed = 600.0;
  const ModeReport report = find_modes(setup, {});
  EXPECT_EQ(report.compression_slope, 200.0);
  EXPECT_EQ(report.rebound_slope, 600.0);
  const double ms = 30.0, mu = 4.0, k = 9000.0, kt = 90000.0;
  for (const auto& [modes, c] :
       {std::pair(&report.compression, 200.0), std::pair(&report.rebound, 600.0),
        std::pair(&report.modes, 400.0)}) {
    ASSERT_EQ(modes->size(), 2U) << c;
    for (const Mode& mode : *modes) {
      const std::complex<double> s(mode.real, mode.imaginary);
      const std::complex<double> p =
          ((((ms * mu) * s + c * (ms + mu)) * s + (ms * kt + (ms + mu) * k)) * s + c * kt) * s +
          k * kt;
      EXPECT_LT(std::abs(p), 1e-6 * k * kt * (1.0 + std::norm(s) / 300.0)) << c << mode.moves;
    }
  }
  EXPECT_GT(report.rebound[0].damping, 2.0 * report.compression[0].damping);
}

TEST(FindModes, SlopesAtRestAreThoseOfTheLaws) {
  // Hydraulic both ways: the slope of the laminar needle, as small motions see it.
  plunge::Setup setup = load_scene("scenarios/scenes/rock-garden.toml").setup;
  const ModeReport open = find_modes(setup, {});
  setup.fork.rebound.clicks = 3.0;
  const ModeReport shut = find_modes(setup, {});
  // By hand: the slope goes with the needle's area to the power -2, here 7 clicks to 3.
  EXPECT_NEAR(shut.rebound_slope / open.rebound_slope, 49.0 / 9.0, 1e-9);
  EXPECT_EQ(shut.compression_slope, open.compression_slope);
  ASSERT_EQ(shut.compression.size(), open.compression.size());
  for (std::size_t i = 0; i < open.compression.size(); ++i) {
    EXPECT_EQ(shut.compression[i].real, open.compression[i].real);
  }
  EXPECT_NE(shut.rebound.back().real, open.rebound.back().real);
}

TEST(FindModes, InvariantPointsDoNotKnowTheStrut) {
  // Closed form: at sqrt(k_t/m_u), |X_s/Y| = m_u/m_s; at sqrt(k_t/(m_s+m_u)), |stroke/Y| = 1 +
  // m_u/m_s, for any linear strut.
  plunge::Setup setup = linear_setup();
  const double first = std::sqrt(90000.0 / 4.0) / (2.0 * kPi);
  const double second = std::sqrt(90000.0 / 34.0) / (2.0 * kPi);
  for (const double rate : {2000.0, 9000.0, 30000.0}) {
    setup.fork.coil.rate = rate;
    setup.fork.compression.low_speed = setup.fork.compression.high_speed = rate / 20.0;
    const ModeReport report = find_modes(setup, {first, second});
    EXPECT_NEAR(report.transmissibility[0].frame, 4.0 / 30.0, 1e-6) << rate;
    EXPECT_NEAR(report.transmissibility[1].travel, 1.0 + 4.0 / 30.0, 1e-6) << rate;
  }
}

TEST(FindModes, SlowGroundIsFollowedByAll) {
  // By hand: at 0.01 Hz frame, body and ground move together. The fork's slope brings 1 + h' terms
  // of the order of w/v only.
  Scene scene = load_scene("scenarios/scenes/drop-to-landing.toml");
  const Transmissibility slow = find_modes(scene.setup, {0.01}).transmissibility.front();
  EXPECT_NEAR(slow.frame, 1.0, 2e-3);
  EXPECT_NEAR(slow.body, 1.0, 2e-3);
  EXPECT_NEAR(slow.travel, 0.0, 2e-3);
}

TEST(FindModes, GasHeatHasTheThermalTimeConstants) {
  // Two heat modes, near the chambers' own time constants of 3 s and 2 s (stretched by at most
  // gamma, as the gas gives way).
  Scene scene = load_scene("scenarios/scenes/drop-to-landing.toml");
  int heat = 0;
  for (const Mode& mode : find_modes(scene.setup, {}).modes) {
    if (mode.moves != "gas heat") continue;
    ++heat;
    EXPECT_EQ(mode.imaginary, 0.0);
    EXPECT_GT(-1.0 / mode.real, 2.0 / 1.4);
    EXPECT_LT(-1.0 / mode.real, 3.0 * 1.4);
  }
  EXPECT_EQ(heat, 2);
}

TEST(FindModes, AGradeKeepsTheQuarterCarAndTurnsItsFork) {
  // Closed form: a fork that is upright on level ground stands square to its grade b. With z_s
  // along the vertical and x along the legs the tyre, k_t along the normal, gives way by z_s cos +
  // x:
  //   det([m_s + m_u, m_u cos; m_u cos, m_u] s^2 + [0, 0; 0, c] s
  //       + [k_t cos2, k_t cos; k_t cos, k_t + k]) = 0.
  const double ms = 30.0, mu = 4.0, k = 9000.0, c = 400.0, kt = 90000.0;
  for (const double grade : {-15.0 * kPi / 180.0, 5.0 * kPi / 180.0}) {
    const double cosine = std::cos(grade);
    const ModeReport report = find_modes(linear_setup(), {}, grade);
    ASSERT_EQ(report.modes.size(), 2u);
    for (const Mode& mode : report.modes) {
      const std::complex<double> s(mode.real, mode.imaginary);
      const std::complex<double> off = mu * cosine * s * s + kt * cosine;
      const std::complex<double> p =
          ((ms + mu) * s * s + kt * cosine * cosine) * (mu * s * s + c * s + kt + k) - off * off;
      EXPECT_LT(std::abs(p), 1e-6 * k * kt * (1.0 + std::norm(s) / 300.0)) << mode.moves;
    }
    // The level car's polynomial does not fit.
    EXPECT_GT(
        std::abs(report.modes[0].imaginary - find_modes(linear_setup(), {}).modes[0].imaginary),
        1e-3);
  }
}

TEST(FindModes, DownAGradeTheLegsStandUprightAndTheBodySwingsSlower) {
  // A frame that sinks by dz closes the legs by dz/sin, so they push back with k/sin^2: less the
  // nearer they come to the vertical. The report at grade 0 is that without a grade.
  const plunge::Setup setup = shipped_setup("drop-to-landing");
  const auto slowest = [&](double degrees) {
    for (const Mode& mode : find_modes(setup, {}, degrees * kPi / 180.0).modes) {
      if (mode.imaginary > 0.0) return mode.frequency;
    }
    return 0.0;
  };
  EXPECT_EQ(find_modes(setup, {}, 0.0).modes.front().real,
            find_modes(setup, {}).modes.front().real);
  EXPECT_GT(slowest(-25.0), 1.0);
  EXPECT_GT(slowest(0.0), 1.03 * slowest(-25.0));
  EXPECT_GT(slowest(5.0), 1.01 * slowest(0.0));
}

TEST(Modes, AreNotSoughtWhereAWheelLifts) {
  const plunge::Setup setup = shipped_setup("roots");
  EXPECT_NO_THROW(find_modes(setup, {1.0}, -0.35));
  EXPECT_THROW(find_modes(setup, {1.0}, 0.7), InputError);
}

}  // namespace
}  // namespace plunge::modes_test
