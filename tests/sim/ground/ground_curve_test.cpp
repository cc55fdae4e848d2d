#include "sim/ground/ground_curve.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

namespace plunge::ground_curve_test {
namespace {

// One of each family, all on [2, 3.5].
GroundCurves family() {
  GroundCurves curves;
  curves.push_back(std::make_unique<LineCurve>(2.0, 3.5, 2.0, 0.4, -0.3));
  curves.push_back(std::make_unique<SineCurve>(2.0, 1.5, 0.4, 0.2));
  curves.push_back(std::make_unique<CosineCurve>(2.0, 1.5, 0.4, -0.2));
  curves.push_back(std::make_unique<ArcCurve>(2.0, 3.5, 2.75, 0.4, 0.9));
  curves.push_back(std::make_unique<ArcCurve>(2.0, 3.5, 3.5, 0.4, -3.0));
  curves.push_back(
      std::make_unique<PieceCurve>(PathPiece{2.0, {1.0, -2.0, 3.0, -1.0, 0.5, -0.2}}, 3.5));
  std::vector<PathPoint<double>> nodes;
  for (int i = 0; i <= 15; ++i) {
    nodes.push_back({std::sin(0.5 * i), 5.0 * std::cos(0.5 * i), -25.0 * std::sin(0.5 * i)});
  }
  curves.push_back(std::make_unique<NodeCurve>(2.0, 0.4, 0.1, nodes));
  return curves;
}

TEST(GroundCurve, EachIsConsistentWithItsDerivativesAndItsArea) {
  constexpr double kStep = 1e-4;
  std::size_t number = 0;
  for (const auto& curve : family()) {
    SCOPED_TRACE("curve " + std::to_string(number++));
    EXPECT_EQ(curve->begin(), 2.0);
    EXPECT_NEAR(curve->end(), 3.5, 1e-15);
    for (double s = 2.003; s < 3.495; s += 0.037) {
      const PathPoint<double> a = curve->at(s - kStep);
      const PathPoint<double> b = curve->at(s);
      const PathPoint<double> c = curve->at(s + kStep);
      EXPECT_NEAR(b.slope, (c.height - a.height) / (2.0 * kStep), 2e-6);
      EXPECT_NEAR(b.curvature, (c.slope - a.slope) / (2.0 * kStep), 2e-4);
      EXPECT_NEAR(b.height, curve->area(s - kStep, s + kStep) / (2.0 * kStep), 2e-7);
    }
  }
}

TEST(GroundCurve, SamplesRunFromBeginToEnd) {
  for (const auto& curve : family()) {
    const std::vector<double> places = curve->samples();
    EXPECT_EQ(places.front(), curve->begin());
    EXPECT_EQ(places.back(), curve->end());
    for (std::size_t i = 1; i < places.size(); ++i) EXPECT_GT(places[i], places[i - 1]);
  }
}

// By hand: the crest of the sine, the middle of the cosine, the foot of an arc of chord 1.5 about
// its crest: 0.4 - (0.9 - sqrt(0.81 - 0.5625)).
TEST(GroundCurve, HeightsByHand) {
  const GroundCurves curves = family();
  EXPECT_NEAR(curves[1]->at(2.75).height, 0.6, 1e-15);
  EXPECT_NEAR(curves[2]->at(2.75).height, 0.2, 1e-15);
  EXPECT_NEAR(curves[3]->at(2.0).height, 0.4 - (0.9 - std::sqrt(0.81 - 0.5625)), 1e-15);
  EXPECT_NEAR(curves[3]->at(2.75).curvature, -1.0 / 0.9, 1e-12);
  EXPECT_NEAR(curves[4]->at(3.5).curvature, 1.0 / 3.0, 1e-12);
}

// Half a disc of radius 1 has area pi/2 (closed form), also where its edge stands upright.
TEST(ArcCurve, UprightEndIsFinite) {
  const ArcCurve arc(-1.0, 1.0, 0.0, 1.0, 1.0);
  EXPECT_NEAR(arc.area(-1.0, 1.0), 1.57079632679489662, 1e-12);
  EXPECT_NEAR(arc.at(1.0).height, 0.0, 1e-15);
  EXPECT_TRUE(std::isfinite(arc.at(1.0).slope));
  EXPECT_TRUE(std::isfinite(arc.at(1.0).curvature));
}

// Integrals add up, and those of a very flat arc do not drown in rounding: l H 2/3 (closed form, to
// first order in H/l).
TEST(GroundCurve, AreasAddUp) {
  for (const auto& curve : family()) {
    EXPECT_NEAR(curve->area(2.0, 2.9) + curve->area(2.9, 3.5), curve->area(2.0, 3.5), 1e-14);
    EXPECT_EQ(curve->area(2.7, 2.7), 0.0);
  }
  const double height = 1e-5;
  const double radius = 0.5 * (64.0 + height * height) / height;
  const ArcCurve flat_arc(0.0, 16.0, 8.0, height, radius);
  EXPECT_NEAR(flat_arc.area(0.0, 16.0), 16.0 * height * 2.0 / 3.0, 1e-14);
}

// By hand: through (0,0), (1,1), (2,0) the natural spline has curvature -3 in the middle and
// slopes 1.5, 0, -1.5.
TEST(NaturalSpline, ThreePointsByHand) {
  const std::vector<PathPoint<double>> nodes = natural_spline({0.0, 1.0, 2.0}, {0.0, 1.0, 0.0});
  EXPECT_NEAR(nodes[1].curvature, -3.0, 1e-14);
  EXPECT_EQ(nodes[0].curvature, 0.0);
  EXPECT_EQ(nodes[2].curvature, 0.0);
  EXPECT_NEAR(nodes[0].slope, 1.5, 1e-14);
  EXPECT_NEAR(nodes[1].slope, 0.0, 1e-14);
  EXPECT_NEAR(nodes[2].slope, -1.5, 1e-14);
}

// A straight line is its own spline, through unevenly spaced points too.
TEST(NaturalSpline, LineStaysALine) {
  for (const PathPoint<double>& y :
       natural_spline({0.0, 0.1, 1.0, 1.5, 4.0}, {1.0, 1.2, 3.0, 4.0, 9.0})) {
    EXPECT_NEAR(y.slope, 2.0, 1e-13);
    EXPECT_NEAR(y.curvature, 0.0, 1e-12);
  }
}

}  // namespace
}  // namespace plunge::ground_curve_test
