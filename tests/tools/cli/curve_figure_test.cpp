#include "tools/cli/curve_figure.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/scratch.hpp"
#include "tools/cli/figures.hpp"

namespace plunge::curve_figure_test {
namespace {

// A spring of 10 N/mm, 14 N/mm fast, up to its travel [m], by hand, with a rider who sags so far
// into it [m].
CurveTable spring(const std::string& label, double sag, double travel = 0.1) {
  CurveTable curve;
  curve.label = label;
  curve.fork = "a fork";
  curve.load = 1e4 * sag;
  curve.metrics = {{"sag", "m", "", sag}, {"breakaway_force", "N", "", 40.0}};
  for (int i = 0; i <= 100; ++i) {
    const double x = travel * i / 100.0;
    curve.travel.push_back(x);
    curve.slow.push_back(1e4 * x);
    curve.fast.push_back(1.4e4 * x);
  }
  return curve;
}

CurveTable with_spacers(double spacers, double sag) {
  CurveTable curve = spring(spacers == 1.0 ? "1 spacer" : "0 spacers", sag);
  curve.set = {{"fork.spacers", "1", spacers}};
  curve.settings = curve.set;
  return curve;
}

CurveTable coil(const std::string& label, double sag) {
  CurveTable curve = spring(label, sag);
  curve.fork = label;
  curve.settings = {{"fork.coil.rate", "N m-1", 1e4}, {"fork.coil.preload", "N", 12.0}};
  return curve;
}

Figure figure_of(const std::vector<CurveTable>& curves) {
  return curve_figure(curves, "a fork", false);
}

const Panel& strip_of(const Figure& figure) { return figure.panels.at(0); }
const Panel& force_of(const Figure& figure) { return figure.panels.at(1); }
const Panel& stiffness_of(const Figure& figure) { return figure.panels.at(2); }

const StripColumn* column(const Figure& figure, const std::string& label) {
  for (const StripColumn& column : strip_of(figure).strip.columns) {
    if (column.label == label) return &column;
  }
  return nullptr;
}

std::vector<std::string> texts(const Figure& figure, const std::string& label) {
  const StripColumn* const found = column(figure, label);
  return found == nullptr ? std::vector<std::string>() : found->texts;
}

using Texts = std::vector<std::string>;

TEST(CurveFigure, ARingIsWhereTheRiderRestsOnTheLineOfTheLoad) {
  const Panel force = force_of(figure_of({spring("a fork", 0.025)}));
  ASSERT_EQ(force.spots.size(), 1u);
  // By hand: 25 mm of 10 N/mm.
  EXPECT_NEAR(force.spots[0].x, 25.0, 1e-9);
  EXPECT_NEAR(force.spots[0].y, 250.0, 1e-9);
  EXPECT_EQ(force.spots[0].label, "sag 25.0 mm");
  ASSERT_EQ(force.references.size(), 1u);
  EXPECT_EQ(force.references[0].label, "the rider's load at rest, 250 N");
  EXPECT_NEAR(force.references[0].at, force.spots[0].y, 1e-9);
}

TEST(CurveFigure, StiffnessIsTheSlopeOfEachCurveBeneathIt) {
  const Figure figure = figure_of({spring("a fork", 0.025)});
  EXPECT_EQ(force_of(figure).series.size(), 2u);
  const std::vector<Series>& lines = stiffness_of(figure).series;
  ASSERT_EQ(lines.size(), 2u);
  EXPECT_EQ(lines[0].mark, Mark::line);
  EXPECT_EQ(lines[1].mark, Mark::dashed);
  EXPECT_NEAR(lines[0].x.front(), 0.5, 1e-9);  // between the first two of 101 places over 100 mm
  EXPECT_NEAR(lines[0].y[40], 10.0, 1e-9);
  EXPECT_NEAR(lines[1].y[40], 14.0, 1e-9);
  EXPECT_EQ(stiffness_of(figure).x_label, force_of(figure).x_label);  // one axis for both
}

TEST(CurveFigure, StartMiddleAndEndAreThirdsOfTheTravel) {
  const Figure figure = figure_of({spring("a fork", 0.025, 0.15)});
  for (const Panel* panel : {&force_of(figure), &stiffness_of(figure)}) {
    ASSERT_EQ(panel->zones.size(), 3u);
    EXPECT_EQ(panel->zones[0].label, "start");
    EXPECT_NEAR(panel->zones[1].from, 50.0, 1e-9);
    EXPECT_NEAR(panel->zones[1].to, 100.0, 1e-9);
    EXPECT_EQ(panel->zones[1].label, "middle");
    EXPECT_NEAR(panel->zones[2].to, 150.0, 1e-9);
    EXPECT_EQ(panel->zones[2].label, "end");
  }
}

TEST(CurveFigure, TravelsThatDifferHaveDotsAtTheirOwnThirds) {
  const Figure figure = figure_of({spring("short", 0.025, 0.12), spring("long", 0.025, 0.15)});
  const Panel& force = force_of(figure);
  EXPECT_TRUE(force.zones.empty());
  EXPECT_TRUE(stiffness_of(figure).zones.empty());
  EXPECT_EQ(force.y_label, "force [N]; slow, and dashed: fast; dots: thirds");
  ASSERT_EQ(force.series.size(), 6u);
  const double travels[] = {120.0, 150.0};
  for (std::size_t i = 0; i < 2; ++i) {
    const Series& dots = force.series[4 + i];
    EXPECT_EQ(dots.mark, Mark::points);
    ASSERT_EQ(dots.x.size(), 3u);
    for (std::size_t k = 0; k < 3; ++k) {
      const double x = travels[i] * static_cast<double>(k + 1) / 3.0;
      EXPECT_NEAR(dots.x[k], x, 1e-9);
      EXPECT_NEAR(dots.y[k], 10.0 * x, 1e-9);
    }
    EXPECT_EQ(dots.paint, force.series[2 * i].paint);
  }
}

TEST(CurveFigure, SagsThatDifferAreSaidFromWhereToWhere) {
  const Figure held = figure_of({with_spacers(0.0, 0.025), with_spacers(1.0, 0.025)});
  EXPECT_EQ(force_of(held).spots[0].label, "");
  EXPECT_EQ(force_of(held).spots[1].label, "sag 25.0 mm");
  EXPECT_EQ(force_of(held).references.size(), 1u);
  const Figure free = figure_of({with_spacers(0.0, 0.026), with_spacers(1.0, 0.0255)});
  EXPECT_EQ(force_of(free).spots[1].label, "sag 25.5 to 26.0 mm");
}

TEST(CurveFigure, FewLoadsAreLinesAndManyAColumn) {
  std::vector<CurveTable> curves;
  for (const double sag : {0.020, 0.025, 0.030}) curves.push_back(spring("a rider", sag));
  const Figure few = figure_of(curves);
  ASSERT_EQ(force_of(few).references.size(), 3u);
  EXPECT_NEAR(force_of(few).references[2].at, 300.0, 1e-9);
  EXPECT_EQ(force_of(few).references[2].label, "the rider's load at rest, 200 to 300 N");
  EXPECT_EQ(force_of(few).references[0].label, "");
  EXPECT_EQ(texts(few, "load at rest"), (Texts{"200", "250", "300"}));
  curves.push_back(spring("a rider", 0.035));
  EXPECT_TRUE(force_of(figure_of(curves)).references.empty());
  EXPECT_EQ(force_of(figure_of(curves)).spots.size(), 4u);
  EXPECT_EQ(column(figure_of({curves[0]}), "load at rest"), nullptr);
  // Forks of other masses under one rider: one line between them.
  const Figure near = figure_of({spring("a rider", 0.028), spring("a rider", 0.029)});
  ASSERT_EQ(force_of(near).references.size(), 1u);
  EXPECT_EQ(force_of(near).references[0].label, "the rider's load at rest, 280 to 290 N");
  EXPECT_NEAR(force_of(near).references[0].at, 285.0, 1e-9);
}

TEST(CurveFigure, AStripSaysWhatIsSetAndWhatEndsWhere) {
  CurveTable air = spring("air", 0.025);
  air.fork = "air";
  air.settings = {{"fork.spacers", "1", 2.0}, {"fork.pressure", "Pa", 5e5}};
  air.metrics.push_back({"pressure", "Pa", "", 5e5});
  const std::vector<CurveTable> curves = {air, coil("coil", 0.025)};
  const Figure figure = figure_of(curves);
  EXPECT_EQ(strip_of(figure).strip.rows, (Texts{"air", "coil"}));
  EXPECT_EQ(texts(figure, "spacers"), (Texts{"2", "-"}));
  EXPECT_EQ(texts(figure, "pressure"), (Texts{"72.5", "-"}));  // psi
  EXPECT_EQ(texts(curve_figure(curves, "", true), "pressure"), (Texts{"5.00", "-"}));
  EXPECT_EQ(texts(figure, "coil rate"), (Texts{"-", "10.00"}));  // N/mm
  EXPECT_EQ(texts(figure, "preload"), (Texts{"-", "12"}));
  EXPECT_EQ(texts(figure, "sag"), (Texts{"25.0", "25.0"}));
  EXPECT_EQ(texts(figure, "at full travel"), (Texts{"1000", "1000"}));
  EXPECT_EQ(column(figure_of({air}), "preload"), nullptr);
  // A label that says the spacers needs no column.
  EXPECT_EQ(column(figure_of({with_spacers(0.0, 0.025), with_spacers(1.0, 0.025)}), "spacers"),
            nullptr);
}

// A label may be too long for its place; what is varied beside the first stands in columns.
TEST(CurveFigure, WhatIsVariedBesideTheFirstHasAColumn) {
  std::vector<CurveTable> curves;
  for (const double spacers : {0.0, 1.0}) {
    curves.push_back(with_spacers(spacers, 0.025));
    curves.back().set.push_back({"fork.air.negative_volume", "m3", 12e-6 + 3e-6 * spacers});
    curves.back().set.push_back({"fork.pressure", "Pa", 5e5});
  }
  curves.push_back(coil("coil", 0.025));
  const Figure figure = figure_of(curves);
  EXPECT_EQ(texts(figure, "air negative volume"), (Texts{"12 cm3", "15 cm3", "-"}));
  EXPECT_EQ(column(figure, "spacers"), nullptr);
  for (const StripColumn& one : strip_of(figure).strip.columns) EXPECT_NE(one.label, "pressure");
}

TEST(CurveFigure, AForkByAnOrderHasTheRampBesideAnotherInAColour) {
  const std::vector<CurveTable> curves = {with_spacers(0.0, 0.025), with_spacers(1.0, 0.025),
                                          coil("coil", 0.025)};
  const std::vector<Paint> paints = strip_of(figure_of(curves)).strip.paints;
  EXPECT_EQ(paints[0].shade, 0.0);
  EXPECT_EQ(paints[1].shade, 1.0);
  EXPECT_EQ(paints[2].colour, 1);  // 0 is of the hue of the ramp
  EXPECT_FALSE(std::isfinite(paints[2].shade));
  // A second fork by an order has colours: there is one ramp.
  CurveTable other[] = {with_spacers(0.0, 0.025), with_spacers(1.0, 0.025)};
  for (CurveTable& curve : other) curve.fork = "another fork";
  const std::vector<Paint> both =
      strip_of(figure_of({curves[0], curves[1], other[0], other[1]})).strip.paints;
  EXPECT_EQ(both[1].shade, 1.0);
  EXPECT_EQ(both[2].colour, 1);
  EXPECT_EQ(both[3].colour, 2);
  const std::vector<Paint> alone =
      strip_of(figure_of({coil("coil", 0.025), coil("another coil", 0.025)})).strip.paints;
  EXPECT_EQ(alone[0].colour, 0);
  EXPECT_EQ(alone[1].colour, 1);
}

TEST(CurveFigure, ACurveWithoutARiderHasNoSag) {
  CurveTable alone = spring("a fork", 0.025);
  alone.load = kUnset;
  alone.metrics.erase(alone.metrics.begin());
  const Figure figure = figure_of({alone});
  EXPECT_TRUE(force_of(figure).spots.empty());
  EXPECT_TRUE(force_of(figure).references.empty());
  EXPECT_EQ(column(figure, "sag"), nullptr);
  const ScratchDirectory scratch;
  draw_curves({alone}, "a fork", false, scratch / "a.svg");
  EXPECT_EQ(bytes_of(scratch / "a.svg").find("sag"), std::string::npos);
}

}  // namespace
}  // namespace plunge::curve_figure_test
