#include "sim/ground/rough.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstddef>
#include <random>
#include <vector>

#include "models/laws/constants.hpp"
#include "sim/numerics/random.hpp"
#include "sim/numerics/spectrum.hpp"

namespace plunge {

namespace {

constexpr double kWavesPerPeriod = 8.0;    // longest waves in a period of the comb, at least
constexpr double kLengthsPerPeriod = 1.1;  // lengths of the ground in a period, at least
constexpr double kLeastNodes = 16.0;       // in a period

// The fade at distance u [m] from the nearer end: weight and its derivatives by u.
PathPoint<double> fade_weight(double u, double fade) {
  if (!(u < fade)) return {1.0, 0.0, 0.0};
  const double t = u / fade;
  return {t * t * t * (10.0 + t * (-15.0 + 6.0 * t)), 30.0 * t * t * (1.0 - t) * (1.0 - t) / fade,
          60.0 * t * (1.0 - t) * (1.0 - 2.0 * t) / (fade * fade)};
}

}  // namespace

RoughGround rough_ground(const Roughness& roughness, double length) {
  const double low = 1.0 / roughness.longest;
  const double high = 1.0 / roughness.shortest;
  const double finest =
      roughness.fade > 0.0 ? std::min(roughness.shortest, roughness.fade) : roughness.shortest;
  const auto cells =
      static_cast<std::size_t>(std::max(1.0, std::ceil(length * kNodesPerWave / finest)));
  const double step = length / static_cast<double>(cells);
  const double least =
      std::max(kLengthsPerPeriod * length, kWavesPerPeriod * roughness.longest) / step + 1.0;
  // The period decides on the waves, so its choice of factors is part of the ground.
  const std::size_t total =
      fast_length(static_cast<std::size_t>(std::ceil(std::max(least, kLeastNodes))), 1);
  const double tooth = 1.0 / (step * static_cast<double>(total));  // of the comb [1/m]

  std::vector<std::complex<double>> spectrum(total / 2 + 1);
  std::mt19937_64 generator(roughness.seed);
  for (std::size_t k = 1; k < spectrum.size(); ++k) {
    const double from = std::max(low, (static_cast<double>(k) - 0.5) * tooth);
    const double to = std::min(high, (static_cast<double>(k) + 0.5) * tooth);
    if (!(from < to)) continue;
    const double mean_square =
        roughness.density * kReferenceFrequency * kReferenceFrequency * (1.0 / from - 1.0 / to);
    const double phase = 2.0 * kPi * unit_from(generator());
    // Half of the amplitude: the other half belongs to the frequency's mirror image.
    spectrum[k] =
        0.5 * std::sqrt(2.0 * mean_square) * std::complex<double>(std::cos(phase), std::sin(phase));
  }

  RoughGround ground{step, std::vector<PathPoint<double>>(cells + 1)};
  for (double PathPoint<double>::*quantity :
       {&PathPoint<double>::height, &PathPoint<double>::slope, &PathPoint<double>::curvature}) {
    const std::vector<double> values = sum_of_waves(spectrum, total);
    for (std::size_t i = 0; i <= cells; ++i) ground.nodes[i].*quantity = values[i];
    for (std::size_t k = 1; k < spectrum.size(); ++k) {
      spectrum[k] *= std::complex<double>(0.0, 2.0 * kPi * tooth * static_cast<double>(k));
    }
  }

  for (std::size_t i = 0; i <= cells; ++i) {
    const bool rising = i <= cells / 2;
    const double from_end = step * static_cast<double>(rising ? i : cells - i);
    const PathPoint<double> w = fade_weight(from_end, roughness.fade);
    const double w_slope = rising ? w.slope : -w.slope;
    PathPoint<double>& y = ground.nodes[i];
    y = {w.height * y.height, w_slope * y.height + w.height * y.slope,
         w.curvature * y.height + 2.0 * w_slope * y.slope + w.height * y.curvature};
  }
  return ground;
}

}  // namespace plunge
