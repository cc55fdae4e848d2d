#include "sim/numerics/statistics.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstddef>
#include <limits>
#include <stdexcept>
#include <vector>

#include "models/laws/constants.hpp"

namespace plunge::statistics_test {
namespace {

constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();

// offset + amplitude·sin(2πft), n samples.
std::vector<double> sine(std::size_t n, double sample_rate, double frequency, double amplitude,
                         double offset) {
  std::vector<double> x(n);
  for (std::size_t i = 0; i < n; ++i) {
    const double t = static_cast<double>(i) / sample_rate;
    x[i] = offset + amplitude * std::sin(2.0 * kPi * frequency * t);
  }
  return x;
}

// Computed with numpy 1.24.2 (mean, rms as sqrt(mean(square)), std, max(abs)).
TEST(Statistics, MomentsOfAShortRecordAreThoseOfNumpy) {
  const std::vector<double> x{0.013, 0.087, -0.031, 0.140, 0.055, 0.098, 0.002};
  EXPECT_NEAR(mean(x), 0.052, 1e-15);
  EXPECT_NEAR(rms(x), 0.07646848090179752, 1e-15);
  EXPECT_NEAR(rms_about_mean(x), 0.05606628729841643, 1e-15);
  EXPECT_EQ(peak(x), 0.140);
}

TEST(Statistics, PeakCountsBothSigns) { EXPECT_EQ(peak(std::vector<double>{1.0, -3.0, 2.0}), 3.0); }

// Closed form: rms² = mean² + rms about mean², amplitude/√2 about the mean.
TEST(Statistics, SineAboutAnOffset) {
  const std::vector<double> x = sine(1000, 1000.0, 7.0, 3.0, 4.0);
  EXPECT_NEAR(mean(x), 4.0, 1e-12);
  EXPECT_NEAR(rms_about_mean(x), 3.0 / std::sqrt(2.0), 1e-12);
  EXPECT_NEAR(rms(x), std::sqrt(16.0 + 4.5), 1e-12);
}

// Closed form: a load W(1 + ε·sin) varies by ε/√2.
TEST(Statistics, TyreLoadVariationIsRelativeToTheMeanLoad) {
  EXPECT_NEAR(variation(sine(1000, 1000.0, 5.0, 90.0, 450.0)), 0.2 / std::sqrt(2.0), 1e-13);
  EXPECT_EQ(variation(std::vector<double>(10, 450.0)), 0.0);
}

// Computed with numpy 1.24.2: np.percentile(x, p).
TEST(Statistics, PercentileIsThatOfNumpy) {
  const std::vector<double> even{0.012, 0.087, -0.031, 0.140, 0.055, 0.098, 0.002, 0.121};
  EXPECT_EQ(percentile(even, 0.0), -0.031);
  EXPECT_NEAR(percentile(even, 5.0), -0.01945, 1e-15);
  EXPECT_NEAR(percentile(even, 25.0), 0.0095, 1e-15);
  EXPECT_NEAR(percentile(even, 50.0), 0.071, 1e-15);
  EXPECT_NEAR(percentile(even, 90.0), 0.1267, 1e-15);
  EXPECT_NEAR(percentile(even, 99.0), 0.13867, 1e-15);
  EXPECT_EQ(percentile(even, 100.0), 0.140);

  const std::vector<double> odd{0.013, 0.087, -0.031, 0.140, 0.055, 0.098, 0.002};
  EXPECT_NEAR(percentile(odd, 10.0), -0.0112, 1e-15);
  EXPECT_NEAR(percentile(odd, 33.0), 0.01278, 1e-15);
  EXPECT_NEAR(percentile(odd, 75.0), 0.0925, 1e-15);
}

// Closed form: of a rise from 0 to 1 and a fall back the time above 0.2 is spread evenly over 0.2
// to 1, wherever the samples fall.
TEST(TimesAbove, AStraightRiseIsSpreadEvenly) {
  for (const std::vector<double>& x :
       {std::vector{0.0, 1.0, 0.0}, std::vector{0.0, 0.25, 0.5, 0.75, 1.0, 0.75, 0.5, 0.25, 0.0}}) {
    const TimesAbove times(x, 0.2);
    for (const double percent : {0.0, 10.0, 50.0, 99.0, 100.0}) {
      EXPECT_NEAR(times.percentile(percent), 0.2 + 0.008 * percent, 1e-12) << percent;
    }
  }
}

// By hand: two stretches at 3, one at 5, two rises and a fall between that take 1 each; the part
// from 0 to the level of 1 is left out. Of 5.667 stretches the first 0.667 lie below 3.
TEST(TimesAbove, AStretchAtOneValueCountsWithItsTime) {
  const TimesAbove times(std::vector{0.0, 3.0, 3.0, 3.0, 5.0, 5.0, 3.0}, 1.0);
  const double all = 2.0 / 3.0 + 2.0 + 1.0 + 1.0 + 1.0;
  EXPECT_NEAR(times.percentile(100.0 * (1.0 / 3.0) / all), 2.0, 1e-12);
  EXPECT_NEAR(times.percentile(100.0 * 1.5 / all), 3.0, 1e-12);
  EXPECT_NEAR(times.percentile(100.0 * (8.0 / 3.0 + 1.0) / all), 4.0, 1e-12);
  EXPECT_NEAR(times.percentile(100.0 * (14.0 / 3.0 + 0.5) / all), 5.0, 1e-12);
}

TEST(TimesAbove, ASampleAtTheLevelMovesNothing) {
  // One more sample above the level brings a time that goes to 0 with its height.
  const TimesAbove below(std::vector{0.0, 0.2 - 1e-9, 1.0, 0.0}, 0.2);
  const TimesAbove above(std::vector{0.0, 0.2 + 1e-9, 1.0, 0.0}, 0.2);
  EXPECT_NEAR(below.percentile(50.0), above.percentile(50.0), 1e-8);
  EXPECT_TRUE(TimesAbove(std::vector{0.1, 0.2, 0.0}, 0.2).empty());
  EXPECT_TRUE(TimesAbove(std::vector{1.0}, 0.2).empty());
  EXPECT_THROW(above.percentile(101.0), std::invalid_argument);
}

// By hand: of 1 2 3 and one loss, h = 3 p/100; the middle is half way between 2 and 3.
TEST(Statistics, ALossIsAboveEveryNumber) {
  const auto of = [](std::vector<double> x, std::size_t losses, double percent) {
    return percentile_with_losses(x, losses, percent);
  };
  EXPECT_EQ(of({3.0, 1.0, 2.0}, 1, 50.0), 2.5);
  EXPECT_EQ(of({3.0, 1.0, 2.0}, 1, 0.0), 1.0);
  EXPECT_EQ(of({3.0, 1.0, 2.0}, 1, 90.0), std::numeric_limits<double>::infinity());
  EXPECT_EQ(of({}, 2, 50.0), std::numeric_limits<double>::infinity());
  EXPECT_EQ(of({3.0, 1.0, 2.0}, 0, 90.0), percentile(std::vector<double>{1.0, 2.0, 3.0}, 90.0));
  // Eleven values, h = 9: the tenth alone counts, and the eleventh may be lost.
  EXPECT_EQ(of({10.0, 9.0, 8.0, 7.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0}, 1, 90.0), 10.0);
  EXPECT_EQ(of({9.0, 8.0, 7.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0}, 2, 90.0),
            std::numeric_limits<double>::infinity());
}

TEST(Statistics, EveryPercentileOfOneSampleIsThatSample) {
  const std::vector<double> x{0.3};
  for (const double percent : {0.0, 37.0, 100.0}) EXPECT_EQ(percentile(x, percent), 0.3);
}

// Closed form: a sine spends (1/2 − asin(L/A)/π) of its time above L; 1/3 above A/2.
TEST(Statistics, ASineSpendsAThirdOfItsTimeAboveHalfItsAmplitude) {
  const std::vector<double> x = sine(30000, 1000.0, 1.0 / 30.0, 2.0, 0.0);
  EXPECT_NEAR(share_above(x, 1.0), 1.0 / 3.0, 2.0 / 30000.0);
}

TEST(Statistics, ASampleAtTheLevelIsNotAboveIt) {
  EXPECT_EQ(share_above(std::vector<double>{0.0, 1.0, 2.0, 3.0}, 1.0), 0.5);
}

// By hand: each edge belongs to the class that it opens, the last edge to the class it closes.
TEST(Statistics, HistogramClassesAreHalfOpenAndTheLastIsClosed) {
  const std::vector<double> x{-1.0, 0.0, 0.5, 1.0, 1.5, 1.5, 2.0, 3.0};
  const Histogram h = histogram(x, 0.0, 2.0, 2);
  EXPECT_EQ(h.edges, (std::vector<double>{0.0, 1.0, 2.0}));
  EXPECT_EQ(h.share, (std::vector<double>{2.0 / 8.0, 4.0 / 8.0}));
  EXPECT_EQ(h.below, 1.0 / 8.0);
  EXPECT_EQ(h.above, 1.0 / 8.0);
}

// Computed: a count by comparing every sample with every pair of edges.
TEST(Statistics, HistogramFollowsItsOwnEdges) {
  const std::vector<double> x = sine(4001, 1000.0, 0.77, 0.5, 0.5);
  const Histogram h = histogram(x, 0.0, 1.0, 10);
  double total = h.below + h.above;
  for (std::size_t k = 0; k < h.share.size(); ++k) {
    total += h.share[k];
    std::size_t count = 0;
    for (const double value : x) {
      const bool last = k + 1 == h.share.size() && value == h.edges[k + 1];
      if (value >= h.edges[k] && (value < h.edges[k + 1] || last)) ++count;
    }
    EXPECT_EQ(h.share[k], static_cast<double>(count) / 4001.0) << "class " << k;
    EXPECT_GT(count, 100u);
  }
  EXPECT_NEAR(total, 1.0, 1e-14);
}

// By hand: x = 0, 1, 0 joined by lines at 1 Hz; from 0.5 to 1.5 s the mean is 3/4.
TEST(Statistics, MeanBetweenIntegratesTheStraightLines) {
  const std::vector<double> x{0.0, 1.0, 0.0};
  EXPECT_NEAR(mean_between(x, 1.0, {0.5, 1.5}), 0.75, 1e-15);
  EXPECT_NEAR(mean_between(x, 1.0, {0.0, 2.0}), 0.5, 1e-15);
  EXPECT_NEAR(mean_between(x, 1.0, {0.25, 0.75}), 0.5, 1e-15);
}

// By hand: 0.29 s at 100 Hz is 28.999999999999996 samples, and 0.07 s is 7.000000000000001.
TEST(Statistics, AnIntervalMayEndAtTheRoundedTimeOfTheLastSample) {
  EXPECT_NEAR(mean_between(std::vector<double>(30, 2.0), 100.0, {0.0, 0.29}), 2.0, 1e-15);
  EXPECT_NEAR(mean_between(std::vector<double>(8, 2.0), 100.0, {0.0, 0.07}), 2.0, 1e-15);
}

// Closed form: travel = slope·t + a swing once per bump; from the first bump to the twentieth the
// swing cancels and the drift is slope·19 periods. A period of 181.8 samples is the hard case: the
// plain mean of 181 samples is off by a hundred times the tolerance.
TEST(Statistics, PackingIsTheDriftOfTravelWhateverTheSwing) {
  const double sample_rate = 1000.0;
  const double period = 2.0 / 11.0;
  const double slope = 0.002;
  std::vector<double> travel = sine(4000, sample_rate, 1.0 / period, 0.03, 0.05);
  for (std::size_t i = 0; i < travel.size(); ++i) {
    travel[i] += slope * static_cast<double>(i) / sample_rate;
  }
  const double found =
      drift(travel, sample_rate, {0.1, 0.1 + period}, {0.1 + 19.0 * period, 0.1 + 20.0 * period});
  EXPECT_NEAR(found, slope * 19.0 * period, 2e-7);
  EXPECT_LT(drift(travel, sample_rate, {2.0, 2.0 + period}, {0.1, 0.1 + period}), 0.0);

  const std::span<const double> first(travel.data() + 100, 181);
  const double exact = 0.05 + slope * (0.1 + 0.5 * period);
  EXPECT_GT(std::abs(mean(first) - exact), 2e-5);
  EXPECT_NEAR(mean_between(travel, sample_rate, {0.1, 0.1 + period}), exact, 2e-7);
}

// Closed form: 1 − exp(−t/τ) stays within 5 % of 1 from t = τ·ln 20 on.
TEST(Statistics, AFirstOrderResponseSettlesAfterThreeTimeConstants) {
  const double tau = 0.2;
  std::vector<double> x(3000);
  for (std::size_t i = 0; i < x.size(); ++i) {
    x[i] = 1.0 - std::exp(-static_cast<double>(i) / 1000.0 / tau);
  }
  const auto time = settle_time(x, 1000.0, 1.0, 0.05);
  ASSERT_TRUE(time.has_value());
  EXPECT_NEAR(*time, tau * std::log(20.0), 1e-6);
}

// By hand: the signal passes through the band and leaves it again; only the last entry counts. It
// comes back from −2 to 0 between 4 and 5 s and meets −0.5 at 4.75 s.
TEST(Statistics, SettlingWaitsForTheLastExcursion) {
  const std::vector<double> x{3.0, 0.0, 2.0, 0.0, -2.0, 0.0, 0.4, 0.0};
  EXPECT_NEAR(settle_time(x, 1.0, 0.0, 0.5).value(), 4.75, 1e-15);
  EXPECT_NEAR(settle_time(x, 10.0, 0.0, 0.5).value(), 0.475, 1e-15);
  EXPECT_EQ(settle_time(x, 1.0, 0.0, 3.0).value(), 0.0);
}

TEST(Statistics, ASignalThatEndsOutsideTheBandHasNotSettled) {
  EXPECT_FALSE(settle_time(std::vector<double>{0.0, 0.0, 1.0}, 1.0, 0.0, 0.5).has_value());
}

TEST(Statistics, NothingIsMeasuredOfAnEmptyOrBrokenSignal) {
  for (const std::vector<double>& x : {std::vector<double>{}, std::vector<double>{1.0, kNaN}}) {
    EXPECT_THROW(mean(x), std::invalid_argument);
    EXPECT_THROW(rms(x), std::invalid_argument);
    EXPECT_THROW(rms_about_mean(x), std::invalid_argument);
    EXPECT_THROW(variation(x), std::invalid_argument);
    EXPECT_THROW(peak(x), std::invalid_argument);
    EXPECT_THROW(percentile(x, 50.0), std::invalid_argument);
    EXPECT_THROW(share_above(x, 0.0), std::invalid_argument);
    EXPECT_THROW(histogram(x, 0.0, 1.0, 4), std::invalid_argument);
    EXPECT_THROW(mean_between(x, 1.0, {0.0, 1.0}), std::invalid_argument);
    EXPECT_THROW(drift(x, 1.0, {0.0, 0.5}, {0.5, 1.0}), std::invalid_argument);
    EXPECT_THROW(settle_time(x, 1.0, 0.0, 1.0), std::invalid_argument);
  }
}

TEST(Statistics, ArgumentsThatMakeNoSenseAreRefused) {
  const std::vector<double> x{1.0, 2.0, 3.0};
  EXPECT_THROW(variation(std::vector<double>{1.0, -1.0}), std::invalid_argument);
  for (const double percent : {-1.0, 100.5, kNaN}) {
    EXPECT_THROW(percentile(x, percent), std::invalid_argument);
  }
  EXPECT_THROW(share_above(x, kNaN), std::invalid_argument);
  EXPECT_THROW(histogram(x, 1.0, 1.0, 4), std::invalid_argument);
  EXPECT_THROW(histogram(x, 0.0, kNaN, 4), std::invalid_argument);
  EXPECT_THROW(histogram(x, 0.0, 1.0, 0), std::invalid_argument);
  for (const double rate : {0.0, -1.0, kNaN, std::numeric_limits<double>::infinity()}) {
    EXPECT_THROW(mean_between(x, rate, {0.0, 1.0}), std::invalid_argument);
    EXPECT_THROW(settle_time(x, rate, 0.0, 1.0), std::invalid_argument);
  }
  for (const Interval wrong : {Interval{1.0, 1.0}, Interval{-0.1, 1.0}, Interval{0.0, 2.1},
                               Interval{kNaN, 1.0}, Interval{0.0, kNaN}, Interval{3.0, 4.0}}) {
    EXPECT_THROW(mean_between(x, 1.0, wrong), std::invalid_argument);
  }
  EXPECT_THROW(settle_time(x, 1.0, kNaN, 1.0), std::invalid_argument);
  for (const double band : {0.0, -1.0, kNaN}) {
    EXPECT_THROW(settle_time(x, 1.0, 0.0, band), std::invalid_argument);
  }
}

TEST(Statistics, ARefusalNamesTheSampleAndItsValue) {
  try {
    mean(std::vector<double>{1.0, 2.0, kNaN});
    FAIL() << "must throw";
  } catch (const std::invalid_argument& error) {
    EXPECT_STREQ(error.what(), "signal[2] = nan: must be finite");
  }
}

}  // namespace
}  // namespace plunge::statistics_test
