#include "sim/measure/weighting.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <numbers>
#include <stdexcept>

#include "models/laws/constants.hpp"
#include "sim/numerics/spectrum.hpp"
#include "sim/numerics/statistics.hpp"

namespace plunge {
namespace {

constexpr double kButterworth = 1.0 / std::numbers::sqrt2;

// Corner frequencies f [Hz] and resonance quotients Q [1] of the sections.
struct Sections {
  double f1, f2, q1;  // band limits
  double f3, f4, q4;  // acceleration-velocity transition
  double f5, q5;      // upward step; f5 = f6: none
  double f6, q6;
};

// ISO 5349-1:2001, table A.1.
constexpr Sections kHandArm{.f1 = 6.310,
                            .f2 = 1258.9,
                            .q1 = kButterworth,
                            .f3 = 15.915,
                            .f4 = 15.915,
                            .q4 = 0.64,
                            .f5 = 1.0,
                            .q5 = 1.0,
                            .f6 = 1.0,
                            .q6 = 1.0};

// ISO 2631-1:1997, table A.1, W_k.
constexpr Sections kVerticalBody{.f1 = 0.4,
                                 .f2 = 100.0,
                                 .q1 = kButterworth,
                                 .f3 = 12.5,
                                 .f4 = 12.5,
                                 .q4 = 0.63,
                                 .f5 = 2.37,
                                 .q5 = 0.91,
                                 .f6 = 3.35,
                                 .q6 = 0.91};

// The padding lasts this many time constants of the slowest section: exp(-30) = 1e-13.
constexpr double kTailTimeConstants = 30.0;
constexpr double kMostSamples = 1 << 30;   // the transform counts in int
constexpr double kHighestFrequency = 1e9;  // [Hz]

const Sections& sections_of(Weighting weighting) {
  return weighting == Weighting::hand_arm ? kHandArm : kVerticalBody;
}

std::complex<double> quadratic(double f, double corner, double q) {
  const double r = f / corner;
  return {1.0 - r * r, r / q};
}

std::complex<double> transfer(const Sections& c, double f) {
  const double high_pass = -(f / c.f1) * (f / c.f1);
  const double step = (c.f5 / c.f6) * (c.f5 / c.f6);
  const std::complex<double> transition(1.0, f / c.f3);
  return high_pass * step * transition * quadratic(f, c.f5, c.q5) /
         (quadratic(f, c.f1, c.q1) * quadratic(f, c.f2, c.q1) * quadratic(f, c.f4, c.q4) *
          quadratic(f, c.f6, c.q6));
}

// H and a factor of the frequency, applied to samples. The factor is real, so it has no delay.
template <class Factor>
std::vector<double> filtered(std::span<const double> a, double sample_rate, Weighting weighting,
                             const Factor& factor) {
  require_samples(a);
  require_sample_rate(sample_rate);
  const Sections& sections = sections_of(weighting);
  const double slowest = sections.q1 / (kPi * sections.f1);  // -1/Re of the poles at f1 [s]
  const double padded =
      static_cast<double>(a.size()) + std::ceil(kTailTimeConstants * slowest * sample_rate);
  if (!(padded <= kMostSamples)) {
    throw std::invalid_argument(
        fmt::format("{} samples at {} Hz: at most {} samples with the padding", a.size(),
                    sample_rate, kMostSamples));
  }

  const std::size_t length = fast_length(static_cast<std::size_t>(padded));
  std::vector<double> signal(length, 0.0);
  std::ranges::copy(a, signal.begin());
  std::vector<std::complex<double>> spectrum = spectrum_of(signal);
  // The inverse transform reads the real part alone at half the sample rate, as a real signal
  // demands.
  const double spacing = sample_rate / static_cast<double>(length);
  for (std::size_t k = 0; k < spectrum.size(); ++k) {
    const double f = static_cast<double>(k) * spacing;
    spectrum[k] *= transfer(sections, f) * factor(f);
  }
  signal = signal_of(spectrum, length);
  signal.resize(a.size());
  return signal;
}

}  // namespace

std::complex<double> response(Weighting weighting, double frequency) {
  if (!(frequency >= 0.0 && frequency <= kHighestFrequency)) {
    throw std::invalid_argument(
        fmt::format("frequency = {} Hz: must be 0 to {}", frequency, kHighestFrequency));
  }
  return transfer(sections_of(weighting), frequency);
}

std::vector<double> weighted(std::span<const double> a, double sample_rate, Weighting weighting) {
  return filtered(a, sample_rate, weighting, [](double) { return 1.0; });
}

std::vector<double> weighted_rates(std::span<const double> v, double sample_rate,
                                   Weighting weighting) {
  require_samples(v);
  require_sample_rate(sample_rate);
  if (v.size() < 2) throw std::invalid_argument("a rate needs two samples");
  std::vector<double> a(v.size() - 1);
  for (std::size_t i = 0; i < a.size(); ++i) a[i] = (v[i + 1] - v[i]) * sample_rate;
  return filtered(a, sample_rate, weighting, [&](double f) {
    const double turn = kPi * f / sample_rate;
    return turn > 0.0 ? turn / std::sin(turn) : 1.0;
  });
}

double vibration_dose(std::span<const double> a_w, double sample_rate) {
  require_samples(a_w);
  require_sample_rate(sample_rate);
  double sum = 0.0;
  for (const double a : a_w) sum += (a * a) * (a * a);
  return std::pow(sum / sample_rate, 0.25);
}

double largest_running_rms(std::span<const double> a_w, double sample_rate, double window) {
  require_samples(a_w);
  require_sample_rate(sample_rate);
  const double width = std::round(window * sample_rate);
  if (!(width >= 1.0 && std::isfinite(width))) {
    throw std::invalid_argument(
        fmt::format("window = {} s: must be finite and at least one sample", window));
  }
  std::vector<double> energy(a_w.size() + 1, 0.0);  // Σ a² before each sample
  for (std::size_t i = 0; i < a_w.size(); ++i) energy[i + 1] = energy[i] + a_w[i] * a_w[i];
  const auto samples = static_cast<std::size_t>(std::min(width, static_cast<double>(a_w.size())));
  double largest = energy[samples];
  for (std::size_t i = samples; i < energy.size(); ++i) {
    largest = std::max(largest, energy[i] - energy[i - samples]);
  }
  return std::sqrt(largest / width);
}

double time_to_reach(double level, double a_hw) {
  if (!(level > 0.0 && std::isfinite(level))) {
    throw std::invalid_argument(fmt::format("level = {} m/s2: must be finite and above 0", level));
  }
  if (!(a_hw >= 0.0 && std::isfinite(a_hw))) {
    throw std::invalid_argument(fmt::format("a_hw = {} m/s2: must be finite and at least 0", a_hw));
  }
  if (a_hw == 0.0) return std::numeric_limits<double>::infinity();
  return kReferenceDay * (level / a_hw) * (level / a_hw);
}

}  // namespace plunge
