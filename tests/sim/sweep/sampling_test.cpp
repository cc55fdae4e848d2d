#include "sim/sweep/sampling.hpp"

#include <gtest/gtest.h>

#include <boost/random/sobol.hpp>
#include <cmath>
#include <cstdint>
#include <set>
#include <stdexcept>
#include <string>
#include <vector>

#include "sim/numerics/random.hpp"

namespace plunge::sampling_test {
namespace {

using Kind = DistributionKind;
using Rows = std::vector<std::vector<double>>;

Rows drawn(Design design, std::size_t base_points, std::size_t numbers, std::uint64_t seed) {
  const DesignRows all(design, base_points, numbers, seed);
  Rows rows(all.size());
  for (std::size_t row = 0; row < all.size(); ++row) {
    for (std::size_t j = 0; j < numbers; ++j) rows[row].push_back(all.share(row, j));
  }
  return rows;
}

// The first points that Joe & Kuo 2008 (SIAM J. Sci. Comput. 30, 2635) publish for three
// dimensions, in the order of the Gray code, without 0.
TEST(Sampling, SobolPointsAreThePublishedOnes) {
  const std::vector<std::vector<double>> published = {
      {0.5, 0.5, 0.5},       {0.75, 0.25, 0.25},    {0.25, 0.75, 0.75},   {0.375, 0.375, 0.625},
      {0.875, 0.875, 0.125}, {0.625, 0.125, 0.875}, {0.125, 0.625, 0.375}};
  const auto points = drawn(Design::sobol, published.size(), 3, 0);
  ASSERT_EQ(published.size(), points.size());
  for (std::size_t i = 0; i < points.size(); ++i) EXPECT_EQ(published[i], points[i]) << i;
}

// Each coordinate of the first 2^m points of a Sobol sequence, 0 among them, lies once in each of
// 2^m equal strata (Sobol' 1967); so does it after a digital shift, where 0 becomes another point.
TEST(Sampling, SobolPointsFillEveryStratumOnce) {
  constexpr std::size_t kNumbers = 40;
  constexpr std::size_t kPoints = 1023;
  for (const std::uint64_t seed : {0U, 7U}) {
    const auto points = drawn(Design::sobol, kPoints, kNumbers, seed);
    for (std::size_t j = 0; j < kNumbers; ++j) {
      std::set<double> strata;
      for (const auto& point : points) strata.insert(std::floor(point[j] * 1024.0));
      EXPECT_EQ(kPoints, strata.size()) << j;
    }
  }
}

// The engine gives one point after the other; a row is worked out from its number.
TEST(Sampling, ASobolRowIsTheEnginesPointOfThatNumber) {
  constexpr std::size_t kNumbers = 7;
  const DesignRows rows(Design::sobol, 5000, kNumbers, 0);
  boost::random::sobol engine(kNumbers);
  for (std::size_t row = 0; row < rows.size(); ++row) {
    for (std::size_t j = 0; j < kNumbers; ++j) {
      ASSERT_EQ(unit_from(engine()), rows.share(row, j)) << row;
    }
  }
  // And so far on as no one draws one by one.
  constexpr std::uint64_t kFar = 123'456'789'012;
  const DesignRows many(Design::sobol, kFar + 2, kNumbers, 0);
  engine.seed(kFar);
  for (std::size_t j = 0; j < kNumbers; ++j) EXPECT_EQ(unit_from(engine()), many.share(kFar, j));
}

// Past kMostStoredShares nothing is kept: the strata come from a keyed permutation.
TEST(Sampling, ALargeLatinHypercubeHasOnePointInEachStratum) {
  constexpr std::size_t kRows = kMostStoredShares + 12'345;
  const DesignRows rows(Design::latin_hypercube, kRows, 1, 3);
  std::vector<bool> taken(kRows);
  std::size_t twice = 0;
  double moment = 0.0;
  for (std::size_t row = 0; row < kRows; ++row) {
    const double share = rows.share(row, 0);
    const auto stratum = static_cast<std::size_t>(share * static_cast<double>(kRows));
    twice += taken[stratum] ? 1 : 0;
    taken[stratum] = true;
    moment += (share - 0.5) * ((static_cast<double>(row) + 0.5) / static_cast<double>(kRows) - 0.5);
  }
  EXPECT_EQ(twice, 0u);
  // Correlation of the share with the row: a deviation of 1/sqrt(rows), 1.4e-4; four times that.
  EXPECT_LT(std::abs(moment / static_cast<double>(kRows) * 12.0), 4.0 * 1.42e-4);
}

TEST(Sampling, ALargeLatinHypercubesColumnsAreShuffledApart) {
  constexpr std::size_t kRows = 1'000'000'000;
  const DesignRows rows(Design::latin_hypercube, kRows, 2, 1);
  const DesignRows other(Design::latin_hypercube, kRows, 2, 2);
  double columns = 0.0;
  double neighbours = 0.0;
  double seeds = 0.0;
  constexpr std::size_t kLooked = 100'000;
  for (std::size_t row = 0; row < kLooked; ++row) {
    const double share = rows.share(row, 0) - 0.5;
    columns += share * (rows.share(row, 1) - 0.5);
    neighbours += share * (rows.share(row + 1, 0) - 0.5);
    seeds += share * (other.share(row, 0) - 0.5);
  }
  for (const double sum : {columns, neighbours, seeds}) {
    EXPECT_LT(std::abs(sum / static_cast<double>(kLooked) * 12.0), 4.0 / std::sqrt(1e5));
  }
}

TEST(Sampling, ASeedShiftsTheSobolPoints) {
  const auto plain = drawn(Design::sobol, 16, 2, 0);
  EXPECT_NE(plain, drawn(Design::sobol, 16, 2, 1));
  EXPECT_NE(drawn(Design::sobol, 16, 2, 2), drawn(Design::sobol, 16, 2, 1));
  EXPECT_EQ(drawn(Design::sobol, 16, 2, 1), drawn(Design::sobol, 16, 2, 1));
}

// The definition of a Latin hypercube (McKay, Beckman & Conover 1979).
TEST(Sampling, LatinHypercubeHasOnePointInEachStratum) {
  for (const std::size_t rows : {1U, 2U, 7U, 1000U}) {
    const auto points = drawn(Design::latin_hypercube, rows, 3, 1);
    ASSERT_EQ(rows, points.size());
    for (std::size_t j = 0; j < 3; ++j) {
      std::set<double> strata;
      for (const auto& point : points) {
        EXPECT_GT(point[j], 0.0);
        EXPECT_LT(point[j], 1.0);
        strata.insert(std::floor(point[j] * static_cast<double>(rows)));
      }
      EXPECT_EQ(rows, strata.size());
    }
  }
}

// Columns that are shuffled apart have no correlation: for 1000 rows its deviation is 1/sqrt(999),
// 0.032; four times that is passed by one seed in 16000. In-order strata would give 1.
TEST(Sampling, LatinHypercubeColumnsAreShuffledApart) {
  const auto points = drawn(Design::latin_hypercube, 1000, 2, 1);
  double sum = 0.0;
  for (const auto& point : points) sum += (point[0] - 0.5) * (point[1] - 0.5);
  EXPECT_LT(std::abs(sum / 1000.0 * 12.0), 4.0 * 0.032);
}

// Worked out by hand from the generator that ISO C++ defines bit for bit ([rand.predef]: the
// 10000th number of mt19937_64 is 9981545732273789042); its first two with seed 1 are
// 2469588189546311528 and 2516265689700432462. For one row nothing is shuffled: the share is
// (2469588189546311528 >> 11, + 0.5)/2^53.
TEST(Sampling, RandomSharesAreTheSameOnEveryMachine) {
  const auto points = drawn(Design::latin_hypercube, 1, 2, 1);
  EXPECT_EQ((static_cast<double>(2469588189546311528ULL >> 11U) + 0.5) * 0x1p-53, points[0][0]);
  EXPECT_EQ((static_cast<double>(2516265689700432462ULL >> 11U) + 0.5) * 0x1p-53, points[0][1]);
}

// Saltelli and others 2010: A and B are the halves of a sequence of 2k numbers; AB_i is A with the
// i-th number from B.
TEST(Sampling, PickFreezeExchangesOneNumberAtATime) {
  constexpr std::size_t kNumbers = 3;
  constexpr std::size_t kPoints = 5;
  const auto rows = drawn(Design::pick_freeze, kPoints, kNumbers, 0);
  const auto pairs = drawn(Design::sobol, kPoints, 2 * kNumbers, 0);
  ASSERT_EQ(rows_of(Design::pick_freeze, kPoints, kNumbers), rows.size());
  ASSERT_EQ(25U, rows.size());
  for (std::size_t p = 0; p < kPoints; ++p) {
    const auto* block = &rows[p * (kNumbers + 2)];
    EXPECT_EQ(std::vector<double>(pairs[p].begin(), pairs[p].begin() + kNumbers), block[0]);
    EXPECT_EQ(std::vector<double>(pairs[p].begin() + kNumbers, pairs[p].end()), block[1]);
    for (std::size_t i = 0; i < kNumbers; ++i) {
      for (std::size_t j = 0; j < kNumbers; ++j) {
        EXPECT_EQ(block[i == j ? 1 : 0][j], block[2 + i][j]);
      }
    }
  }
}

TEST(Sampling, RowsOfADesign) {
  EXPECT_EQ(1U, rows_of(Design::none, 1, 0));
  EXPECT_EQ(64U, rows_of(Design::sobol, 64, 3));
  EXPECT_EQ(64U, rows_of(Design::latin_hypercube, 64, 3));
  EXPECT_EQ(320U, rows_of(Design::pick_freeze, 64, 3));
}

// Closed forms, by hand.
TEST(Sampling, QuantilesOfSimpleDistributions) {
  const Distribution uniform{.kind = Kind::uniform, .low = 2.0, .high = 6.0};
  EXPECT_EQ(3.0, quantile(uniform, 0.25));
  const Distribution log_uniform{.kind = Kind::log_uniform, .low = 1.0, .high = 100.0};
  EXPECT_NEAR(10.0, quantile(log_uniform, 0.5), 1e-14);
  // F = (x - 0)^2/(10 * 4) up to the mode, where it is 0.4; 1 - (10 - x)^2/(10 * 6) after it.
  const Distribution triangular{.kind = Kind::triangular, .low = 0.0, .high = 10.0, .mode = 4.0};
  EXPECT_NEAR(2.0, quantile(triangular, 0.1), 1e-14);
  EXPECT_NEAR(4.0, quantile(triangular, 0.4), 1e-14);
  EXPECT_NEAR(10.0 - std::sqrt(6.0), quantile(triangular, 0.9), 1e-14);
  for (const Distribution& d : {uniform, log_uniform, triangular}) {
    EXPECT_EQ(d.low, quantile(d, 0.0));
    EXPECT_EQ(d.high, quantile(d, 1.0));
  }
}

// Abramowitz & Stegun 1964, table 26.5: deviates of the normal distribution.
TEST(Sampling, NormalQuantilesAreThoseOfTheTables) {
  const Distribution normal{.kind = Kind::normal, .mean = 10.0, .deviation = 2.0};
  EXPECT_EQ(10.0, quantile(normal, 0.5));
  EXPECT_NEAR(10.0 + 2.0 * 1.6448536270, quantile(normal, 0.95), 1e-9);
  EXPECT_NEAR(10.0 - 2.0 * 2.3263478740, quantile(normal, 0.01), 1e-9);
  EXPECT_NEAR(10.0 + 2.0 * 3.0902323062, quantile(normal, 0.999), 1e-9);
  const Distribution log_normal{.kind = Kind::log_normal, .median = 3.0, .deviation = 0.5};
  EXPECT_NEAR(3.0, quantile(log_normal, 0.5), 1e-14);
  EXPECT_NEAR(3.0 * std::exp(0.5 * 1.6448536270), quantile(log_normal, 0.95), 1e-8);
}

// A cut distribution has the share u of what is left below its quantile. The share of the whole
// distribution comes from erfc of the C library, another way than the quantile's.
TEST(Sampling, LimitsRescaleAndDoNotClip) {
  const auto share = [](double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); };
  struct Case {
    double low;
    double high;
  };
  for (const auto& [low, high] :
       {Case{-1.0, 2.0}, Case{3.0, 4.0}, Case{-4.5, -3.0}, Case{kUnset, 0.5}, Case{1.0, kUnset}}) {
    const Distribution d{
        .kind = Kind::normal, .low = low, .high = high, .mean = 0.0, .deviation = 1.0};
    const double from = std::isnan(low) ? 0.0 : share(low);
    const double to = std::isnan(high) ? 1.0 : share(high);
    for (const double u : {0.001, 0.25, 0.5, 0.9, 0.999}) {
      EXPECT_NEAR(u, (share(quantile(d, u)) - from) / (to - from), 1e-11) << low << " " << u;
    }
    EXPECT_TRUE(std::isnan(low) || quantile(d, 0.0) == low);
    EXPECT_TRUE(std::isnan(high) || quantile(d, 1.0) == high);
  }
  const Distribution log_normal{
      .kind = Kind::log_normal, .low = 1.0, .high = 4.0, .median = 2.0, .deviation = 0.7};
  // Limits that lie evenly about the median on the logarithm leave it in the middle.
  EXPECT_NEAR(2.0, quantile(log_normal, 0.5), 1e-14);
}

TEST(Sampling, QuantilesRise) {
  for (const Distribution& d :
       {Distribution{.kind = Kind::uniform, .low = -1.0, .high = 1.0},
        Distribution{.kind = Kind::log_uniform, .low = 1e-6, .high = 1e3},
        Distribution{.kind = Kind::triangular, .low = 0.0, .high = 1.0, .mode = 1.0},
        Distribution{.kind = Kind::normal, .mean = 0.0, .deviation = 1e-3},
        Distribution{.kind = Kind::log_normal, .high = 5.0, .median = 1.0, .deviation = 2.0}}) {
    double before = -HUGE_VAL;
    for (int i = 1; i < 1000; ++i) {
      const double x = quantile(d, i / 1000.0);
      EXPECT_GT(x, before) << to_string(d.kind) << " " << i;
      before = x;
    }
  }
}

TEST(Sampling, ADistributionThatBreaksARuleIsRefused) {
  struct Case {
    Distribution distribution;
    std::string key;
    std::string rule;
  };
  const Case cases[] = {
      {{.kind = Kind::uniform, .high = 1.0}, "low", "must be given for a uniform distribution"},
      {{.kind = Kind::uniform, .low = 1.0}, "high", "must be given for a uniform distribution"},
      {{.kind = Kind::uniform, .low = 1.0, .high = 1.0}, "high", "must be above low"},
      {{.kind = Kind::uniform, .low = 0.0, .high = 1.0, .mode = 0.5},
       "mode",
       "does not belong to a uniform distribution"},
      {{.kind = Kind::uniform, .low = 0.0, .high = HUGE_VAL}, "high", "must be finite"},
      {{.kind = Kind::uniform, .low = -1e308, .high = 1e308}, "high", "must be nearer to low"},
      {{.kind = Kind::log_uniform, .low = 0.0, .high = 1.0}, "low", "must be above 0"},
      {{.kind = Kind::triangular, .low = 0.0, .high = 1.0},
       "mode",
       "must be given for a triangular distribution"},
      {{.kind = Kind::triangular, .low = 0.0, .high = 1.0, .mode = 1.5},
       "mode",
       "must be from low to high"},
      {{.kind = Kind::normal, .deviation = 1.0}, "mean", "must be given for a normal distribution"},
      {{.kind = Kind::normal, .mean = 1.0, .deviation = 0.0}, "deviation", "must be above 0"},
      {{.kind = Kind::normal, .low = 6.0, .mean = 0.0, .deviation = 1.0},
       "low",
       "must leave at least a millionth of the distribution between low and high"},
      {{.kind = Kind::normal, .high = -6.0, .mean = 0.0, .deviation = 1.0},
       "high",
       "must leave at least a millionth of the distribution between low and high"},
      {{.kind = Kind::log_normal, .median = 0.0, .deviation = 1.0}, "median", "must be above 0"},
      {{.kind = Kind::log_normal, .low = -1.0, .median = 1.0, .deviation = 1.0},
       "low",
       "must be above 0"},
      {{.kind = Kind::log_normal, .high = 0.0, .median = 1.0, .deviation = 1.0},
       "high",
       "must be above 0"}};
  for (const Case& each : cases) {
    const DistributionFault fault = judge_distribution(each.distribution);
    EXPECT_EQ(each.key, fault.key) << each.rule;
    EXPECT_EQ(each.rule, fault.rule) << each.key;
    EXPECT_THROW(quantile(each.distribution, 0.5), std::invalid_argument);
  }
  const Distribution sound{.kind = Kind::uniform, .low = 0.0, .high = 1.0};
  EXPECT_EQ("", judge_distribution(sound).rule);
  EXPECT_THROW(quantile(sound, -0.1), std::invalid_argument);
  EXPECT_THROW(quantile(sound, kUnset), std::invalid_argument);
}

}  // namespace
}  // namespace plunge::sampling_test
