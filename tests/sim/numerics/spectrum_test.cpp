#include "sim/numerics/spectrum.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace plunge::spectrum_test {
namespace {

// By hand: 2^2·3^2 = 36, 2^2·5^2 = 100; with one odd factor 40 = 2^3·5 and 128 = 2^7.
TEST(Spectrum, FastLengthsHaveSmallFactors) {
  EXPECT_EQ(fast_length(1), 4u);
  EXPECT_EQ(fast_length(33), 36u);
  EXPECT_EQ(fast_length(97), 100u);
  EXPECT_EQ(fast_length(33, 1), 40u);
  EXPECT_EQ(fast_length(97, 1), 128u);
  EXPECT_EQ(fast_length(33, 0), 64u);
  for (std::size_t n = 1; n < 3000; ++n) {
    const std::size_t length = fast_length(n);
    EXPECT_GE(length, n);
    std::size_t rest = length;
    for (const std::size_t factor : {2u, 3u, 5u}) {
      while (rest % factor == 0) rest /= factor;
    }
    EXPECT_EQ(rest, 1u) << n;
    EXPECT_EQ(length % 4, 0u) << n;
  }
}

// X of the cosine of k waves is n/2 at k, of the sine −i·n/2, of a constant n at 0.
TEST(Spectrum, AWaveIsOneNumber) {
  constexpr std::size_t kCount = 20;
  std::vector<double> x(kCount);
  for (std::size_t i = 0; i < kCount; ++i) {
    const double turn = 2.0 * std::numbers::pi * static_cast<double>(i) / kCount;
    x[i] = 1.5 + 2.0 * std::cos(3.0 * turn) + std::sin(7.0 * turn);
  }
  const auto spectrum = spectrum_of(x);
  ASSERT_EQ(spectrum.size(), 11u);
  for (std::size_t k = 0; k < spectrum.size(); ++k) {
    const std::complex<double> expected = k == 0   ? std::complex<double>(30.0, 0.0)
                                          : k == 3 ? std::complex<double>(20.0, 0.0)
                                          : k == 7 ? std::complex<double>(0.0, -10.0)
                                                   : 0.0;
    EXPECT_LT(std::abs(spectrum[k] - expected), 1e-12) << k;
  }
  const std::vector<double> back = signal_of(spectrum, kCount);
  const std::vector<double> waves = sum_of_waves(spectrum, kCount);
  for (std::size_t i = 0; i < kCount; ++i) {
    EXPECT_NEAR(back[i], x[i], 1e-12);
    EXPECT_NEAR(waves[i], kCount * x[i], 1e-11);
  }
}

}  // namespace
}  // namespace plunge::spectrum_test
