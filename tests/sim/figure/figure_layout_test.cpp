#include "sim/figure/figure_layout.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <stdexcept>

namespace plunge::figure_layout_test {
namespace {

PanelLayout only_panel(const Panel& panel) { return lay_out({"", {panel}}).panels.at(0); }

Panel curve(std::vector<double> x, std::vector<double> y) {
  return {"", "time [s]", "travel [mm]", {{"", std::move(x), std::move(y)}}, {}};
}

// By hand: lines end where the axis does; 6 % of the height are left free above, and below but for
// a bound at 0.
TEST(FigureLayout, AxesHoldTheValuesWithRoomAboveAndNoneBeside) {
  const PanelLayout layout = only_panel(curve({1, 3}, {0, 50}));
  EXPECT_EQ(layout.x.range.low, 1.0);
  EXPECT_EQ(layout.x.range.high, 3.0);
  EXPECT_EQ(layout.y.range.low, 0.0);
  EXPECT_DOUBLE_EQ(layout.y.range.high, 53.0);
}

TEST(FigureLayout, AGapPartsAStroke) {
  const PanelLayout layout = only_panel(curve({0, 1, 2, 3, 4}, {1, 2, kUnset, 2, 1}));
  ASSERT_EQ(layout.series[0].strokes.size(), 2u);
  EXPECT_EQ(layout.series[0].strokes[0].size(), 2u);
  EXPECT_EQ(layout.series[0].strokes[1][0].x, 3.0);
}

// So many samples are thinned; a value that a logarithmic axis cannot show parts the line all the
// same.
TEST(FigureLayout, AGapOfALogarithmicAxisPartsAThinnedStroke) {
  constexpr std::size_t kMany = 20'000;
  for (const bool across : {false, true}) {
    Panel panel = curve(std::vector<double>(kMany), std::vector<double>(kMany));
    (across ? panel.log_x : panel.log_y) = true;
    Series& series = panel.series[0];
    for (std::size_t i = 0; i < kMany; ++i) {
      series.x[i] = 1.0 + static_cast<double>(i);
      series.y[i] = 2.0;
    }
    EXPECT_EQ(only_panel(panel).series[0].strokes.size(), 1u);
    // Within a run of samples, and neither its least nor its largest.
    (across ? series.x : series.y)[10'003] = 0.0;
    (across ? series.x : series.y)[10'004] = -1.0;
    EXPECT_EQ(only_panel(panel).series[0].strokes.size(), 2u) << across;
  }
}

TEST(FigureLayout, NumbersOfAnAxisStandApart) {
  Panel panel = curve({1, 10}, {1, 2});
  panel.log_x = true;
  std::vector<std::string> labels;
  for (const Tick& tick : only_panel(panel).x.ticks) labels.push_back(tick.label);
  EXPECT_EQ(labels, (std::vector<std::string>{"1", "2", "5", "10"}));
  panel.log_x = false;
  panel.series[0].x = {1e9, 1e9 + 40.0};  // ten digits each
  EXPECT_LE(only_panel(panel).x.ticks.size(), 10u);
  EXPECT_GE(only_panel(panel).x.ticks.size(), 3u);
}

TEST(FigureLayout, StackedPanelsShareTheirXAxisAndTheLastOneHasItsNumbers) {
  const FigureLayout layout = lay_out({"", {curve({0, 1}, {0, 1}), curve({2, 3}, {0, 1})}});
  for (const PanelLayout& panel : layout.panels) {
    EXPECT_EQ(panel.x.range.low, 0.0);
    EXPECT_EQ(panel.x.range.high, 3.0);
    EXPECT_EQ(panel.data.left, layout.panels[0].data.left);
  }
  EXPECT_FALSE(layout.panels[0].has_x_labels);
  EXPECT_TRUE(layout.panels[1].has_x_labels);
  const Box& above = layout.panels[0].data;
  const Box& below = layout.panels[1].data;
  EXPECT_GE(below.top, above.top + above.height);
  EXPECT_LE(below.top + below.height, layout.height);
}

TEST(FigureLayout, BarsOfTwoSeriesStandSideBySideInTheirRow) {
  Panel panel;
  panel.rows = {"upper", "lower"};
  Series bars{"a", {60, 20}, {0, 1}, Mark::bars};
  panel.series = {bars, bars};
  const PanelLayout layout = only_panel(panel);
  ASSERT_EQ(layout.series[1].bars.size(), 2u);
  const Bar& first = layout.series[0].bars[0];
  const Bar& second = layout.series[1].bars[0];
  EXPECT_GT(first.y - first.half_height, second.y + second.half_height);
  EXPECT_NEAR(0.5 * (first.y + second.y), 1.0, 1e-12);  // the upper of two rows, counted from 0
  EXPECT_EQ(layout.y.ticks[0].label, "upper");
  EXPECT_EQ(layout.y.ticks[0].at, 1.0);
  EXPECT_TRUE(std::isnan(first.low));
}

TEST(FigureLayout, AMapSharesItsColoursOutFromTheLeastToTheMost) {
  Panel panel;
  panel.map = {{"60", "70"}, {"low", "high"}, {1.25, 2.5, kUnset, 3.75}, "travel used [mm]", 2};
  const PanelLayout layout = only_panel(panel);
  ASSERT_EQ(layout.map.cells.size(), 3u);
  EXPECT_EQ(layout.map.cells[0].share, 0.0);
  EXPECT_EQ(layout.map.cells[1].share, 0.5);
  EXPECT_EQ(layout.map.cells[2].share, 1.0);
  EXPECT_EQ(layout.map.cells[2].x, 1.0);
  EXPECT_EQ(layout.map.cells[2].y, 1.0);
  EXPECT_EQ(layout.map.cells[1].text, "2.50");
  EXPECT_EQ(layout.map.scale.front().label, "1.25");
  EXPECT_EQ(layout.map.scale.back().label, "3.75");
}

TEST(FigureLayout, NumbersOfAMapAndAStripHaveTheMinusOfTheAxes) {
  Panel panel;
  panel.map = {{"60", "70"}, {"low"}, {-1.25, -0.001}, "change [mm]", 2};
  const PanelLayout map = only_panel(panel);
  EXPECT_EQ(map.map.cells[0].text, "−1.25");
  EXPECT_EQ(map.map.cells[1].text, "0.00");
  EXPECT_EQ(map.map.scale.front().label, "−1.25");
  Panel strip;
  strip.strip = {{"a", "b"}, {{}, {}}, {{"temperature", "degC", {"-5", "-"}}}};
  const PanelLayout layout = only_panel(strip);
  EXPECT_EQ(layout.columns[0].column.texts, (std::vector<std::string>{"−5", "-"}));
}

TEST(FigureLayout, AStripSaysForWhichColumnsItHasNoRoom) {
  Panel panel;
  panel.strip = {{"a"}, {{}}, {}};
  for (int i = 0; i < 12; ++i) {
    panel.strip.columns.push_back({"column " + std::to_string(i), "kN", {"1234567890"}});
  }
  const PanelLayout layout = only_panel(panel);
  ASSERT_LT(layout.columns.size(), 12u);
  ASSERT_GT(layout.columns.size(), 5u);
  std::string missing;
  for (std::size_t i = layout.columns.size(); i < 12; ++i) {
    missing += (missing.empty() ? "" : ", ") + panel.strip.columns[i].label;
  }
  EXPECT_EQ(layout.y_label, "no room here for " + missing);
  EXPECT_LT(layout.label_line, layout.data.top);
  panel.strip.columns.resize(3);
  EXPECT_EQ(only_panel(panel).y_label, "");
}

TEST(FigureLayout, WhatAllPanelsNameStandsOnce) {
  Panel panel = curve({0, 1}, {0, 1});
  panel.series[0].label = "2 spacers";
  Figure figure{"", {panel, panel}};
  EXPECT_TRUE(lay_out(figure).panels[0].has_end_labels);
  EXPECT_FALSE(lay_out(figure).panels[1].has_end_labels);
  figure.panels[1].series[0].label = "3 spacers";
  EXPECT_TRUE(lay_out(figure).panels[1].has_end_labels);
  figure.panels[1] = panel;
  figure.panels[1].beside = true;  // then at the right
  EXPECT_FALSE(lay_out(figure).panels[0].has_end_labels);
  EXPECT_TRUE(lay_out(figure).panels[1].has_end_labels);
}

// By hand: 190 pixels hold twelve labels of 15.
TEST(FigureLayout, MoreNamesThanFitAtTheEndsOfLinesAreALegend) {
  for (const std::size_t many : {12u, 13u}) {
    Panel panel = curve({0, 1}, {0, 1});
    panel.series.assign(many, panel.series[0]);
    for (std::size_t i = 0; i < many; ++i) panel.series[i].label = std::to_string(i);
    EXPECT_EQ(only_panel(panel).has_end_labels, many == 12u);
    EXPECT_EQ(only_panel(panel).legend.size(), many == 12u ? 0u : many);
  }
  Panel points = curve({0, 1}, {0, 1});
  points.series[0].label = "rides";
  points.series[0].mark = Mark::dots;
  EXPECT_EQ(only_panel(points).legend.size(), 1u);
}

TEST(FigureLayout, PanelsBesideOneAnotherShareTheWidth) {
  Figure figure{"", {curve({0, 1}, {0, 1}), curve({0, 1}, {0, 1})}};
  figure.panels[1].beside = true;
  const FigureLayout layout = lay_out(figure);
  EXPECT_EQ(layout.panels[0].data.top, layout.panels[1].data.top);
  EXPECT_GT(layout.panels[1].data.left, layout.panels[0].data.left + layout.panels[0].data.width);
  EXPECT_EQ(layout.panels[0].room.width, layout.panels[1].room.width);
  EXPECT_LE(layout.panels[1].data.left + layout.panels[1].data.width, layout.width);
}

TEST(FigureLayout, ABandGoesAlongItsLowEndAndBackAlongTheHighOne) {
  Panel panel = curve({}, {});
  panel.series = {{"", {0, 1, 2}, {}, Mark::band, {}, {1, 2, kUnset}, {3, 4, 5}}};
  const PanelLayout layout = only_panel(panel);
  ASSERT_EQ(layout.series[0].strokes.size(), 1u);
  ASSERT_EQ(layout.series[0].strokes[0].size(), 4u);
  EXPECT_EQ(layout.series[0].strokes[0][1].y, 2.0);
  EXPECT_EQ(layout.series[0].strokes[0][2].y, 4.0);
  EXPECT_EQ(layout.series[0].strokes[0][3].x, 0.0);
}

TEST(FigureLayout, AFigureThatContradictsItselfIsRefused) {
  EXPECT_THROW(lay_out(Figure()), std::invalid_argument);
  EXPECT_THROW(only_panel(curve({0, 1}, {0})), std::invalid_argument);
  Panel strip;
  strip.strip = {{"a", "b"}, {{}, {}}, {{"pressure", "psi", {"70"}}}};
  EXPECT_THROW(only_panel(strip), std::invalid_argument);
  Panel band = curve({}, {});
  band.series = {{"", {0, 1}, {}, Mark::band, {}, {0, 1}, {1}}};
  EXPECT_THROW(only_panel(band), std::invalid_argument);
}

}  // namespace
}  // namespace plunge::figure_layout_test
