#include "sim/numerics/band.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <vector>

namespace plunge::band_test {
namespace {

std::vector<double> normal_numbers(std::size_t count, std::uint64_t seed) {
  std::mt19937_64 generator(seed);
  std::normal_distribution<double> normal;
  std::vector<double> numbers(count);
  for (double& number : numbers) number = normal(generator);
  return numbers;
}

// By hand: 1 ... 1001 has its 2.5th percentile at 26 and its 97.5th at 976.
TEST(Band, HoldsTheMiddle95Percent) {
  std::vector<double> values;
  for (int i = 1001; i >= 1; --i) values.push_back(i);
  const Band band = band_of(values);
  EXPECT_DOUBLE_EQ(band.low, 26.0);
  EXPECT_DOUBLE_EQ(band.high, 976.0);
}

TEST(Band, LeavesOutWhatDoesNotApply) {
  std::vector<double> values(kLeastDraws, 3.0);
  values.push_back(kUnset);
  EXPECT_TRUE(band_of(values).known());
  values.pop_back();
  values.back() = kUnset;
  EXPECT_FALSE(band_of(values).known());
}

// Over 400 bands of 256 normal numbers each, either end scatters about 1.96 as the header says:
// 2.67/16 = 0.167; that scatter itself is known within 4 %.
TEST(Band, ScattersAsItsStandardErrorSays) {
  double sum = 0.0;
  double squares = 0.0;
  constexpr int kBands = 400;
  for (int i = 0; i < kBands; ++i) {
    const Band band = band_of(normal_numbers(kUsualDraws, static_cast<std::uint64_t>(i)));
    sum += band.high;
    squares += (band.high - 1.96) * (band.high - 1.96);
  }
  EXPECT_NEAR(sum / kBands, 1.96, 0.05);
  EXPECT_NEAR(std::sqrt(squares / kBands), 0.167, 0.03);
}

// y = 3 a - 2 b + c: shares 9/14, 4/14, 1/14, with their signs; exp(y) is as monotone as y. Errors
// of r at 4000 draws are below 0.016.
TEST(Band, SharesOfALinearSumAreThoseOfItsSquares) {
  constexpr std::size_t kCount = 4000;
  std::vector<std::vector<double>> causes;
  for (std::uint64_t seed = 1; seed <= 4; ++seed) causes.push_back(normal_numbers(kCount, seed));
  std::vector<double> values(kCount);
  std::vector<double> grown(kCount);
  for (std::size_t i = 0; i < kCount; ++i) {
    values[i] = 3.0 * causes[0][i] - 2.0 * causes[1][i] + causes[2][i];
    grown[i] = std::exp(values[i]);
  }
  const std::vector<double> found = correlations(values, causes);
  const double root = std::sqrt(14.0);
  const double expected[] = {3.0 / root, -2.0 / root, 1.0 / root, 0.0};
  for (std::size_t k = 0; k < 4; ++k) EXPECT_NEAR(found[k], expected[k], 0.05) << k;
  EXPECT_EQ(correlations(grown, causes), found);
}

TEST(Band, AConstantHasNoCause) {
  const std::vector<std::vector<double>> causes{normal_numbers(50, 1)};
  EXPECT_EQ(correlations(std::vector<double>(50, 2.0), causes), std::vector<double>{0.0});
}

}  // namespace
}  // namespace plunge::band_test
