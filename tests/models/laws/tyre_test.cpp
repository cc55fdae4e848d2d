#include "models/laws/tyre.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/support.hpp"

namespace plunge::tyre_test {
namespace {

template <class S = double>
Tyre<S> tyre(double onset) {
  return {90e3, 70.0, onset, 0.045, 1e6};
}

double elastic(const Tyre<double>& t, double d) { return t.elastic(d, d > t.rim_depth); }

TEST(Tyre, ALinearTyreIsAStraightLine) {
  // By hand: 10 mm and 0.5 m/s on 90 N/mm and 70 N.s/m: 900 + 35 N.
  EXPECT_NEAR(tyre(0.0).force(0.01, 0.5, true, false), 935.0, 1e-9);
  EXPECT_NEAR(tyre(0.0).stored_energy(0.01), 4.5, 1e-12);
}

TEST(Tyre, AGrowingContactPatchBeginsSoftAndJoinsTheLine) {
  // By hand, onset 6 mm: at 1.5 mm 2/3*90*1.5*sqrt(1/4) = 45 N; at 6 mm 360 N either way; at 10 mm
  // 90*(10 - 2) = 720 N.
  const Tyre<double> t = tyre(6e-3);
  EXPECT_NEAR(elastic(t, 1.5e-3), 45.0, 1e-9);
  EXPECT_NEAR(elastic(t, 6e-3), 360.0, 1e-9);
  EXPECT_NEAR(elastic(t, 10e-3), 720.0, 1e-9);
}

TEST(Tyre, TheOnsetHasNoJumpOfForceOrSlope) {
  // The slopes on both sides of the onset and of first touch: 90 N/mm, and 0.
  const Tyre<Dual> t = tyre<Dual>(6e-3);
  const Dual before = t.elastic(Dual(6e-3 - 1e-9, 1.0), false);
  const Dual after = t.elastic(Dual(6e-3 + 1e-9, 1.0), false);
  EXPECT_NEAR(after.value - before.value, 90e3 * 2e-9, 1e-6);
  EXPECT_NEAR(before.slope, 90e3, 1.0);
  EXPECT_NEAR(after.slope, 90e3, 1e-6);
  EXPECT_LT(t.elastic(Dual(1e-12, 1.0), false).slope, 2.0);
}

TEST(Tyre, TheRimIsMetPastTheSectionHeight) {
  // By hand, linear: 47 mm is 4230 N of tyre and 2000 N of rim.
  const Tyre<double> t = tyre(0.0);
  EXPECT_NEAR(elastic(t, 0.047), 6230.0, 1e-9);
  EXPECT_NEAR(elastic(t, 0.045), 4050.0, 1e-9);
  EXPECT_NEAR(t.stored_energy(0.047), 0.5 * 90e3 * 0.047 * 0.047 + 2.0, 1e-9);
}

TEST(Tyre, OffTheGroundThereIsNothing) {
  for (const double onset : {0.0, 6e-3}) {
    EXPECT_EQ(tyre(onset).force(-0.01, 3.0, false, false), 0.0);
    EXPECT_EQ(tyre(onset).stored_energy(-0.01), 0.0);
  }
}

TEST(Tyre, ItsForceRisesWithDeflection) {
  for (const double onset : {0.0, 6e-3}) {
    const Tyre<double> t = tyre(onset);
    for (double d = 0.0; d < 0.06; d += 1e-4) EXPECT_GT(elastic(t, d + 1e-4), elastic(t, d)) << d;
  }
}

TEST(Tyre, TheLawRunsOnSmoothlyThroughFirstTouch) {
  // So that a step may overshoot: odd in the deflection.
  for (const double onset : {0.0, 6e-3}) {
    const Tyre<double> t = tyre(onset);
    const double odd = onset > 0.0 ? elastic(t, 1e-4) : 9.0;
    EXPECT_NEAR(elastic(t, -1e-4), -odd, 1e-9);
  }
}

}  // namespace
}  // namespace plunge::tyre_test
