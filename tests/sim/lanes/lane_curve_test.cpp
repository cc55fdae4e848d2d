#include "sim/lanes/lane_curve.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "sim/lanes/lane_single.hpp"

namespace plunge::lane_curve_test {
namespace {

double number(const Single& single) { return static_cast<double>(single.value); }
bool is(const SingleMask& mask) { return mask.on; }

TEST(LaneCurve, ACubicTakesItsEndsAndFindsItsRoot) {
  // x = t^3 - 0.3 t - 0.05 over a step of 2 s, s = 2 t: x' = (3 t^2 - 0.3)/2.
  const auto x = [](double t) { return t * t * t - 0.3 * t - 0.05; };
  const auto cubic = Cubic<Single>::between(Single(2.0), Single(x(0.0)), Single(-0.15),
                                            Single(x(1.0)), Single(1.35));
  EXPECT_NEAR(number(cubic.a), -0.05, 1e-6);
  EXPECT_NEAR(number(cubic.b), -0.3, 1e-6);
  EXPECT_NEAR(number(cubic.c), 0.0, 1e-6);
  EXPECT_NEAR(number(cubic.d), 1.0, 1e-6);
  // Its only root in [0, 1], by Cardano's formula: 2 sqrt(0.1) cos(acos(0.025/0.1^1.5)/3).
  const double due = 2.0 * std::sqrt(0.1) * std::cos(std::acos(0.025 / std::pow(0.1, 1.5)) / 3.0);
  EXPECT_NEAR(x(due), 0.0, 1e-12);
  EXPECT_NEAR(number(cubic.root(Single(0.7), Single(1.0), Single(1.0))), due, 1e-5);
}

TEST(LaneCurve, AParabolaHasOneExtreme) {
  // 3 - 8 (t - 0.6)^2: largest at 0.6; no smallest.
  const auto x = [](double t) { return Single(3.0 - 8.0 * (t - 0.6) * (t - 0.6)); };
  const auto top = Extreme<Single>::of(1.0, x(0.0), x(0.5), x(1.0));
  EXPECT_NEAR(number(top.value), 3.0, 1e-6);
  EXPECT_NEAR(number(top.place), 0.6, 1e-6);
  EXPECT_TRUE(is(top.inside(0.0)));
  EXPECT_FALSE(is(Extreme<Single>::of(-1.0, x(0.0), x(0.5), x(1.0)).inside(0.0)));
  // The same a step later: past the begin by 0.4 of the step.
  const auto past = Extreme<Single>::of(1.0, x(1.0), x(1.5), x(2.0));
  EXPECT_FALSE(is(past.inside(0.25)));
  EXPECT_TRUE(is(past.inside(0.5)));
  // A straight line has none.
  EXPECT_FALSE(is(Extreme<Single>::of(1.0, Single(1.0), Single(2.0), Single(3.0)).inside(10.0)));
}

}  // namespace
}  // namespace plunge::lane_curve_test
