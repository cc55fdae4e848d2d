#include "sim/measure/weighting.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <cstddef>
#include <limits>
#include <span>
#include <stdexcept>
#include <vector>

#include "models/laws/constants.hpp"
#include "sim/numerics/statistics.hpp"

namespace plunge::weighting_test {
namespace {

constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();

std::vector<double> sine(double duration, double sample_rate, double frequency, double amplitude) {
  std::vector<double> x(static_cast<std::size_t>(duration * sample_rate));
  for (std::size_t i = 0; i < x.size(); ++i) {
    x[i] = amplitude * std::sin(2.0 * kPi * frequency * static_cast<double>(i) / sample_rate);
  }
  return x;
}

// The same filters as ordinary differential equations: for each section w'' = u − a·w' − b·w, and
// the next section's input is c2·w'' + c1·w' + c0·w. Stepped by the classical Runge-Kutta rule.
struct Section {
  double a, b, c2, c1, c0;
};

double angular(double frequency) { return 2.0 * kPi * frequency; }

std::vector<Section> hand_arm_sections() {
  const double w1 = angular(6.310);
  const double w2 = angular(1258.9);
  const double w3 = angular(15.915);
  return {{std::sqrt(2.0) * w1, w1 * w1, 1.0, 0.0, 0.0},
          {std::sqrt(2.0) * w2, w2 * w2, 0.0, 0.0, w2 * w2},
          {w3 / 0.64, w3 * w3, 0.0, w3, w3 * w3}};
}

std::vector<Section> vertical_body_sections() {
  const double w1 = angular(0.4);
  const double w2 = angular(100.0);
  const double w3 = angular(12.5);
  const double w5 = angular(2.37);
  const double w6 = angular(3.35);
  return {{std::sqrt(2.0) * w1, w1 * w1, 1.0, 0.0, 0.0},
          {std::sqrt(2.0) * w2, w2 * w2, 0.0, 0.0, w2 * w2},
          {w3 / 0.63, w3 * w3, 0.0, w3, w3 * w3},
          {w6 / 0.91, w6 * w6, 1.0, w5 / 0.91, w5 * w5}};
}

using State = std::vector<std::array<double, 2>>;

// The output at input u; rates, where asked for, receives the derivative of the state.
double pass(const std::vector<Section>& sections, const State& w, double u, State* rates) {
  for (std::size_t k = 0; k < sections.size(); ++k) {
    const Section& s = sections[k];
    const double second = u - s.a * w[k][1] - s.b * w[k][0];
    if (rates != nullptr) (*rates)[k] = {w[k][1], second};
    u = s.c2 * second + s.c1 * w[k][1] + s.c0 * w[k][0];
  }
  return u;
}

template <class Input>
std::vector<double> integrated(const std::vector<Section>& sections, const Input& input,
                               std::size_t n, double step) {
  State w(sections.size());
  std::array<State, 4> rate;
  rate.fill(w);
  std::vector<double> output(n);
  for (std::size_t i = 0; i < n; ++i) {
    const double t = static_cast<double>(i) * step;
    output[i] = pass(sections, w, input(t), nullptr);
    constexpr std::array<double, 4> kNode{0.0, 0.5, 0.5, 1.0};
    for (std::size_t stage = 0; stage < 4; ++stage) {
      State at = w;
      for (std::size_t k = 0; stage > 0 && k < w.size(); ++k) {
        for (std::size_t j = 0; j < 2; ++j) {
          at[k][j] += kNode[stage] * step * rate[stage - 1][k][j];
        }
      }
      pass(sections, at, input(t + kNode[stage] * step), &rate[stage]);
    }
    for (std::size_t k = 0; k < w.size(); ++k) {
      for (std::size_t j = 0; j < 2; ++j) {
        w[k][j] += step / 6.0 *
                   (rate[0][k][j] + 2.0 * rate[1][k][j] + 2.0 * rate[2][k][j] + rate[3][k][j]);
      }
    }
  }
  return output;
}

// ISO 5349-1:2001, table A.2, at the exact one-third-octave frequencies 10^(n/10) Hz of the
// nominal 6.3, 12.5, 31.5, 100 and 1250 Hz; half a unit of the last digit.
TEST(Weighting, HandArmFollowsTheTable) {
  const auto gain = [](int n) {
    return std::abs(response(Weighting::hand_arm, std::pow(10.0, n / 10.0)));
  };
  EXPECT_NEAR(gain(8), 0.727, 0.0005);
  EXPECT_NEAR(gain(11), 0.958, 0.0005);
  EXPECT_NEAR(gain(15), 0.519, 0.0005);
  EXPECT_NEAR(gain(20), 0.160, 0.0005);
  EXPECT_NEAR(gain(31), 0.00894, 0.000005);
}

// ISO 2631-1:1997, table 3, W_k (memory, cross-read in a published listing), at nominal
// frequencies; to one unit of the last digit, since the table rounds exact and nominal frequencies
// alike.
TEST(Weighting, VerticalBodyFollowsTheTable) {
  const struct {
    double frequency, gain;
  } table[] = {{1.0, 0.482}, {2.0, 0.531},  {4.0, 0.967},  {6.3, 1.054},
               {8.0, 1.036}, {16.0, 0.768}, {31.5, 0.405}, {80.0, 0.132}};
  for (const auto& row : table) {
    EXPECT_NEAR(std::abs(response(Weighting::vertical_body, row.frequency)), row.gain, 0.001)
        << row.frequency << " Hz";
  }
}

// ISO 2631-1:1997, W_k at 100 rad/s (memory, recomputed from the published sections).
TEST(Weighting, VerticalBodyAtAHundredRadiansPerSecond) {
  EXPECT_NEAR(std::abs(response(Weighting::vertical_body, 100.0 / (2.0 * kPi))), 0.7718, 0.00005);
}

// Closed form: at 0 Hz the high pass is 0; far above the band H falls as 1/f³ (W_h, W_k alike).
TEST(Weighting, BothPassNothingAtZeroAndFallOffSteeply) {
  for (const Weighting w : {Weighting::hand_arm, Weighting::vertical_body}) {
    EXPECT_EQ(std::abs(response(w, 0.0)), 0.0);
    EXPECT_NEAR(std::abs(response(w, 1e8) / response(w, 1e7)), 1e-3, 1e-7);
    EXPECT_TRUE(std::isfinite(std::abs(response(w, 1e9))));
  }
}

// Closed form: a sine of amplitude A comes out with rms |H|·A/√2. The window holds whole periods
// and lies 25 (W_h: 300) time constants after the start.
TEST(Weighting, ASineComesOutWithTheGainOfItsFrequency) {
  const double sample_rate = 2000.0;
  const auto window = [&](const std::vector<double>& x) {
    return std::span(x).subspan(28000, 20000);  // 14 s to 24 s
  };
  const struct {
    Weighting weighting;
    std::vector<double> frequencies;
  } cases[] = {{Weighting::hand_arm, {3.0, 6.3, 16.0, 31.5, 80.0, 400.0}},
               {Weighting::vertical_body, {0.5, 1.0, 2.5, 5.0, 16.0, 80.0}}};
  for (const auto& c : cases) {
    for (const double f : c.frequencies) {
      const std::vector<double> out =
          weighted(sine(26.0, sample_rate, f, 7.0), sample_rate, c.weighting);
      const double expected = std::abs(response(c.weighting, f)) * 7.0 / std::sqrt(2.0);
      EXPECT_NEAR(rms(window(out)), expected, 1e-6 * expected) << f << " Hz";
    }
  }
}

// Closed form: the rate of v = A/(2 pi f) sin(2 pi f t) has amplitude A, up to just below half the
// sample rate, where differences alone would lose a third of it. Window as above.
TEST(Weighting, TheRateOfASineComesOutWithTheGainOfItsFrequency) {
  const double sample_rate = 1000.0;
  for (const double f : {3.0, 31.5, 400.0, 490.0}) {
    const std::vector<double> v = sine(26.0, sample_rate, f, 7.0 / (2.0 * kPi * f));
    const std::vector<double> out = weighted_rates(v, sample_rate, Weighting::hand_arm);
    ASSERT_EQ(out.size(), v.size() - 1);
    const double expected = std::abs(response(Weighting::hand_arm, f)) * 7.0 / std::sqrt(2.0);
    EXPECT_NEAR(rms(std::span(out).subspan(14000, 10000)), expected, 1e-5 * expected) << f;
  }
  EXPECT_THROW(weighted_rates(std::vector{1.0}, sample_rate, Weighting::hand_arm),
               std::invalid_argument);
}

// Closed form: a speed that jumps by 1 m/s stands for an acceleration that is an impulse, whose
// weighted energy is 2 times the integral of |H|^2 over f. All but what lies past 500 Hz is found
// wherever between two samples the jump falls; for W_k that is next to nothing.
TEST(Weighting, AJumpOfSpeedIsFoundWhereverItFallsBetweenSamples) {
  const double sample_rate = 1000.0;
  double energy = 0.0;
  for (double f = 0.05; f < 2000.0; f += 0.1) {
    const double gain = std::abs(response(Weighting::vertical_body, f));
    energy += 2.0 * 0.1 * gain * gain;
  }
  // Mean speed over each interval of a step that falls at a share of one.
  for (const double share : {0.0, 0.3, 0.9}) {
    std::vector<double> v(4000, 0.0);
    v[500] = 1.0 - share;
    std::fill(v.begin() + 501, v.end(), 1.0);
    double found = 0.0;
    for (const double a : weighted_rates(v, sample_rate, Weighting::vertical_body)) {
      found += a * a / sample_rate;
    }
    EXPECT_NEAR(found, energy, 0.02 * energy) << share;
  }
}

// Computed: the filters as differential equations, integrated in time with a step of 1/16 ms
// (classical Runge-Kutta). A bell-shaped pulse of 2 ms at 50 ms is
// known to the samples to 1e-12. A conjugate or mirrored H fails this by its whole size.
TEST(Weighting, APulseComesOutAsTheAnalogFilterSaysAndNotBeforeIt) {
  const double sample_rate = 16000.0;
  const auto pulse = [](double t) {
    const double u = (t - 0.05) / 0.002;
    return 10.0 * std::exp(-0.5 * u * u);
  };
  std::vector<double> a(8000);
  for (std::size_t i = 0; i < a.size(); ++i) a[i] = pulse(static_cast<double>(i) / sample_rate);
  const struct {
    Weighting weighting;
    std::vector<Section> sections;
  } cases[] = {{Weighting::hand_arm, hand_arm_sections()},
               {Weighting::vertical_body, vertical_body_sections()}};
  for (const auto& c : cases) {
    const std::vector<double> found = weighted(a, sample_rate, c.weighting);
    const std::vector<double> expected = integrated(c.sections, pulse, a.size(), 1.0 / sample_rate);
    ASSERT_EQ(found.size(), a.size());
    const double size = peak(expected);
    EXPECT_GT(size, 0.5);
    for (std::size_t i = 0; i < a.size(); ++i) {
      ASSERT_NEAR(found[i], expected[i], 1e-6 * size) << "sample " << i;
    }
    EXPECT_LT(peak(std::span(found).first(480)), 1e-4 * size);  // 30 ms: the pulse is 10 widths off
  }
}

// Closed form (Parseval): a pulse of one sample and unit area has the energy 2∫|H|² df up to half
// the sample rate; the integral by Simpson's rule.
TEST(Weighting, TheEnergyOfAnImpulseIsTheIntegralOfTheSquaredGain) {
  const double sample_rate = 1000.0;
  const double half = 0.5 * sample_rate;
  for (const Weighting w : {Weighting::hand_arm, Weighting::vertical_body}) {
    constexpr int kPanels = 200000;
    double integral = 0.0;
    for (int i = 0; i <= kPanels; ++i) {
      const double factor = i == 0 || i == kPanels ? 1.0 : (i % 2 == 1 ? 4.0 : 2.0);
      integral += factor * std::norm(response(w, half * i / kPanels));
    }
    integral *= half / kPanels / 3.0;

    std::vector<double> a(40000, 0.0);
    a[20000] = sample_rate;
    double energy = 0.0;
    for (const double y : weighted(a, sample_rate, w)) energy += y * y / sample_rate;
    EXPECT_NEAR(energy, 2.0 * integral, 1e-5 * energy);
  }
}

// Closed form: zero gain at 0 Hz. After 30 time constants of the start-up nothing of it is left
// but the ringing of the two ends of the record, in the middle of 60 s.
TEST(Weighting, ALastingOffsetIsNotFelt) {
  const std::vector<double> a(60000, kGravity);
  for (const Weighting w : {Weighting::hand_arm, Weighting::vertical_body}) {
    const std::vector<double> out = weighted(a, 1000.0, w);
    EXPECT_GT(peak(std::span(out).first(1000)), 0.1 * kGravity);
    EXPECT_LT(peak(std::span(out).subspan(25000, 10000)), 1e-6 * kGravity);
  }
}

// A hit that ends with the record must not come back at its beginning; the kink at its start rings
// there by some 1e-7 of its size.
TEST(Weighting, TheEndOfTheRecordDoesNotReturnAtItsBeginning) {
  for (const Weighting w : {Weighting::hand_arm, Weighting::vertical_body}) {
    std::vector<double> a(3000, 0.0);
    for (std::size_t i = 2900; i < 3000; ++i) {
      a[i] = 50.0 * std::sin(kPi * static_cast<double>(i - 2900) / 100.0);
    }
    const std::vector<double> out = weighted(a, 1000.0, w);
    EXPECT_GT(peak(std::span(out).last(100)), 5.0);
    EXPECT_LT(peak(std::span(out).first(1000)), 5e-5);
  }
}

// A longer silence after a hit changes the padding and the spacing of the frequencies, and the
// answer to the hit not at all but for rounding and ringing.
TEST(Weighting, TheLengthOfTheRecordDoesNotMatter) {
  const auto hit = [](std::size_t n) {
    std::vector<double> a(n, 0.0);
    for (std::size_t i = 0; i < 200; ++i) {
      a[500 + i] = 1.0 - std::cos(2.0 * kPi * static_cast<double>(i) / 200.0);
    }
    return a;
  };
  for (const Weighting w : {Weighting::hand_arm, Weighting::vertical_body}) {
    const std::vector<double> brief = weighted(hit(1000), 1000.0, w);
    for (const std::size_t n : {1001u, 1537u, 4096u, 30011u}) {
      const std::vector<double> longer = weighted(hit(n), 1000.0, w);
      ASSERT_EQ(longer.size(), n);
      for (std::size_t i = 0; i < brief.size(); ++i) ASSERT_NEAR(longer[i], brief[i], 1e-7);
    }
  }
}

TEST(Weighting, ARecordOfOneSampleIsWeighed) {
  for (const double rate : {1e-3, 1.0, 1000.0}) {
    const std::vector<double> out = weighted(std::vector<double>{1.0}, rate, Weighting::hand_arm);
    ASSERT_EQ(out.size(), 1u);
    EXPECT_TRUE(std::isfinite(out[0]));
  }
}

// Closed form: ∫ (a·sin)⁴ dt = 3/8·a⁴·T over whole periods.
TEST(Dose, OfASineOfConstantAmplitude) {
  EXPECT_NEAR(vibration_dose(sine(12.0, 1000.0, 5.0, 3.0), 1000.0),
              3.0 * std::pow(3.0 / 8.0 * 12.0, 0.25), 1e-12);
}

// Closed form: a constant a over T gives a·T^(1/4), at any sample rate; 16 times as long, twice
// the dose.
TEST(Dose, GrowsWithTheFourthRootOfTime) {
  EXPECT_NEAR(vibration_dose(std::vector<double>(500, 2.0), 500.0), 2.0, 1e-14);
  EXPECT_NEAR(vibration_dose(std::vector<double>(4000, 2.0), 250.0), 4.0, 1e-14);
}

// By hand: a burst of 0.5 s at 4 m/s2 fills half a window of 1 s: 4·√(1/2); a record shorter than
// the window counts as rest before it.
TEST(RunningRms, OfABurstShorterThanTheWindow) {
  std::vector<double> a(5000, 0.0);
  for (std::size_t i = 3000; i < 3500; ++i) a[i] = i % 2 == 0 ? 4.0 : -4.0;
  EXPECT_NEAR(largest_running_rms(a, 1000.0, 1.0), 4.0 * std::sqrt(0.5), 1e-12);
  EXPECT_NEAR(largest_running_rms(a, 1000.0, 0.5), 4.0, 1e-12);
  EXPECT_NEAR(largest_running_rms(std::vector<double>(500, 4.0), 1000.0, 1.0), 4.0 * std::sqrt(0.5),
              1e-12);
}

// Closed form: for a steady sine over whole periods the running rms is the rms.
TEST(RunningRms, OfASteadySineIsItsRms) {
  const std::vector<double> a = sine(10.0, 1000.0, 4.0, 3.0);
  EXPECT_NEAR(largest_running_rms(a, 1000.0, 1.0), 3.0 / std::sqrt(2.0), 1e-12);
}

// Directive 2002/44/EC: 10 m/s2 reaches the action value 2.5 in 30 min and the limit 5 in 2 h;
// the levels themselves are reached after 8 h.
TEST(Exposure, TenReachesTheActionValueInHalfAnHour) {
  EXPECT_NEAR(time_to_reach(kHandActionValue, 10.0), 1800.0, 1e-9);
  EXPECT_NEAR(time_to_reach(kHandLimitValue, 10.0), 7200.0, 1e-9);
  EXPECT_NEAR(time_to_reach(kHandActionValue, 2.5), 28800.0, 1e-9);
  EXPECT_NEAR(time_to_reach(kHandLimitValue, 5.0), 28800.0, 1e-9);
  EXPECT_EQ(time_to_reach(kHandActionValue, 0.0), kInfinity);
}

TEST(Weighting, BrokenInputIsRefused) {
  const std::vector<double> good(100, 1.0);
  for (const std::vector<double>& a :
       {std::vector<double>{}, std::vector<double>{1.0, kNaN}, std::vector<double>{kInfinity}}) {
    EXPECT_THROW(weighted(a, 1000.0, Weighting::hand_arm), std::invalid_argument);
    EXPECT_THROW(vibration_dose(a, 1000.0), std::invalid_argument);
    EXPECT_THROW(largest_running_rms(a, 1000.0, 1.0), std::invalid_argument);
  }
  for (const double rate : {0.0, -1000.0, kNaN, kInfinity}) {
    EXPECT_THROW(weighted(good, rate, Weighting::hand_arm), std::invalid_argument);
    EXPECT_THROW(vibration_dose(good, rate), std::invalid_argument);
    EXPECT_THROW(largest_running_rms(good, rate, 1.0), std::invalid_argument);
  }
  EXPECT_THROW(weighted(good, 1e15, Weighting::hand_arm), std::invalid_argument);
  for (const double window : {0.0, -1.0, 1e-4, kNaN, kInfinity}) {
    EXPECT_THROW(largest_running_rms(good, 1000.0, window), std::invalid_argument);
  }
  for (const double f : {-1.0, 2e9, kNaN}) {
    EXPECT_THROW(response(Weighting::vertical_body, f), std::invalid_argument);
  }
  for (const double level : {0.0, -2.5, kNaN, kInfinity}) {
    EXPECT_THROW(time_to_reach(level, 10.0), std::invalid_argument);
  }
  for (const double a_hw : {-1.0, kNaN, kInfinity}) {
    EXPECT_THROW(time_to_reach(kHandActionValue, a_hw), std::invalid_argument);
  }
}

}  // namespace
}  // namespace plunge::weighting_test
