#include "models/setup/damper.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <memory>
#include <ostream>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include "models/setup/oil.hpp"
#include "tests/dampers.hpp"

namespace plunge::damper_test {
namespace {

DamperSetup with_slopes(double low_speed, double high_speed) {
  DamperSetup damper;
  damper.low_speed = low_speed;
  damper.high_speed = high_speed;
  damper.knee = 0.3;
  return damper;
}

DamperSetup with_click_table() {
  DamperSetup damper = with_slopes(kUnset, kUnset);
  damper.click_table = {{0.0, 900.0, 300.0}, {10.0, 500.0, 200.0}, {14.0, 300.0, 180.0}};
  damper.clicks = 4.0;
  return damper;
}

// An adjuster for each slope.
DamperSetup with_two_tables() {
  DamperSetup damper = with_slopes(kUnset, kUnset);
  damper.low_speed_table = {{0.0, 900.0}, {10.0, 500.0}, {14.0, 300.0}};
  damper.high_speed_table = {{0.0, 400.0}, {6.0, 100.0}};
  damper.clicks = 4.0;
  damper.high_speed_clicks = 2.0;
  return damper;
}

DamperSetup with_points() {
  DamperSetup damper;
  damper.kind = DamperKind::points;
  damper.points = {{0.05, 40.0}, {0.12, 75.0}, {0.3, 150.0},
                   {0.5, 190.0}, {1.0, 310.0}, {2.5, 820.0}};
  return damper;
}

// Steep and flat by turns, so that the unlimited end slopes would fall.
DamperSetup with_uneven_points() {
  DamperSetup damper;
  damper.kind = DamperKind::points;
  damper.points = {{0.1, 1.0}, {0.2, 60.0}, {0.6, 61.0}};
  return damper;
}

DamperSetup with_free_shims() {
  DamperSetup damper = with_hydraulics();
  damper.shim_preload = 0.0;
  return damper;
}

DamperSetup with_closed_needle() {
  DamperSetup damper = with_hydraulics();
  damper.clicks = 0.0;
  return damper;
}

DamperSetup with_all_closed() {
  DamperSetup damper = with_shim_adjuster();
  damper.clicks = damper.high_speed_clicks = 0.0;
  return damper;
}

DamperSetup with_needle_alone() {
  DamperSetup damper = with_hydraulics();
  damper.shim_area = 0.0;
  damper.blow_off_slope = 0.0;
  return damper;
}

double force(const DamperSetup& damper, double v, const OilSetup& oil = thin_oil()) {
  return make_damper(damper, oil).force(v);
}

// The contract that every description keeps.
struct Sibling {
  const char* name;
  DamperSetup setup;
};

void PrintTo(const Sibling& sibling, std::ostream* out) { *out << sibling.name; }

class DamperContract : public testing::TestWithParam<Sibling> {
 protected:
  DamperLaw<double> law = make_damper(GetParam().setup, thin_oil());
};

TEST_P(DamperContract, SetupIsFreeOfFaults) {
  EXPECT_TRUE(judge(GetParam().setup, thin_oil(), "fork.compression").empty());
}

TEST_P(DamperContract, AtRestThereIsNoForce) { EXPECT_EQ(law.force(0.0), 0.0); }

TEST_P(DamperContract, OnlyTakesEnergyOut) {
  for (double v = 1e-6; v < 40.0; v *= 1.01) EXPECT_GT(law.force(v) * v, 0.0) << v;
}

TEST_P(DamperContract, NeverFallsAsSpeedRises) {
  double before = 0.0;
  for (double v = 1e-6; v < 40.0; v *= 1.0005) {
    const double now = law.force(v);
    EXPECT_GE(now, before) << v;
    before = now;
  }
  EXPECT_GT(before, 10.0);
}

TEST_P(DamperContract, HasNoJump) {
  // No law here rises faster than v^20, so a change of 1e-9 in speed changes force by less than
  // 2e-8, give or take rounding (1e-15 N). Knots, where a jump could hide, are among the speeds.
  std::vector<double> speeds;
  for (double v = 1e-6; v < 40.0; v *= 1.003) speeds.push_back(v);
  if (law.table) {
    for (std::size_t k = 1; k < law.table.table->size(); ++k) {
      speeds.push_back(law.table.table->pieces()[k].start * (1.0 - 0.5e-9));
    }
  }
  for (const double v : speeds) {
    EXPECT_LT(law.force(v * (1.0 + 1e-9)) - law.force(v), 2e-8 * law.force(v) + 1e-15) << v;
  }
}

TEST_P(DamperContract, GoesOnPastRestWithItsSlope) {
  // Within a relative 1e-3, or 1e-11 N where the slope at rest is 0.
  const double v = 1e-7;
  const double there = law.force(v);
  EXPECT_NEAR(law.force(-v), -there, 1e-3 * there + 1e-11);
  EXPECT_NEAR(law.force(-2.0 * v), 2.0 * law.force(-v), 1e-9 * there + 1e-11);
  EXPECT_LE(law.force(-v), 0.0);
}

TEST_P(DamperContract, TableKeepsItsSlopeAtKnotsUnlessAValveOpens) {
  if (!law.table) return;
  const auto& pieces = law.table.table->pieces();
  int corners = 0;
  for (std::size_t k = 0; k + 1 < law.table.table->size(); ++k) {
    const double u = pieces[k + 1].start - pieces[k].start;
    const double arriving = pieces[k].slope + u * (2.0 * pieces[k].c2 + u * 3.0 * pieces[k].c3);
    if (std::abs(arriving - pieces[k + 1].slope) > 1e-6 * (arriving + 1.0)) ++corners;
  }
  const bool hydraulic = GetParam().setup.kind == DamperKind::hydraulic;
  const auto expected =
      hydraulic ? Hydraulics(GetParam().setup, thin_oil()).corners() : std::vector<double>{};
  EXPECT_EQ(corners, std::count_if(expected.begin(), expected.end(),
                                   [](double pressure) { return pressure > 0.0; }));
}

INSTANTIATE_TEST_SUITE_P(Siblings, DamperContract,
                         testing::Values(Sibling{"Digressive", with_slopes(600.0, 200.0)},
                                         Sibling{"Progressive", with_slopes(200.0, 600.0)},
                                         Sibling{"Saturating", with_slopes(600.0, 0.0)},
                                         Sibling{"OpenAtRest", with_slopes(0.0, 600.0)},
                                         Sibling{"ClickTable", with_click_table()},
                                         Sibling{"TwoTables", with_two_tables()},
                                         Sibling{"Points", with_points()},
                                         Sibling{"UnevenPoints", with_uneven_points()},
                                         Sibling{"Hydraulic", with_hydraulics()},
                                         Sibling{"FreeShims", with_free_shims()},
                                         Sibling{"ClosedNeedle", with_closed_needle()},
                                         Sibling{"ShimAdjuster", with_shim_adjuster()},
                                         Sibling{"AllClosed", with_all_closed()},
                                         Sibling{"NeedleAlone", with_needle_alone()}),
                         [](const auto& info) { return std::string(info.param.name); });

TEST(SlopesDamper, KneeAndAsymptoteAreClosedForm) {
  const DamperSetup damper = with_slopes(600.0, 200.0);
  // By hand at the knee: 200*0.3 + 400*0.3/sqrt(2) N.
  EXPECT_NEAR(force(damper, 0.3), 60.0 + 120.0 / std::sqrt(2.0), 1e-12);
  // Closed form: slope 600 at rest.
  EXPECT_NEAR(force(damper, 1e-6) / 1e-6, 600.0, 1e-6);
  // Closed form: the line through (0.3 m/s, 180 N) of slope 200, from which the law stays away by
  // 400*0.3*(1 - 1/sqrt(1 + (0.3/v)^2)), at 30 m/s 6.0e-3 N.
  EXPECT_NEAR(force(damper, 30.0), 180.0 + 200.0 * 29.7 - 6.0e-3, 1e-5);
}

TEST(SlopesDamper, EqualSlopesAreALinearDamper) {
  const DamperSetup damper = with_slopes(400.0, 400.0);
  // By hand.
  EXPECT_NEAR(force(damper, 0.1), 40.0, 1e-12);
  EXPECT_NEAR(force(damper, 3.0), 1200.0, 1e-11);
}

TEST(SlopesDamper, ClicksInterpolateBetweenRows) {
  DamperSetup damper = with_click_table();
  // By hand: 4 of 10 clicks from 900 to 500 and from 300 to 200; half way from 500 to 300.
  EXPECT_NEAR(slopes_at(damper).first, 740.0, 1e-12);
  EXPECT_NEAR(slopes_at(damper).second, 260.0, 1e-12);
  damper.clicks = 12.0;
  EXPECT_NEAR(slopes_at(damper).first, 400.0, 1e-12);
  EXPECT_NEAR(slopes_at(damper).second, 190.0, 1e-12);
  for (const ClickRow& row : damper.click_table) {
    damper.clicks = row.clicks;
    EXPECT_EQ(slopes_at(damper), std::pair(row.low_speed, row.high_speed));
  }
}

TEST(SlopesDamper, EachOfTwoTablesMovesItsOwnSlope) {
  DamperSetup damper = with_two_tables();
  // By hand: 4 of 10 clicks from 900 to 500; 2 of 6 from 400 to 100.
  EXPECT_NEAR(slopes_at(damper).first, 740.0, 1e-12);
  EXPECT_NEAR(slopes_at(damper).second, 300.0, 1e-12);
  for (const auto& [position, last] :
       {std::pair(&DamperSetup::clicks, 14.0), std::pair(&DamperSetup::high_speed_clicks, 6.0)}) {
    for (double clicks = 0.0; clicks <= last; ++clicks) {
      damper = with_two_tables();
      damper.*position = clicks;
      const bool low = position == &DamperSetup::clicks;
      const double moved = low ? (clicks <= 10.0 ? 900.0 - 40.0 * clicks : 1000.0 - 50.0 * clicks)
                               : 400.0 - 50.0 * clicks;
      const double c_l = low ? moved : 740.0;
      const double c_h = low ? 300.0 : moved;
      for (const double v : {1e-4, 0.1, 0.3, 1.0, 5.0}) {
        // The closed form of the law, with its knee at 0.3 m/s.
        const double closed = c_h * v + (c_l - c_h) * v / std::sqrt(1.0 + v * v / 0.09);
        EXPECT_NEAR(force(damper, v), closed, 1e-12 * closed) << clicks << " at " << v;
      }
    }
  }
}

TEST(SlopesDamper, ASlopeWithoutATableIsGivenDirectly) {
  DamperSetup damper = with_two_tables();
  damper.high_speed_table.clear();
  damper.high_speed_clicks = kUnset;
  damper.high_speed = 250.0;
  EXPECT_TRUE(judge(damper, thin_oil(), "fork.rebound").empty());
  EXPECT_NEAR(slopes_at(damper).first, 740.0, 1e-12);
  EXPECT_EQ(slopes_at(damper).second, 250.0);
  damper = with_two_tables();
  damper.low_speed_table.clear();
  damper.clicks = kUnset;
  damper.low_speed = 650.0;
  EXPECT_TRUE(judge(damper, thin_oil(), "fork.rebound").empty());
  EXPECT_EQ(slopes_at(damper).first, 650.0);
  EXPECT_NEAR(slopes_at(damper).second, 300.0, 1e-12);
}

TEST(PointsDamper, IsTheMonotoneCubicOfScipy) {
  // Computed with SciPy 1.10 PchipInterpolator through (0, 0) and the points.
  const DamperLaw<double> law = make_damper(with_points(), thin_oil());
  EXPECT_NEAR(law.force(0.01), 9.082597402597402, 1e-11);
  EXPECT_NEAR(law.force(0.05), 40.0, 1e-11);
  EXPECT_NEAR(law.force(0.08), 56.49741047700232, 1e-11);
  EXPECT_NEAR(law.force(0.2), 112.27894754188225, 1e-11);
  EXPECT_NEAR(law.force(0.4), 171.41404873752205, 1e-11);
  EXPECT_NEAR(law.force(0.75), 246.36656639449936, 1e-11);
  EXPECT_NEAR(law.force(1.7), 521.6963376784606, 1e-11);
  EXPECT_NEAR(law.force(2.4), 779.0530105524518, 1e-11);
  // Its slopes at both ends, 925 and 415 N.s/m, go on outside.
  EXPECT_NEAR(law.force(-0.02), -18.5, 1e-11);
  EXPECT_NEAR(law.force(3.5), 820.0 + 415.0, 1e-10);
}

TEST(PointsDamper, EndSlopesThatWouldFallAreLevel) {
  // Computed with SciPy 1.10 PchipInterpolator; both its end slopes are 0.
  const DamperLaw<double> law = make_damper(with_uneven_points(), thin_oil());
  EXPECT_NEAR(law.force(0.03), 0.0921, 1e-12);
  EXPECT_NEAR(law.force(0.05), 0.25416666666666676, 1e-12);
  EXPECT_NEAR(law.force(0.15), 30.668201754385954, 1e-12);
  EXPECT_NEAR(law.force(0.4), 60.810526315789474, 1e-12);
  EXPECT_NEAR(law.force(0.55), 60.99099506578947, 1e-12);
  EXPECT_EQ(law.force(-0.01), 0.0);
  EXPECT_NEAR(law.force(2.0), 61.0, 1e-12);
}

TEST(ForceTable, RefusesWhatDoesNotRise) {
  using Knots = std::vector<ForceKnot>;
  EXPECT_THROW(ForceTable(Knots{{0.0, 0.0}}), std::invalid_argument);
  EXPECT_THROW(ForceTable(Knots{{0.0, 1.0}, {1.0, 2.0}}), std::invalid_argument);
  EXPECT_THROW(ForceTable(Knots{{0.0, 0.0}, {1.0, 2.0}, {2.0, 2.0}}), std::invalid_argument);
  EXPECT_THROW(ForceTable(Knots{{0.0, 0.0}, {1.0, kUnset}}), std::invalid_argument);
  EXPECT_THROW(ForceTable(Knots{{0.0, 0.0}, {1.0, 2.0, kUnset, 1.0}}), std::invalid_argument);
}

TEST(ForceTable, FindsThePieceOnBothSidesOfEveryKnot) {
  // A chain of straight lines whose knots lie on, next to and between powers of two. By hand:
  // F = v up to 0.25, then slope 3, 2, 5.
  const std::vector<ForceKnot> knots{
      {0.0, 0.0, 1.0, 1.0}, {0.25, 0.25, 1.0, 3.0}, {0.26, 0.28, 3.0, 2.0}, {2.0, 3.76, 2.0, 5.0}};
  const ForceTable table(knots);
  EXPECT_NEAR(table.force(1e-300), 1e-300, 1e-312);
  EXPECT_NEAR(table.force(0.2499), 0.2499, 1e-14);
  EXPECT_NEAR(table.force(0.25), 0.25, 1e-14);
  EXPECT_NEAR(table.force(0.255), 0.265, 1e-14);
  EXPECT_NEAR(table.force(0.27), 0.30, 1e-14);
  EXPECT_NEAR(table.force(1.9999), 3.7598, 1e-14);
  EXPECT_NEAR(table.force(2.0), 3.76, 1e-14);
  EXPECT_NEAR(table.force(1000.0), 3.76 + 5.0 * 998.0, 1e-11);
  // A run that has blown up is told so, and does not search for ever.
  EXPECT_FALSE(std::isfinite(table.force(1.0 / 0.0)));
  EXPECT_FALSE(std::isfinite(table.force(kUnset)));
}

TEST(HydraulicDamper, TableAgreesWithTheEquations) {
  // The same equations, solved at each speed; between the knots as well, as the ratio 1.0173 falls
  // anywhere in a piece.
  for (const DamperSetup& damper : {with_hydraulics(), with_free_shims(), with_needle_alone(),
                                    with_closed_needle(), with_all_closed()}) {
    const DamperLaw<double> law = make_damper(damper, thin_oil());
    const Hydraulics equations(damper, thin_oil());
    for (double v = 1e-5; v < kFastestStroke; v *= 1.0173) {
      const double direct = damper.piston_area * equations.pressure(v);
      EXPECT_NEAR(law.force(v), direct, 2e-6 * direct) << v;
    }
    EXPECT_LT(law.table.table->size(), 200u);
  }
}

TEST(HydraulicDamper, DirectSolveReturnsTheFlow) {
  // The flow of each valve written out once more: bleed by its own pressure drop, shims, blow-off.
  const DamperSetup damper = with_hydraulics();
  const OilSetup oil = thin_oil();
  const Hydraulics equations(damper, oil);
  const double needle = 3e-6 * 8.0 / 20.0;
  const double mu = 850.0 * kinematic_viscosity(oil, oil.temperature);
  for (const double v : {0.01, 0.05, 0.2, 1.0, 4.0, 15.0}) {
    const double dp = equations.pressure(v);
    const double speed_of_jet = kSharpEdgeDischarge * std::sqrt(2.0 * dp / 850.0);
    const double shims = std::clamp(2e-11 * (dp - 2e5), 0.0, 3e-5);
    const double blow_off = std::max(5e-12 * (dp - 3e6), 0.0);
    const double q = 3.1e-4 * v - speed_of_jet * (shims + blow_off);
    const double drop = 8.0 * kPi * mu * 8e-3 / (needle * needle) * q +
                        0.5 * 850.0 * std::pow(q / (kSharpEdgeDischarge * needle), 2);
    EXPECT_NEAR(drop, dp, 1e-10 * dp) << v;
  }
}

TEST(HydraulicDamper, SlowStrokeIsLaminar) {
  // Closed form: F/v = A_p^2 8 pi mu L/A_n^2 at rest.
  const double needle = 3e-6 * 8.0 / 20.0;
  const double mu = dynamic_viscosity(thin_oil());
  const double slope = std::pow(3.1e-4 / needle, 2) * 8.0 * kPi * mu * 8e-3;
  EXPECT_GT(slope, 50.0);
  EXPECT_NEAR(force(with_hydraulics(), 1e-7) / 1e-7, slope, 1e-4 * slope);
  EXPECT_NEAR(force(with_hydraulics(), -0.01), -0.01 * slope, 1e-9 * slope);
}

TEST(HydraulicDamper, AClosedNeedleLeavesItsShareOpen) {
  // Closed form at rest, as above, of the area that is left: half of the first of 20 clicks where
  // nothing is given, else the share itself.
  const double mu = dynamic_viscosity(thin_oil());
  DamperSetup damper = with_closed_needle();
  for (const double share : {kUnset, 0.05, 0.01, 0.005}) {
    damper.bleed_closed = share;
    const double area = 3e-6 * (std::isnan(share) ? 0.5 / 20.0 : share);
    const double slope = std::pow(3.1e-4 / area, 2) * 8.0 * kPi * mu * 8e-3;
    EXPECT_TRUE(judge(damper, thin_oil(), "fork.rebound").empty()) << share;
    EXPECT_NEAR(force(damper, -1e-9) / -1e-9, slope, 1e-9 * slope) << share;
    for (double v = 1e-9; v < 40.0; v *= 2.0) {
      EXPECT_TRUE(std::isfinite(force(damper, v))) << share << " at " << v;
    }
    // Shims that crack at 62 N open by then: what a closed needle adds past them is little.
    EXPECT_LT(force(damper, 0.5), 1.2 * force(with_hydraulics(), 0.5)) << share;
  }
}

TEST(HydraulicDamper, OpenClicksDoNotKnowWhatAClosedNeedleLeaves) {
  // To the bit: a needle that is open by a click or more is as if nothing were said about a closed
  // one.
  DamperSetup damper = with_hydraulics();
  for (damper.clicks = 1.0; damper.clicks <= 20.0; ++damper.clicks) {
    damper.bleed_closed = kUnset;
    const double unset = force(damper, 0.02);
    damper.bleed_closed = 1e-4;
    EXPECT_EQ(force(damper, 0.02), unset) << damper.clicks;
  }
}

TEST(HydraulicDamper, ShimsCrackWhereTheirAdjusterPutsThem) {
  // By hand: from 5e5 to 1e5 Pa in 8 clicks, on 3.1e-4 m2.
  DamperSetup damper = with_shim_adjuster();
  for (const auto& [clicks, pressure] :
       {std::pair(0.0, 5e5), std::pair(2.0, 4e5), std::pair(6.0, 2e5), std::pair(8.0, 1e5)}) {
    damper.high_speed_clicks = clicks;
    EXPECT_NEAR(shim_preload_at(damper), pressure, 1e-9);
    const DamperLaw<double> law = make_damper(damper, thin_oil());
    const double crack = Hydraulics(damper, thin_oil()).flow(pressure) / 3.1e-4;
    EXPECT_NEAR(law.force(crack), 3.1e-4 * pressure, 1e-4);
    const double h = 1e-5;
    EXPECT_LT(law.force(crack + h) - law.force(crack),
              0.9 * (law.force(crack) - law.force(crack - h)))
        << clicks;
  }
  // The same law as shims that crack there and have no adjuster.
  damper.high_speed_clicks = 6.0;
  for (const double v : {0.01, 0.1, 0.7, 3.0, 25.0}) {
    EXPECT_EQ(force(damper, v), force(with_hydraulics(), v)) << v;
  }
}

TEST(HydraulicDamper, EachHighSpeedClickOpenIsSofterOnlyPastTheCrack) {
  DamperSetup damper = with_shim_adjuster();
  damper.high_speed_clicks = 0.0;
  const double slow = force(damper, 0.01);
  double before = force(damper, 2.0);
  for (damper.high_speed_clicks = 1.0; damper.high_speed_clicks <= 8.0;
       ++damper.high_speed_clicks) {
    EXPECT_EQ(force(damper, -0.01),
              -0.01 * make_damper(damper, thin_oil()).table.table->pieces()[0].slope);
    EXPECT_NEAR(force(damper, 0.01), slow, 1e-6 * slow) << damper.high_speed_clicks;
    const double now = force(damper, 2.0);
    EXPECT_LT(now, before) << damper.high_speed_clicks;
    before = now;
  }
}

TEST(HydraulicDamper, FastStrokeIsAnOrifice) {
  // Closed form without blow-off: F = A_p rho/2 (A_p v/(C_d A))^2, A: shims fully open and needle.
  // The laminar drop of the needle, which the closed form leaves out, weighs less than 1 %.
  DamperSetup damper = with_hydraulics();
  damper.blow_off_slope = 0.0;
  const double area = 3e-5 + 3e-6 * 8.0 / 20.0;
  const double v = 18.0;
  const double orifice =
      3.1e-4 * 0.5 * 850.0 * std::pow(3.1e-4 * v / (kSharpEdgeDischarge * area), 2);
  EXPECT_NEAR(force(damper, v), orifice, 0.01 * orifice);
  EXPECT_NEAR(force(damper, v) / force(damper, v / 1.2), 1.44, 0.01);
}

TEST(HydraulicDamper, SlopeDropsWhereShimsCrack) {
  // Cracking at 2e5 Pa is a force of 62 N (by hand: 3.1e-4 m2 times 2e5 Pa).
  const DamperSetup damper = with_hydraulics();
  const DamperLaw<double> law = make_damper(damper, thin_oil());
  const double crack = Hydraulics(damper, thin_oil()).flow(2e5) / 3.1e-4;
  EXPECT_NEAR(law.force(crack), 62.0, 1e-4);
  const double h = 1e-5;
  const double before = (law.force(crack) - law.force(crack - h)) / h;
  const double after = (law.force(crack + h) - law.force(crack)) / h;
  EXPECT_LT(after, 0.7 * before);
}

TEST(HydraulicDamper, BlowOffCapsAHardHit) {
  DamperSetup without = with_hydraulics();
  without.blow_off_slope = 0.0;
  const double v = 18.0;
  ASSERT_GT(Hydraulics(without, thin_oil()).pressure(v), without.blow_off_pressure);
  EXPECT_LT(force(with_hydraulics(), v), 0.9 * force(without, v));
  EXPECT_EQ(force(with_hydraulics(), 0.1), force(without, 0.1));
}

TEST(HydraulicDamper, WarmOilIsSofter) {
  OilSetup cold = thin_oil();
  cold.temperature = kZeroCelsius;
  OilSetup hot = thin_oil();
  hot.temperature = kZeroCelsius + 50.0;
  for (const double v : {0.01, 0.1, 1.0}) {
    EXPECT_LT(force(with_hydraulics(), v, hot), force(with_hydraulics(), v, cold)) << v;
  }
  // Closed form: at rest the force goes with the viscosity.
  const double thinner = dynamic_viscosity(hot) / dynamic_viscosity(cold);
  EXPECT_NEAR(force(with_hydraulics(), -1e-3, hot) / force(with_hydraulics(), -1e-3, cold), thinner,
              1e-9);
}

TEST(HydraulicDamper, EachClickOpenIsSofter) {
  DamperSetup damper = with_hydraulics();
  for (const double v : {0.02, 0.2, 2.0}) {
    damper.clicks = 0.0;
    double before = force(damper, v);
    for (damper.clicks = 1.0; damper.clicks <= 20.0; damper.clicks += 1.0) {
      const double now = force(damper, v);
      EXPECT_LT(now, before) << damper.clicks << " clicks at " << v;
      before = now;
    }
  }
}

TEST(Damper, ResistsEachDirectionByItsOwnLaw) {
  const Damper<double> damper{make_damper(with_slopes(300.0, 300.0), thin_oil()),
                              make_damper(with_slopes(700.0, 700.0), thin_oil())};
  // By hand: compression 300 N.s/m, rebound 700 N.s/m.
  EXPECT_NEAR(damper.force(0.2, true), 60.0, 1e-12);
  EXPECT_NEAR(damper.force(-0.2, false), -140.0, 1e-12);
  // A frozen direction goes on past v = 0.
  EXPECT_NEAR(damper.force(-0.001, true), -0.3, 1e-12);
  EXPECT_NEAR(damper.force(0.001, false), 0.7, 1e-12);
}

// Two lanes that run side by side, with just the operations of a batch that a damper needs.
struct Lanes {
  std::array<double, 2> lane{};
};
struct LaneMask {
  std::array<bool, 2> lane{};
};
template <class Operation>
Lanes each(Lanes a, Lanes b, Operation operation) {
  return {{operation(a.lane[0], b.lane[0]), operation(a.lane[1], b.lane[1])}};
}
Lanes operator+(Lanes a, Lanes b) { return each(a, b, std::plus()); }
Lanes operator-(Lanes a, Lanes b) { return each(a, b, std::minus()); }
Lanes operator*(Lanes a, Lanes b) { return each(a, b, std::multiplies()); }
Lanes operator/(Lanes a, Lanes b) { return each(a, b, std::divides()); }
Lanes sqrt(Lanes a) {
  return each(a, a, [](double x, double) { return std::sqrt(x); });
}
LaneMask operator>(Lanes a, Lanes b) { return {{a.lane[0] > b.lane[0], a.lane[1] > b.lane[1]}}; }
Lanes select(LaneMask mask, Lanes a, Lanes b) {
  return {{mask.lane[0] ? a.lane[0] : b.lane[0], mask.lane[1] ? a.lane[1] : b.lane[1]}};
}

TEST(Damper, LanesOfABatchAreTheirScalars) {
  const Damper<Lanes> both{{{{300.0, 400.0}}, {{100.0, 200.0}}, {{0.2, 0.3}}, {}},
                           {{{700.0, 900.0}}, {{500.0, 600.0}}, {{0.4, 0.5}}, {}}};
  const Lanes v{{0.25, -0.4}};
  const Lanes sum = both.force(v, v > Lanes{});
  EXPECT_DOUBLE_EQ(sum.lane[0], (DamperLaw<double>{300.0, 100.0, 0.2, {}}.force(0.25)));
  EXPECT_DOUBLE_EQ(sum.lane[1], -(DamperLaw<double>{900.0, 600.0, 0.5, {}}.force(0.4)));
}

// Faults: one entry that names the key.
void expect_fault(const Faults& faults, const std::string& key, const std::string& value) {
  ASSERT_EQ(faults.size(), 1u) << key;
  EXPECT_EQ(faults[0].key, key);
  EXPECT_EQ(faults[0].value, value);
  EXPECT_FALSE(faults[0].rule.empty());
}

Faults faults_of(const DamperSetup& damper) { return judge(damper, thin_oil(), "fork.rebound"); }

TEST(DamperFaults, SlopesNameKeyAndValue) {
  expect_fault(faults_of(with_slopes(-3.0, 100.0)), "fork.rebound.low_speed", "-3 N.s/m");
  expect_fault(faults_of(with_slopes(100.0, kUnset)), "fork.rebound.high_speed", "");
  expect_fault(faults_of(with_slopes(0.0, 0.0)), "fork.rebound.high_speed", "0 N.s/m");
  expect_fault(faults_of(with_slopes(1.0 / 0.0, 1.0)), "fork.rebound.low_speed", "inf N.s/m");
  DamperSetup damper = with_slopes(100.0, 50.0);
  damper.knee = 0.0;
  expect_fault(faults_of(damper), "fork.rebound.knee", "0 m/s");
  EXPECT_EQ(faults_of(DamperSetup{}).size(), 3u);
}

TEST(DamperFaults, ClickTableNamesTheRow) {
  DamperSetup damper = with_click_table();
  damper.clicks = 15.0;
  expect_fault(faults_of(damper), "fork.rebound.clicks", "15");
  damper.clicks = kUnset;
  expect_fault(faults_of(damper), "fork.rebound.clicks", "");
  damper = with_click_table();
  damper.click_table[2].clicks = 10.0;
  expect_fault(faults_of(damper), "fork.rebound.click_table[2].clicks", "10");
  damper = with_click_table();
  damper.click_table[1].high_speed = -1.0;
  expect_fault(faults_of(damper), "fork.rebound.click_table[1].high_speed", "-1 N.s/m");
  damper = with_click_table();
  damper.click_table.resize(1);
  damper.clicks = 0.0;
  expect_fault(faults_of(damper), "fork.rebound.click_table", "1 row");
}

TEST(DamperFaults, PointsMustRise) {
  DamperSetup damper = with_points();
  damper.points[3].force = 150.0;
  expect_fault(faults_of(damper), "fork.rebound.points[3].force", "150 N");
  damper = with_points();
  damper.points[0].speed = 0.0;
  expect_fault(faults_of(damper), "fork.rebound.points[0].speed", "0 m/s");
  damper = with_points();
  damper.points.resize(1);
  expect_fault(faults_of(damper), "fork.rebound.points", "1 point");
  damper.points.clear();
  expect_fault(faults_of(damper), "fork.rebound.points", "0 points");
}

TEST(DamperFaults, TwoTablesNameTableRowAndPosition) {
  DamperSetup damper = with_two_tables();
  damper.clicks = 15.0;
  expect_fault(faults_of(damper), "fork.rebound.clicks", "15");
  damper = with_two_tables();
  damper.high_speed_clicks = 7.0;
  expect_fault(faults_of(damper), "fork.rebound.high_speed_clicks", "7");
  damper.high_speed_clicks = kUnset;
  expect_fault(faults_of(damper), "fork.rebound.high_speed_clicks", "");
  damper = with_two_tables();
  damper.low_speed_table[2].clicks = 10.0;
  expect_fault(faults_of(damper), "fork.rebound.low_speed_table[2].clicks", "10");
  damper = with_two_tables();
  damper.high_speed_table[1].slope = -1.0;
  expect_fault(faults_of(damper), "fork.rebound.high_speed_table[1].slope", "-1 N.s/m");
  damper.high_speed_table[1].slope = kUnset;
  expect_fault(faults_of(damper), "fork.rebound.high_speed_table[1].slope", "");
  damper = with_two_tables();
  damper.high_speed_table.resize(1);
  expect_fault(faults_of(damper), "fork.rebound.high_speed_table", "1 row");
  damper = with_two_tables();
  damper.high_speed_table.clear();
  expect_fault(faults_of(damper), "fork.rebound.high_speed", "");
  // A damper that resists nothing at its clicks.
  damper = with_two_tables();
  damper.low_speed_table[0].slope = damper.high_speed_table[1].slope = 0.0;
  damper.clicks = 0.0;
  EXPECT_TRUE(faults_of(damper).empty());
  damper.high_speed_clicks = 6.0;
  expect_fault(faults_of(damper), "fork.rebound.high_speed_clicks", "6");
}

TEST(DamperFaults, ShimAdjustersNeedBothEnds) {
  DamperSetup damper = with_shim_adjuster();
  damper.high_speed_clicks = 9.0;
  expect_fault(faults_of(damper), "fork.rebound.high_speed_clicks", "9");
  damper.high_speed_clicks = kUnset;
  expect_fault(faults_of(damper), "fork.rebound.high_speed_clicks", "");
  damper = with_shim_adjuster();
  damper.shim_preload_closed = 0.9e5;
  expect_fault(faults_of(damper), "fork.rebound.shim_preload_closed", "90000 Pa");
  damper.shim_preload_closed = kUnset;
  expect_fault(faults_of(damper), "fork.rebound.shim_preload_closed", "");
  damper.shim_clicks = 0.0;
  damper.shim_preload_closed = 5e5;
  expect_fault(faults_of(damper), "fork.rebound.shim_clicks", "0");
}

TEST(DamperFaults, AClosedNeedleLeavesNoMoreThanItsFirstClick) {
  DamperSetup damper = with_hydraulics();
  damper.bleed_closed = 0.05;
  EXPECT_TRUE(faults_of(damper).empty());
  damper.bleed_closed = 0.051;
  expect_fault(faults_of(damper), "fork.rebound.bleed_closed", "5.1 %");
  damper.bleed_closed = 0.0;
  expect_fault(faults_of(damper), "fork.rebound.bleed_closed", "0 %");
}

TEST(DamperFaults, HydraulicsNeedSomeBleed) {
  // Closed, with neither shims nor a blow-off valve, it is locked.
  DamperSetup damper = with_needle_alone();
  damper.clicks = 0.0;
  expect_fault(faults_of(damper), "fork.rebound.clicks", "0");
  // Leaving 1e-4 of its area open it takes more than 1e7 N.s/m at rest.
  damper = with_closed_needle();
  damper.bleed_closed = 1e-4;
  expect_fault(faults_of(damper), "fork.rebound.clicks", "0");
  damper = with_hydraulics();
  damper.clicks = 21.0;
  expect_fault(faults_of(damper), "fork.rebound.clicks", "21");
  damper = with_needle_alone();
  damper.bleed_area = 1e-9;
  expect_fault(faults_of(damper), "fork.rebound.bleed_area", "1e-09 m2");
}

TEST(DamperFaults, EveryHydraulicFieldIsNeeded) {
  for (const auto field :
       {&DamperSetup::clicks, &DamperSetup::piston_area, &DamperSetup::bleed_area,
        &DamperSetup::bleed_length, &DamperSetup::bleed_clicks, &DamperSetup::shim_preload,
        &DamperSetup::shim_slope, &DamperSetup::shim_area, &DamperSetup::blow_off_pressure,
        &DamperSetup::blow_off_slope}) {
    DamperSetup damper = with_hydraulics();
    damper.*field = kUnset;
    EXPECT_EQ(faults_of(damper).size(), 1u);
    damper.*field = -1.0;
    EXPECT_EQ(faults_of(damper).size(), 1u);
  }
  EXPECT_TRUE(faults_of(with_needle_alone()).empty());
}

TEST(OilFaults, EveryFieldIsNeeded) {
  EXPECT_TRUE(judge(thin_oil(), "fork.oil").empty());
  for (const auto field : {&OilSetup::density, &OilSetup::viscosity_40, &OilSetup::temperature,
                           &OilSetup::discharge}) {
    OilSetup oil = thin_oil();
    oil.*field = kUnset;
    EXPECT_EQ(judge(oil, "fork.oil").size(), 1u);
    oil.*field = -1.0;
    EXPECT_EQ(judge(oil, "fork.oil").size(), 1u);
  }
  OilSetup oil = thin_oil();
  oil.viscosity_100 = 1e-6;
  expect_fault(judge(oil, "fork.oil"), "fork.oil.viscosity_100", "1e-06 m2/s");
  oil = thin_oil();
  oil.viscosity_40 = 3e-6;
  expect_fault(judge(oil, "fork.oil"), "fork.oil.viscosity_40", "3e-06 m2/s");
}

}  // namespace
}  // namespace plunge::damper_test
