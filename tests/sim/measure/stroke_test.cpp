#include "sim/measure/stroke.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <stdexcept>
#include <vector>

#include "models/laws/constants.hpp"

namespace plunge::stroke_test {
namespace {

std::vector<double> sampled(double rate, double duration, const std::function<double(double)>& x) {
  std::vector<double> samples;
  for (int i = 0; i <= std::lround(duration * rate); ++i) samples.push_back(x(i / rate));
  return samples;
}

// A hit at 0.1 s to 130 mm, from where the fork swings about 30 mm as a damped oscillator does that
// is let go at rest: 30 + 100 e^(-4 u) (cos(10 u) + 0.4 sin(10 u)) mm.
double swing(double t) {
  const double u = t - 0.1;
  if (u < 0.0) return 0.13 - 5.8 * u * u;
  return 0.03 + 0.1 * std::exp(-4.0 * u) * (std::cos(10.0 * u) + 0.4 * std::sin(10.0 * u));
}

TEST(Stroke, ADampedSwingReturnsAndOvershootsAsItsClosedFormSays) {
  // By hand: back at 30 mm where tan(10 u) = -2.5, u = (pi - atan(2.5))/10 = 195.13 ms, and
  // furthest past it after half a period, by 100 e^(-0.4 pi) = 28.46 mm.
  for (const double rate : {200.0, 1000.0, 16000.0}) {
    const auto found = stroke_return(sampled(rate, 2.0, swing), rate, 0.03, 0.03);
    ASSERT_TRUE(found) << rate;
    EXPECT_NEAR(found->time, 0.195130, 0.05 / rate + 1e-6) << rate;
    EXPECT_NEAR(found->overshoot, 0.1 * std::exp(-0.4 * kPi), 1e-6) << rate;
  }
}

TEST(Stroke, TheOvershootIsThatBeforeTheForkComesInAgain) {
  // Samples by hand: back at 30 mm after 1.5 of them, 5 mm past it, in again; what follows, a
  // wheel that falls off a lip, is no overshoot of this stroke.
  const std::vector<double> x = {0.03, 0.09, 0.04, 0.02, 0.025, 0.04, 0.0, 0.0};
  const auto found = stroke_return(x, 10.0, 0.03, 0.03);
  ASSERT_TRUE(found);
  EXPECT_NEAR(found->time, 0.15 - (deepest(x, 10.0).time - 0.1), 1e-12);
  EXPECT_NEAR(found->overshoot, 0.01, 1.5e-3);
}

TEST(Stroke, AForkThatHangsInItsTravelNeverReturns) {
  EXPECT_FALSE(stroke_return(std::vector<double>{0.03, 0.1, 0.05, 0.041, 0.04}, 10.0, 0.035, 0.03));
  // And one that was never deeper has nowhere to return from.
  EXPECT_FALSE(stroke_return(std::vector<double>{0.03, 0.034, 0.03}, 10.0, 0.035, 0.03));
  EXPECT_FALSE(stroke_return(std::vector<double>{0.05}, 10.0, 0.035, 0.03));
  // It may stop short of where the overshoot counts from.
  const auto short_of = stroke_return(std::vector<double>{0.1, 0.034, 0.033}, 10.0, 0.035, 0.03);
  ASSERT_TRUE(short_of);
  EXPECT_EQ(short_of->overshoot, 0.0);
}

TEST(Stroke, TheDeepestOfAParabolaIsFoundBetweenItsSamples) {
  for (const double at : {0.503, 0.5078, 0.5111}) {
    const auto x = sampled(100.0, 1.0, [at](double t) { return 0.1 - 0.2 * (t - at) * (t - at); });
    EXPECT_NEAR(deepest(x, 100.0).time, at, 1e-9);
    EXPECT_NEAR(deepest(x, 100.0).travel, 0.1, 1e-12);
  }
  // Not at the ends, and not where it is flat.
  EXPECT_EQ(deepest(std::vector<double>{0.3, 0.2, 0.1}, 10.0).time, 0.0);
  EXPECT_EQ(deepest(std::vector<double>{0.1, 0.2, 0.3}, 10.0).time, 0.2);
  EXPECT_EQ(deepest(std::vector<double>{0.2, 0.2, 0.2}, 10.0).time, 0.0);
}

TEST(Stroke, OneThatTremblesAboutTheLineCountsOnce) {
  const std::vector<double> x = {0.0, 0.14, 0.13, 0.136, 0.134, 0.14, 0.1, 0.1351, 0.0};
  EXPECT_EQ(strokes_past(x, 0.135, 0.1275), 2);
  EXPECT_EQ(strokes_past(x, 0.135, 0.1349), 4);
  EXPECT_EQ(strokes_past(x, 0.2, 0.1), 0);
  // A ride that begins past it has one.
  EXPECT_EQ(strokes_past(std::vector<double>{0.14}, 0.135, 0.1275), 1);
}

TEST(Stroke, AForkThatIsLetGoSettlesAsAnExponentialDoes) {
  // By hand: 50 e^(-t/0.2) mm passes 5 mm at 0.2 ln 10 = 0.4605 s.
  for (const double rate : {200.0, 1000.0, 16000.0}) {
    const auto x = sampled(rate, 3.0, [](double t) { return 0.03 + 0.05 * std::exp(-t / 0.2); });
    EXPECT_NEAR(recovery(x, rate, 5e-3).value(), 0.2 * std::log(10.0), 1e-4) << rate;
  }
  // Too short a look, or none of it at rest, tells nothing.
  const auto falls = [](double t) { return 0.1 - 0.02 * t; };
  EXPECT_FALSE(recovery(sampled(1000.0, 0.9, falls), 1000.0, 5e-3));
  EXPECT_FALSE(recovery(sampled(1000.0, 2.0, falls), 1000.0, 2e-3));
}

TEST(Stroke, NothingIsMeasuredOfAnEmptySignal) {
  EXPECT_THROW(deepest({}, 10.0), std::invalid_argument);
  EXPECT_THROW(stroke_return({}, 10.0, 0.1, 0.1), std::invalid_argument);
  EXPECT_THROW(strokes_past({}, 0.1, 0.05), std::invalid_argument);
  EXPECT_THROW(recovery({}, 10.0, 0.1), std::invalid_argument);
}

}  // namespace
}  // namespace plunge::stroke_test
