// Rough roads against ISO 8608, and what a quarter car does on a road of waviness 2, where the rate
// of the ground's height is white noise, against closed forms.
//
// The roads hold the waves from 0.05 m to 200 m. The longer ones bring nothing to speak of (1e-6),
// the shorter ones 0.2 % of the power and of the mean square acceleration (from the transfer
// functions; above the wheel's resonance the damper takes c (k_t/m_u w^2)^2 of the rate of the
// ground). From one road of 5 km to the next the power scatters by 0.2 to 0.4 %, stroke and
// acceleration by 0.2 %.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstddef>
#include <string>
#include <unsupported/Eigen/FFT>
#include <vector>

#include "sim/numerics/statistics.hpp"
#include "tests/outside/rig.hpp"

namespace plunge::outside_road_test {
namespace {

Terrain rough(const std::string& roughness, double kilometres, double shortest, double longest,
              int seed) {
  return terrain_of(
      fmt::format("[[terrain]]\nkind = \"rough\"\nroughness = \"{}\"\n"
                  "length = \"{} km\"\nshortest = \"{} m\"\nlongest = \"{} m\"\n"
                  "seed = {}\n",
                  roughness, kilometres, shortest, longest, seed));
}

// One-sided power spectral density of heights `step` apart: Welch's mean of modified periodograms,
// Hann windows that overlap by half. Bin k is at k/(size step).
std::vector<double> welch(const std::vector<double>& height, double step, std::size_t size) {
  std::vector<double> window(size);
  double power = 0.0;
  for (std::size_t i = 0; i < size; ++i) {
    window[i] =
        0.5 - 0.5 * std::cos(2.0 * kPi * static_cast<double>(i) / static_cast<double>(size));
    power += window[i] * window[i];
  }
  Eigen::FFT<double> transform;
  std::vector<double> density(size / 2 + 1, 0.0);
  std::vector<std::complex<double>> spectrum;
  std::vector<double> part(size);
  std::size_t parts = 0;
  for (std::size_t begin = 0; begin + size <= height.size(); begin += size / 2, ++parts) {
    // A straight line through its ends off first: long waves would leak into short ones.
    const double slope = (height[begin + size - 1] - height[begin]) / static_cast<double>(size - 1);
    for (std::size_t i = 0; i < size; ++i) {
      part[i] = window[i] * (height[begin + i] - height[begin] - slope * static_cast<double>(i));
    }
    transform.fwd(spectrum, part);
    for (std::size_t k = 0; k < density.size(); ++k) {
      density[k] += 2.0 * step / power * std::norm(spectrum[k]);
    }
  }
  for (double& d : density) d /= static_cast<double>(parts);
  return density;
}

// G_d(n0) as each octave from 0.05 to 3.2 cycles/m tells it, in classes: log4(G_d(n0)/16e-6 m3).
std::vector<double> class_by_octave(const Terrain& terrain) {
  const Ground ground = prepare(rig("linear-rider", terrain)).ground;
  const double step = 0.05;
  std::vector<double> height;
  for (double s = 2.0; s < ground.length - 2.0; s += step) {
    height.push_back(ground.path.at(s).height);
  }
  constexpr std::size_t kSize = 4096;
  const std::vector<double> density = welch(height, step, kSize);
  std::vector<double> classes;
  for (double low = 0.05; low < 3.0; low *= 2.0) {
    double sum = 0.0;
    int bins = 0;
    for (std::size_t k = 0; k < density.size(); ++k) {
      const double n = static_cast<double>(k) / (step * kSize);
      if (n < low || n >= 2.0 * low) continue;
      sum += density[k] * (n / 0.1) * (n / 0.1);
      ++bins;
    }
    classes.push_back(std::log(sum / bins / 16e-6) / std::log(4.0));
  }
  return classes;
}

// Geometric means 16 4^k 1e-6 m3 at 0.1 cycles/m, waviness 2; a class reaches from half to twice
// its mean, half a class each way. The tolerance is four times the scatter of the octave of the
// longest waves on 6 km.
TEST(RoughRoad, SpectrumLiesInItsClassInEveryOctave) {
  for (int k = 0; k < 8; ++k) {
    const std::string name(1, static_cast<char>('A' + k));
    const std::vector<double> found =
        class_by_octave(rough("class " + name, 6.0, 0.2, 50.0, 11 + k));
    const double worst = *std::max_element(found.begin(), found.end(), [&](double a, double b) {
      return std::abs(a - k) < std::abs(b - k);
    });
    record({fmt::format("class {} road: log4(G_d/16e-6 m3) in its worst octave", name),
            "ISO 8608, memory", static_cast<double>(k), worst, 0.2});
  }
}

// pi^2 n0^2 G_d(n0) v k_t, whatever the masses, spring and damper, while the tyre stays loaded and
// undamped: Zuo & Zhang 2011 for a linear car; by Ito's rule for any strut, as the white rate w of
// the ground brings k_t E[w^2]/2 to the energy of the tyre and nothing else comes in. So it is the
// sum of all that takes energy out. k_t 90 kN/m, G_d(n0) 256e-6 m3, v 5 m/s: 11.369784 W.
// On a tenth of the height, whose slopes are small enough that the tyre pushes upright; the power
// goes with the height squared. Rides three roads, and returns the damper's share of what is taken
// out.
double expect_power(const std::string& name, const std::string& scene,
                    const std::vector<std::string>& overrides) {
  double sum = 0.0;
  double damped = 0.0;
  constexpr int kRoads = 3;
  for (int seed = 1; seed <= kRoads; ++seed) {
    std::vector<std::string> words = {"ride.sample_rate=20Hz", "ride.tolerance=1e-6"};
    words.insert(words.end(), overrides.begin(), overrides.end());
    const Result result = ridden(rig(scene, rough("2.56 cm3", 5.0, 0.05, 200.0, seed), words));
    EXPECT_EQ(number_in(result, "lift_offs"), 0.0);
    double out = 0.0;
    for (const char* sink :
         {"damper_out", "friction_out", "stops_out", "tyre_out", "body_out", "heat_out"}) {
      out += number_in(result, sink);
    }
    sum += 100.0 * out / result.time.back();
    damped += 100.0 * number_in(result, "damper_out") / result.time.back();
  }
  record({"mean power on a road of waviness 2, " + name + " [W]", "Zuo & Zhang 2011", 11.369784,
          sum / kRoads, 0.01 * 11.369784});
  return damped / sum;
}

std::vector<std::string> damper(double compression_low, double compression_high, double rebound_low,
                                double rebound_high) {
  return {fmt::format("fork.compression.low_speed={} N.s/m", compression_low),
          fmt::format("fork.compression.high_speed={} N.s/m", compression_high),
          fmt::format("fork.rebound.low_speed={} N.s/m", rebound_low),
          fmt::format("fork.rebound.high_speed={} N.s/m", rebound_high)};
}

TEST(DamperPower, LinearStrut) {
  std::vector<std::string> words = damper(1500.0, 1500.0, 1500.0, 1500.0);
  for (const char* word :
       {"rider.sprung_mass=120kg", "fork.unsprung_mass=8kg", "fork.coil.rate=30N/mm"}) {
    words.push_back(word);
  }
  expect_power("linear strut", "linear-rider", words);
}

TEST(DamperPower, OtherMassesAndADamperWithKnees) {
  std::vector<std::string> words = damper(3000.0, 200.0, 6000.0, 1000.0);
  for (const char* word :
       {"rider.sprung_mass=200kg", "fork.unsprung_mass=12kg", "fork.coil.rate=60N/mm",
        "fork.compression.knee=0.03m/s", "fork.rebound.knee=0.02m/s"}) {
    words.push_back(word);
  }
  expect_power("damper with knees", "linear-rider", words);
}

TEST(DamperPower, AirForkWithFrictionAndARiderOnArms) {
  const double share = expect_power("air fork, friction, arms", "heavy-air-fork", {});
  EXPECT_LT(share, 0.85);  // friction, arms and heat take the rest
}

// E[stroke^2] = (G/4)(m_s + m_u)/c, G = (2 pi n0)^2 G_d(n0) v, and the sprung acceleration's closed
// form: of the linear rider. On a tenth of the height, a hundredth of the spectrum, so that the
// tyre stays loaded; the car is linear.
TEST(RoughRoad, StrokeAndAccelerationOfALinearRider) {
  double stroke = 0.0;
  double acceleration = 0.0;
  constexpr int kRoads = 3;
  for (int seed = 1; seed <= kRoads; ++seed) {
    const Result result = ridden(rig("linear-rider", rough("2.56 cm3", 5.0, 0.05, 200.0, seed),
                                     {"ride.sample_rate=100Hz", "ride.tolerance=1e-7"}));
    EXPECT_EQ(number_in(result, "lift_offs"), 0.0);
    const double a = rms_about_mean(channel(result, "travel"));
    const double b = rms_about_mean(channel(result, "sprung_acceleration"));
    stroke += a * a / kRoads;
    acceleration += b * b / kRoads;
  }
  record({"rms stroke on a road of waviness 2 [mm]", "closed form", 3.276909,
          1e4 * std::sqrt(stroke), 5e-3 * 3.276909});
  record({"rms sprung acceleration on a road of waviness 2 [m/s2]", "closed form", 2.453501,
          10.0 * std::sqrt(acceleration), 5e-3 * 2.453501});
}

}  // namespace
}  // namespace plunge::outside_road_test
