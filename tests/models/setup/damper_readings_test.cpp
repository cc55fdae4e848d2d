#include "models/setup/damper_readings.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

#include "models/setup/damper.hpp"
#include "models/setup/oil.hpp"
#include "tests/dampers.hpp"

namespace plunge::damper_readings_test {
namespace {

DamperSetup without_blow_off() {
  DamperSetup damper = with_shim_adjuster();
  damper.blow_off_slope = 0.0;
  return damper;
}

// "low-speed adjuster clicks 0 to 14; ..."
std::string words(const DamperSetup& damper) {
  std::string text;
  for (const Adjuster& adjuster : adjusters_of(damper)) {
    text += std::string(to_string(adjuster.adjusts)) + " " + std::string(adjuster.key) + " " +
            std::to_string(static_cast<int>(adjuster.first)) + " to " +
            std::to_string(static_cast<int>(adjuster.last)) + "; ";
  }
  return text;
}

TEST(AdjustersOf, ADirectionHasThoseThatItsTablesAndValvesGiveIt) {
  DamperSetup damper;
  EXPECT_EQ(words(damper), "");
  damper.click_table = {{1.0, 900.0, 300.0}, {14.0, 300.0, 180.0}};
  EXPECT_EQ(words(damper), "adjuster clicks 1 to 14; ");
  damper.click_table.clear();
  damper.high_speed_table = {{0.0, 400.0}, {6.0, 100.0}};
  EXPECT_EQ(words(damper), "high-speed adjuster high_speed_clicks 0 to 6; ");
  damper.low_speed_table = {{0.0, 900.0}, {12.0, 500.0}};
  EXPECT_EQ(words(damper),
            "low-speed adjuster clicks 0 to 12; high-speed adjuster high_speed_clicks 0 to 6; ");
  damper.kind = DamperKind::points;
  EXPECT_EQ(words(damper), "");
  damper = without_blow_off();
  EXPECT_EQ(words(damper),
            "low-speed adjuster clicks 0 to 20; high-speed adjuster high_speed_clicks 0 to 8; ");
  damper.shim_clicks = kUnset;
  EXPECT_EQ(words(damper), "low-speed adjuster clicks 0 to 20; ");
}

TEST(ReadDamper, SlopesAreReadAtRestAtTheKneeAndAtEachSpeed) {
  DamperSetup damper;
  damper.low_speed = 600.0;
  damper.high_speed = 200.0;
  damper.knee = 0.3;
  const DamperReading reading = read_damper(damper, thin_oil());
  EXPECT_EQ(reading.slope_at_rest, 600.0);
  EXPECT_EQ(reading.knee, 0.3);
  // By hand: 200*0.3 + 400*0.3/sqrt(2) N.
  EXPECT_NEAR(reading.knee_force, 60.0 + 120.0 / std::sqrt(2.0), 1e-12);
  for (std::size_t k = 0; k < kReadSpeeds.size(); ++k) {
    const double v = kReadSpeeds[k];
    EXPECT_NEAR(reading.force[k], 200.0 * v + 400.0 * v / std::sqrt(1.0 + v * v / 0.09), 1e-12);
  }
}

TEST(DamperCurve, IsTheLawFromRestToTheFastestReading) {
  DamperSetup damper;
  damper.low_speed = 600.0;
  damper.high_speed = 200.0;
  damper.knee = 0.3;
  const DamperCurve curve = damper_curve(damper, thin_oil());
  ASSERT_EQ(curve.speed.size(), curve.force.size());
  ASSERT_GT(curve.speed.size(), 100U);
  EXPECT_EQ(curve.speed.front(), 0.0);
  EXPECT_EQ(curve.speed.back(), kReadSpeeds.back());
  for (std::size_t k = 0; k < curve.speed.size(); ++k) {
    const double v = curve.speed[k];
    EXPECT_NEAR(curve.force[k], 200.0 * v + 400.0 * v / std::sqrt(1.0 + v * v / 0.09), 1e-12);
    if (k > 0) {
      EXPECT_GT(v, curve.speed[k - 1]);
    }
  }
}

TEST(ReadDamper, TheKneeOfHydraulicsIsWhereTheShimsCrack) {
  // By hand: 6 of 8 clicks from 5e5 to 1e5 Pa are 2e5 Pa, on 3.1e-4 m2 62 N.
  const DamperReading reading = read_damper(without_blow_off(), thin_oil());
  EXPECT_NEAR(reading.knee_force, 62.0, 1e-4);
  // Below it the needle alone carries the flow.
  DamperSetup needle = without_blow_off();
  needle.shim_area = 0.0;
  const DamperReading alone = read_damper(needle, thin_oil());
  EXPECT_NEAR(make_damper(needle, thin_oil()).force(reading.knee), 62.0, 1e-4);
  EXPECT_NEAR(reading.slope_at_rest, alone.slope_at_rest, 1e-12 * alone.slope_at_rest);
  EXPECT_TRUE(std::isnan(alone.knee));
  EXPECT_GT(alone.force.back(), 10.0 * reading.force.back());
}

TEST(IsLocked, AClosedNeedleLocksADamperWhereNextToNothingIsLeft) {
  DamperSetup damper = without_blow_off();
  EXPECT_FALSE(is_locked(damper, thin_oil()));
  damper.bleed_closed = 1e-4;
  EXPECT_FALSE(is_locked(damper, thin_oil()));
  damper.clicks = 0.0;
  EXPECT_TRUE(is_locked(damper, thin_oil()));
  damper.bleed_closed = 0.02;
  EXPECT_FALSE(is_locked(damper, thin_oil()));
}

TEST(ReadDamper, PointsHaveTheSlopeOfTheirCurveAndNoKnee) {
  // SciPy's monotone cubic through these points has the slope 925 N.s/m at its beginning
  // (tests/models/setup/damper_test.cpp).
  DamperSetup damper;
  damper.kind = DamperKind::points;
  damper.points = {{0.05, 40.0}, {0.12, 75.0}, {0.3, 150.0},
                   {0.5, 190.0}, {1.0, 310.0}, {2.5, 820.0}};
  const DamperReading reading = read_damper(damper, thin_oil());
  EXPECT_NEAR(reading.slope_at_rest, 925.0, 1e-9);
  EXPECT_TRUE(std::isnan(reading.knee));
  EXPECT_NEAR(reading.force[1], 190.0, 1e-11);
  EXPECT_NEAR(reading.force[2], 310.0, 1e-11);
}

}  // namespace
}  // namespace plunge::damper_readings_test
