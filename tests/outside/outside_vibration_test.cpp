// Shock and free vibration: the textbook answers for one mass, one spring and what damps it.
//
// tests/outside/data/spring-mass.toml is 10 kg on the fork's spring, its foot on the ground as good
// as rigidly: the tyre gives 1.6e-4 of the spring's way and adds as much to the period squared.
// What the ground does is the motion of the foot; the travel is the stretch of the spring.
#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

#include "tests/outside/rig.hpp"

namespace plunge::outside_vibration_test {
namespace {

constexpr double kMass = 10.0;   // [kg]
constexpr double kSpeed = 10.0;  // [m/s]

std::string spring(double natural) {
  return fmt::format("fork.coil.rate={} N/m", kMass * natural * natural);
}

// A linear damper of ratio zeta.
std::vector<std::string> strut(double natural, double zeta) {
  std::vector<std::string> words = {spring(natural)};
  for (const char* way : {"compression", "rebound"}) {
    for (const char* slope : {"low_speed", "high_speed"}) {
      words.push_back(fmt::format("fork.{}.{}={} N.s/m", way, slope, 2.0 * zeta * natural * kMass));
    }
  }
  return words;
}

std::vector<std::string> operator+(std::vector<std::string> words,
                                   const std::vector<std::string>& more) {
  words.insert(words.end(), more.begin(), more.end());
  return words;
}

// Swings about the sag, after a push that ends at `end` [s]: size of each turning point.
std::vector<double> swings(const Result& result, double end) {
  std::vector<double> sizes;
  for (const auto& [time, travel] : turning_points(result, "travel", end)) {
    sizes.push_back(std::abs(travel - number_in(result, "sag")));
  }
  return sizes;
}

// A body that falls from h onto a spring which its weight would press in by d presses it in by
// d (1 + sqrt(1 + 2h/d)). The tyre is the spring and the fork is locked. At the lip the tyre is
// pressed in by d, so the fall is d less than the drop.
TEST(Drop, PressesASpringInAsTheEnergySays) {
  const double weight = 100.0 * kGravity;
  const double d = 0.09;
  struct Fall {
    double height;  // over d
    double deepest;
  };
  // Closed form, Rao: memory.
  for (const Fall& fall : {Fall{4.0, 4.0}, Fall{40.0, 10.0}}) {
    const Scene scene =
        load_scene("tests/outside/data/locked-fork.toml",
                   {fmt::format("terrain[1].height={} m", d * (fall.height + 1.0))});
    const Result result = ridden(scene.setup);
    EXPECT_GT(number_in(result, "time_off_ground"), 0.0);
    record({fmt::format("drop from h/d = {} onto a spring: deepest x/d", fall.height),
            "Rao, memory", fall.deepest, number_in(result, "ground_force_max") / weight,
            1e-4 * fall.deepest});
  }
}

// Largest stretch of an undamped spring times its natural frequency squared, over the peak of a
// half-sine push of the foot, against the length of the push in natural periods.
double shock(double ratio) {
  const double period = 0.5;
  const double peak = 1.0;
  const double natural = 2.0 * kPi / period;
  const double length = ratio * period;
  const Result result = ridden(rig("spring-mass", half_sine_push(peak, length, kSpeed, 60.0),
                                   {spring(natural), "ride.duration=2s"}));
  EXPECT_EQ(number_in(result, "lift_offs"), 0.0);
  EXPECT_EQ(number_in(result, "top_outs"), 0.0);
  return (number_in(result, "travel_max") - number_in(result, "sag")) * natural * natural / peak;
}

TEST(Shock, SpectrumOfAHalfSine) {
  struct Point {
    double ratio;
    double response;
  };
  // Harris: memory, recomputed from the closed form.
  const Point points[] = {{0.5, kPi / 2.0}, {0.80993, 1.768458}, {1.0, std::sqrt(3.0)}, {1.5, 1.5}};
  for (const Point& p : points) {
    record({fmt::format("half-sine shock of {} periods: amplification", p.ratio), "Harris, memory",
            p.response, shock(p.ratio), 3e-4});
  }
  EXPECT_LT(shock(0.78), shock(0.80993));
  EXPECT_LT(shock(0.84), shock(0.80993));
}

TEST(FreeVibration, LogarithmicDecrement) {
  const double natural = 4.0 * kPi;
  for (const double zeta : {0.05, 0.2, 0.4}) {
    const Result result =
        ridden(rig("spring-mass", half_sine_push(2.0, 0.25, kSpeed, 60.0),
                   strut(natural, zeta) + std::vector<std::string>{"ride.duration=3s"}));
    EXPECT_EQ(number_in(result, "lift_offs"), 0.0);
    const std::vector<double> x = swings(result, 0.1 + 0.25);
    ASSERT_GE(x.size(), 4U);
    // Closed form, Rao: memory.
    const double expected = 2.0 * kPi * zeta / std::sqrt(1.0 - zeta * zeta);
    record({fmt::format("logarithmic decrement at a damping ratio of {}", zeta), "closed form",
            expected, std::log(x[1] / x[3]), 4e-4 * expected});
  }
}

// Motion of the mass over that of its foot, on waves.
double transmissibility(double natural, double zeta, double w, double amplitude,
                        const std::string& speed, double speed_value) {
  const double end = 16.0;
  const Result result = ridden(rig(
      "spring-mass", waves(2.0 * kPi * speed_value / w, amplitude, 17.0 * speed_value),
      strut(natural, zeta) + std::vector<std::string>{"ride.speed=" + speed, "ride.duration=16s",
                                                      "ride.sample_rate=500Hz"}));
  EXPECT_EQ(number_in(result, "lift_offs"), 0.0);
  return std::abs(wave_in(result, "sprung_height", w, end - 3.0, end)) / amplitude;
}

TEST(BaseMotion, TransmissibilityIsOneAtRootTwoForEveryDamper) {
  const double natural = 4.0 * kPi;
  for (const double zeta : {0.1, 0.3, 1.0}) {
    record({fmt::format("base motion at sqrt 2, damping ratio {}: X/Y", zeta), "Rao, memory", 1.0,
            transmissibility(natural, zeta, std::sqrt(2.0) * natural, 3e-3, "10 m/s", kSpeed),
            5e-4});
  }
}

// A vehicle of 1200 kg on 400 kN/m with a damping ratio of 0.5 at 20 km/h on waves of 6 m and
// 50 mm: X/Y = 1.100964. Here a 120th of its mass and spring.
TEST(BaseMotion, VehicleOnARoughRoad) {
  const double natural = std::sqrt(400e3 / 1200.0);
  const double speed = 20.0 / 3.6;
  record({"vehicle on a rough road: X/Y", "Rao, memory", 1.100964,
          transmissibility(natural, 0.5, 2.0 * kPi * speed / 6.0, 0.05, "20 km/h", speed), 1e-4});
}

std::vector<std::string> dry(double force, const std::string& more) {
  return {fmt::format("fork.friction.seal={} N", force), "ride.duration=4s", more};
}

// A block that five swings in 2 s bring from 10 cm to 1 cm: mu = 0.1132 with g = 9.81 m/s2. In a
// tenth of the lengths and of the force, so that the wheel stays on the ground. Bristles of 100
// kN/mm give way by 1e-8 m: dry friction.
TEST(DryFriction, BlockThatComesToRest) {
  const double natural = 2.0 * kPi / 0.4;
  const double force = 0.1 * 0.1132 * kMass * 9.81;
  const Result result =
      ridden(rig("spring-mass", half_sine_push(2.2, 0.2, kSpeed, 60.0),
                 dry(force, spring(natural)) +
                     std::vector<std::string>{"fork.friction.presliding_stiffness=100000 N/mm",
                                              "fork.friction.presliding_damping=0 N.s/m"}));
  EXPECT_EQ(number_in(result, "lift_offs"), 0.0);
  Points turns = turning_points(result, "travel", 0.1 + 0.2);
  ASSERT_GE(turns.size(), 11U);
  const double lost = std::abs(turns[0].second - turns[10].second);
  EXPECT_GT(std::abs(turns[0].second - number_in(result, "sag")), lost);
  record({"block on a rough surface: five swings take [s]", "Rao, memory", 2.0,
          turns[10].first - turns[0].first, 1e-3});
  record({"block on a rough surface: mu from what they lose", "Rao, memory", 0.1132,
          10.0 * lost / 20.0 * natural * natural / 9.81, 1e-4});
}

// 4F/k a cycle. The bristles of a fork give way by F/sigma0 = 10 um before they slip, so each
// reversal starts with less than the full force: 1 % of 4F/k is allowed for it.
TEST(DryFriction, AmplitudeLossACycle) {
  const double natural = 4.0 * kPi;
  const double force = 2.0;
  const Result result = ridden(
      rig("spring-mass", half_sine_push(3.0, 0.4, kSpeed, 60.0), dry(force, spring(natural))));
  EXPECT_EQ(number_in(result, "lift_offs"), 0.0);
  const std::vector<double> x = swings(result, 0.1 + 0.4);
  ASSERT_GE(x.size(), 5U);
  const double expected = 4.0 * force / (kMass * natural * natural);
  record({"dry friction: amplitude lost a cycle [m]", "Den Hartog, memory", expected,
          0.5 * (x[0] - x[4]), 0.01 * expected});
}

// x'' + b/2 |x'| x' + x = 0 with b = 1 from rest at 0.2. A damper that is one sharp-edged orifice
// gives A_p^3 rho/(2 C_d^2 A_n^2) v^2 = 50 N.s2/m2 v^2 (what its micrometre of length adds is 1e-7
// of the critical damping); with 10 kg and a natural frequency of 10 rad/s lengths are in tenths of
// a metre.
TEST(QuadraticDamping, TurningPoints) {
  const double unit = 0.1;
  std::vector<std::string> orifice = {spring(10.0), "ride.duration=2.5s",
                                      "fork.oil.density=1000 kg/m3", "fork.oil.discharge=0.5"};
  for (const char* way : {"compression", "rebound"}) {
    for (const char* word : {"kind=hydraulic", "piston_area=10 cm2", "bleed_area=200 mm2",
                             "bleed_length=0.001 mm", "bleed_clicks=1", "clicks=1"}) {
      orifice.push_back(fmt::format("fork.{}.{}", way, word));
    }
  }
  const auto turns = [&](double peak) {
    const Result result =
        ridden(rig("spring-mass", half_sine_push(peak, 0.3, kSpeed, 60.0), orifice));
    EXPECT_EQ(number_in(result, "lift_offs"), 0.0);
    return swings(result, 0.1 + 0.3);
  };
  // The push after which the first turning point is at 0.2.
  double peak = 1.0;
  double other = 1.5;
  double x = turns(peak).at(0);
  double y = turns(other).at(0);
  for (int i = 0; i < 8 && std::abs(y - 0.2 * unit) > 1e-10; ++i) {
    const double next = other + (0.2 * unit - y) * (other - peak) / (y - x);
    peak = other;
    x = y;
    other = next;
    y = turns(other).at(0);
  }
  const std::vector<double> found = turns(other);
  ASSERT_GE(found.size(), 4U);
  ASSERT_NEAR(found[0], 0.2 * unit, 1e-9);
  // Computed.
  const double expected[] = {0.1764379972, 0.1578480641, 0.1428053040};
  for (std::size_t i = 0; i < 3; ++i) {
    record({fmt::format("quadratic damping: turning point {}", i + 1), "computed", expected[i],
            found[i + 1] / unit, 2e-5});
  }
}

}  // namespace
}  // namespace plunge::outside_vibration_test
