#include "sim/report/sensitivity.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <stdexcept>

#include "models/laws/constants.hpp"
#include "tests/support.hpp"

namespace plunge::sensitivity_test {
namespace {

constexpr double kNot = std::numeric_limits<double>::quiet_NaN();

SensitivityInputs grid_of(std::vector<SensitivityInputs::Axis> axes) {
  SensitivityInputs inputs;
  inputs.grid = std::move(axes);
  return inputs;
}

// y = x1 + 2 x2 over numbers drawn evenly from (0, 1), and more that do nothing.
struct Sampled {
  SensitivityInputs inputs;
  std::vector<std::vector<double>> rows;
};

Sampled sampled(Design design, std::size_t base_points, std::size_t numbers, Dice* dice) {
  Sampled sample;
  sample.inputs.design = design;
  sample.inputs.base_points = base_points;
  if (dice == nullptr) {
    const DesignRows rows(design, base_points, numbers, 0);
    sample.rows.resize(rows.size());
    for (std::size_t row = 0; row < rows.size(); ++row) {
      for (std::size_t j = 0; j < numbers; ++j) sample.rows[row].push_back(rows.share(row, j));
    }
  } else {  // at random, in place of a sequence
    for (std::size_t j = 0; j < base_points; ++j) {
      std::vector<double> a(numbers), b(numbers);
      for (double& u : a) u = dice->between(0.0, 1.0);
      for (double& u : b) u = dice->between(0.0, 1.0);
      sample.rows.push_back(a);
      if (design != Design::pick_freeze) continue;
      sample.rows.push_back(b);
      for (std::size_t i = 0; i < numbers; ++i) {
        sample.rows.push_back(a);
        sample.rows.back()[i] = b[i];
      }
    }
  }
  for (std::size_t i = 0; i < numbers; ++i) {
    std::string name = "x";
    name += std::to_string(i + 1);
    sample.inputs.sampled.push_back({name, {}});
    for (const auto& row : sample.rows) sample.inputs.sampled[i].values.push_back(row[i]);
  }
  return sample;
}

TEST(Sensitivity, OfAGridIsTheExactShareOfVariance) {
  // y = i + 10 k + 5 i k with i in {0, 1}, k in {0, 1}: 0, 10, 1, 16. By hand: mean 6.75,
  // variance 357/4 - 6.75^2 = 43.6875; means over k: 5, 8.5, variance 3.0625; over i: 0.5, 13,
  // variance 39.0625; the rest, 1.5625, is their joint effect.
  const std::vector<double> y = {0.0, 10.0, 1.0, 16.0};
  const Sensitivity found = sensitivity(grid_of({{"i", 2}, {"k", 2}}), y);
  ASSERT_EQ(found.inputs.size(), 2u);
  EXPECT_DOUBLE_EQ(found.mean, 6.75);
  EXPECT_NEAR(found.variance, 43.6875, 1e-12);
  EXPECT_NEAR(found.inputs[0].first.value, 3.0625 / 43.6875, 1e-12);
  EXPECT_NEAR(found.inputs[1].first.value, 39.0625 / 43.6875, 1e-12);
  EXPECT_NEAR(found.inputs[0].total.value, (3.0625 + 1.5625) / 43.6875, 1e-12);
  EXPECT_NEAR(found.inputs[1].total.value, (39.0625 + 1.5625) / 43.6875, 1e-12);
  EXPECT_TRUE(std::isnan(found.inputs[0].first.low)) << "an exact number has no interval";
}

TEST(Sensitivity, AnAxisOfOneValueIsNoInput) {
  const Sensitivity found = sensitivity(grid_of({{"scene", 1}, {"k", 3}}), std::vector{1., 2., 4.});
  ASSERT_EQ(found.inputs.size(), 1u);
  EXPECT_EQ(found.inputs[0].name, "k");
  EXPECT_DOUBLE_EQ(found.inputs[0].first.value, 1.0);
  EXPECT_DOUBLE_EQ(found.inputs[0].total.value, 1.0);
}

TEST(Sensitivity, AGridWithHolesIsSharedAmongWhatIsThere) {
  // 2 x 3 values i + 2 k with (1, 2) missing: 0, 2, 4, 1, 3. By hand: mean 2, variance 2; means of
  // i: 2, 2; of k: 0.5, 2.5, 4, squares of their distances 2.25, 0.25, 4 with weights 2, 2, 1 of 5;
  // within lines along i: 0.5 + 0.5 + 0; along k: 8 + 2.
  const std::vector<double> y = {0.0, 2.0, 4.0, 1.0, 3.0, kNot};
  const Sensitivity found = sensitivity(grid_of({{"i", 2}, {"k", 3}}), y);
  EXPECT_EQ(found.not_numbers, 1u);
  EXPECT_EQ(found.cells_left, 1u);
  EXPECT_EQ(found.outputs, 5u);
  EXPECT_NEAR(found.inputs[0].first.value, 0.0, 1e-12);
  EXPECT_NEAR(found.inputs[1].first.value, (2 * 2.25 + 2 * 0.25 + 4.0) / 5.0 / 2.0, 1e-12);
  EXPECT_NEAR(found.inputs[0].total.value, 1.0 / 5.0 / 2.0, 1e-12);
  EXPECT_NEAR(found.inputs[1].total.value, 10.0 / 5.0 / 2.0, 1e-12);
}

TEST(Sensitivity, SaysWhyThereIsNone) {
  const auto why = [](const std::vector<double>& y) {
    return sensitivity(grid_of({{"k", 3}}), y).why_none;
  };
  EXPECT_EQ(why({1.0, 2.0, 3.0}), "");
  EXPECT_EQ(why({0.1, 0.1, 0.1}), "it does not vary");
  EXPECT_EQ(why({kNot, kNot, kNot}), "it has no value in any ride");
  EXPECT_EQ(sensitivity(grid_of({{"k", 1}}), std::vector{1.0}).why_none, "nothing is varied");
  const Sampled few = sampled(Design::sobol, 7, 1, nullptr);
  EXPECT_EQ(sensitivity(few.inputs, std::vector<double>{1, 2, 3, 4, 5, 6, 7}).why_none,
            "too few rows of the sample are complete");
  EXPECT_THROW(sensitivity(grid_of({{"k", 2}}), std::vector{1.0}), std::invalid_argument);
}

// y = x1 + 2 x2, of numbers even in (0, 1): shares 1/5 and 4/5, of the third none; first order and
// total are the same (closed form).
void expect_shares(const Sensitivity& found, double tolerance, bool totals) {
  const double shares[] = {0.2, 0.8, 0.0};
  for (std::size_t i = 0; i < 3; ++i) {
    const InputIndices& input = found.inputs[i];
    EXPECT_NEAR(input.first.value, shares[i], tolerance) << input.name;
    EXPECT_LE(input.first.low, shares[i] + 0.25 * tolerance) << input.name;
    EXPECT_GE(input.first.high, shares[i] - 0.25 * tolerance) << input.name;
    EXPECT_LE(input.first.low, input.first.high);
    EXPECT_EQ(std::isnan(input.total.value), !totals);
    if (!totals) continue;
    EXPECT_NEAR(input.total.value, shares[i], tolerance) << input.name;
  }
}

TEST(Sensitivity, OfASampleIsTheShareOfALinearLaw) {
  for (const Design design : {Design::pick_freeze, Design::sobol, Design::latin_hypercube}) {
    const Sampled sample = sampled(design, 4096, 3, nullptr);
    std::vector<double> y;
    for (const auto& row : sample.rows) y.push_back(7.0 + row[0] + 2.0 * row[1]);
    const Sensitivity found = sensitivity(sample.inputs, y);
    expect_shares(found, 0.01, design == Design::pick_freeze);
    EXPECT_NEAR(found.mean, 8.5, 0.01) << to_string(design);
    EXPECT_NEAR(found.variance, 5.0 / 12.0, 0.005) << to_string(design);
  }
}

TEST(Sensitivity, OfASampleOverAGridSharesBetweenBoth) {
  // y = g + x1 + 2 x2 with g = 0, 1, 2: variances 2/3, 1/12, 4/12; sum 13/12 (closed form).
  for (const Design design : {Design::pick_freeze, Design::sobol}) {
    Sampled sample = sampled(design, 2048, 2, nullptr);
    sample.inputs.grid = {{"scene", 1}, {"g", 3}};
    std::vector<double> y;
    for (const double g : {0.0, 1.0, 2.0}) {
      for (const auto& row : sample.rows) y.push_back(g + row[0] + 2.0 * row[1]);
    }
    const Sensitivity found = sensitivity(sample.inputs, y);
    ASSERT_EQ(found.inputs.size(), 3u);
    const double shares[] = {8.0 / 13.0, 1.0 / 13.0, 4.0 / 13.0};
    for (std::size_t i = 0; i < 3; ++i) {
      EXPECT_NEAR(found.inputs[i].first.value, shares[i], 0.01) << to_string(design) << i;
    }
    EXPECT_NEAR(found.inputs[0].total.value, shares[0], 0.01);
  }
}

TEST(Sensitivity, ACellWithoutNumbersAndARowWithAGapAreLeftOut) {
  Sampled sample = sampled(Design::pick_freeze, 512, 2, nullptr);
  sample.inputs.grid = {{"g", 3}};
  std::vector<double> y;
  for (const double g : {0.0, 1.0, kNot}) {
    for (const auto& row : sample.rows) y.push_back(g + row[0] + 2.0 * row[1]);
  }
  y[4 * 17 + 2] = kNot;  // one of base row 17, in the first cell
  const Sensitivity found = sensitivity(sample.inputs, y);
  EXPECT_EQ(found.cells_left, 1u);
  EXPECT_EQ(found.rows_left, 1u);
  EXPECT_EQ(found.not_numbers, sample.rows.size() + 1);
  EXPECT_EQ(found.outputs, 2u * 4u * 511u);
  // Variances 1/4, 1/12, 4/12 (closed form).
  EXPECT_NEAR(found.inputs[0].first.value, 3.0 / 8.0, 0.01);
  EXPECT_NEAR(found.inputs[2].total.value, 4.0 / 8.0, 0.02);
}

TEST(Sensitivity, AnAxisOfWhichOneValueIsLeftIsNoInput) {
  const std::vector<double> y = {1.0, 2.0, 4.0, kNot, kNot, kNot};
  const Sensitivity found = sensitivity(grid_of({{"scene", 2}, {"k", 3}}), y);
  ASSERT_EQ(found.inputs.size(), 1u);
  EXPECT_EQ(found.inputs[0].name, "k");
  EXPECT_DOUBLE_EQ(found.inputs[0].total.value, 1.0);
}

TEST(Sensitivity, ManyRowsAreDrawnInGroups) {
  // More base rows than units: the interval narrows as 1/sqrt(N) all the same.
  const auto width = [](std::size_t rows) {
    Dice dice(5);
    const Sampled sample = sampled(Design::pick_freeze, rows, 3, &dice);
    std::vector<double> y;
    for (const auto& row : sample.rows) y.push_back(row[0] + 2.0 * row[1]);
    const Sensitivity found = sensitivity(sample.inputs, y);
    return found.inputs[1].first.high - found.inputs[1].first.low;
  };
  EXPECT_NEAR(width(16 * 1024) / width(1024), 0.25, 0.05);
}

TEST(Sensitivity, TheSameOutputsGiveTheSameIntervals) {
  const Sampled sample = sampled(Design::sobol, 3000, 2, nullptr);
  std::vector<double> y;
  for (const auto& row : sample.rows) y.push_back(row[0] * row[1]);
  const Sensitivity one = sensitivity(sample.inputs, y), two = sensitivity(sample.inputs, y);
  EXPECT_EQ(one.inputs[0].first.low, two.inputs[0].first.low);
  EXPECT_EQ(one.inputs[1].first.high, two.inputs[1].first.high);
}

TEST(Sensitivity, RoundedNumbersShareAClass) {
  // x in {0, 1, 2, 3}, y = x + noise: Var x = 1.25, noise 1/12 wide 1; share 1.25/(1.25 + 1/12).
  Dice dice(11);
  Sampled sample = sampled(Design::sobol, 4096, 1, &dice);
  std::vector<double> y;
  for (double& x : sample.inputs.sampled[0].values) {
    x = std::floor(4.0 * x);
    y.push_back(x + dice.between(0.0, 1.0));
  }
  EXPECT_NEAR(sensitivity(sample.inputs, y).inputs[0].first.value, 1.25 / (1.25 + 1.0 / 12.0),
              0.005);
}

// Intervals that hold the truth in 95 of 100 repetitions, within what 200 of them may show by
// chance: 3 times sqrt(0.95*0.05/200) = 0.046, and 0.02 for a bootstrap of few rows.
TEST(Sensitivity, IntervalsCoverAsOftenAsTheySay) {
  for (const Design design : {Design::pick_freeze, Design::sobol}) {
    std::size_t covered[6] = {};
    constexpr std::size_t kTimes = 200;
    for (std::size_t repeat = 0; repeat < kTimes; ++repeat) {
      Dice dice(1000 + repeat);
      const Sampled sample = sampled(design, 256, 2, &dice);
      std::vector<double> y;
      // (x1 - 1/2) (1 + x2): V = 1/12 (9/4 + 1/12), S1 = (9/4)/(9/4 + 1/12), S2 = 0 (closed form).
      for (const auto& row : sample.rows) y.push_back((row[0] - 0.5) * (1.0 + row[1]));
      const Sensitivity found = sensitivity(sample.inputs, y);
      const double s1 = 27.0 / 28.0;
      const double truth[] = {s1, 0.0, 1.0, 1.0 - s1};
      for (std::size_t i = 0; i < 4; ++i) {
        const InputIndices& input = found.inputs[i % 2];
        const Index& index = i < 2 ? input.first : input.total;
        covered[i] += index.low <= truth[i] && truth[i] <= index.high ? 1 : 0;
      }
    }
    for (std::size_t i = 0; i < (design == Design::pick_freeze ? 4u : 2u); ++i) {
      // Of a plain sample S1 is lost within the classes, 1/256 of it, and its interval is narrow.
      if (design == Design::sobol && i == 0) continue;
      EXPECT_NEAR(static_cast<double>(covered[i]) / kTimes, 0.95, 0.066)
          << to_string(design) << " index " << i;
    }
  }
}

}  // namespace
}  // namespace plunge::sensitivity_test
