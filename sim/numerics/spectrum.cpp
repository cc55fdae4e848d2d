#include "sim/numerics/spectrum.hpp"

#include <algorithm>
#include <unsupported/Eigen/FFT>

namespace plunge {
namespace {

using Transform = Eigen::FFT<double>;

}  // namespace

std::size_t fast_length(std::size_t n, int odd_factors) {
  std::size_t best = 4;
  while (best < n) best *= 2;
  int fives = 0;
  for (std::size_t five = 4; five < best && fives <= odd_factors; five *= 5, ++fives) {
    int odd = fives;
    for (std::size_t three = five; three < best && odd <= odd_factors; three *= 3, ++odd) {
      std::size_t length = three;
      while (length < n) length *= 2;
      best = std::min(best, length);
    }
  }
  return best;
}

std::vector<std::complex<double>> spectrum_of(std::span<const double> x) {
  Transform transform(Eigen::default_fft_impl<double>(), Transform::HalfSpectrum);
  std::vector<std::complex<double>> spectrum(x.size() / 2 + 1);
  transform.fwd(spectrum.data(), x.data(), static_cast<Eigen::Index>(x.size()));
  return spectrum;
}

std::vector<double> sum_of_waves(std::span<const std::complex<double>> spectrum, std::size_t n) {
  constexpr auto kFlags =
      static_cast<Transform::Flag>(Transform::HalfSpectrum | Transform::Unscaled);
  Transform transform(Eigen::default_fft_impl<double>(), kFlags);
  std::vector<double> x(n);
  transform.inv(x.data(), spectrum.data(), static_cast<Eigen::Index>(n));
  return x;
}

std::vector<double> signal_of(std::span<const std::complex<double>> spectrum, std::size_t n) {
  std::vector<double> x = sum_of_waves(spectrum, n);
  const double scale = 1.0 / static_cast<double>(n);
  for (double& value : x) value *= scale;
  return x;
}

}  // namespace plunge
