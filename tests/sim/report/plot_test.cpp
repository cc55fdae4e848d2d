#include "sim/report/plot.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <limits>
#include <sstream>

#include "models/setup/fault.hpp"
#include "tests/scratch.hpp"

namespace plunge::plot_test {
namespace {

constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();

Figure one_panel(Series series) {
  Figure figure;
  figure.panels = {{"", "time [s]", "travel [m]", {std::move(series)}, {}, false, false}};
  return figure;
}

std::size_t count(const std::string& text, const std::string& what) {
  std::size_t found = 0;
  for (std::size_t at = 0; (at = text.find(what, at)) != std::string::npos; ++at) ++found;
  return found;
}

std::string svg_of(const Figure& figure) {
  const ScratchDirectory directory;
  draw(figure, directory / "a.svg");
  return bytes_of(directory / "a.svg");
}

// The path of the first curve in an SVG, drawn in the first colour of the palette: "M1 2l3 4 5 6".
std::string strokes(const std::string& svg) {
  std::size_t at = svg.find("stroke=\"#4212c7\"");
  if (at == std::string::npos) return "";
  at = svg.find(" d=\"", at) + 4;
  return svg.substr(at, svg.find('"', at) - at);
}

// The y coordinates of its places in pixels, downwards.
std::vector<double> heights(const std::string& svg) {
  std::string path = strokes(svg);
  std::ranges::replace_if(
      path, [](char c) { return c == 'M' || c == 'l'; }, ' ');
  std::istringstream numbers(path);
  std::vector<double> heights;
  double x = 0.0;
  double y = 0.0;
  while (numbers >> x >> y) heights.push_back(heights.empty() ? y : heights.back() + y);
  return heights;
}

TEST(Plot, TheSuffixChoosesTheFormat) {
  const ScratchDirectory directory;
  const Figure figure = one_panel({"0 spacers", {0, 1, 2}, {0, 2, 1}});
  // The first bytes: PNG specification 5.2, PDF 32000-1 7.5.2, XML 1.0 2.8.
  for (const auto& [name, magic] :
       {std::pair{"a.png", "\x89PNG\r\n\x1a\n"}, {"a.pdf", "%PDF-"}, {"a.svg", "<?xml"}}) {
    draw(figure, directory / name);
    const std::string bytes = bytes_of(directory / name);
    EXPECT_EQ(bytes.rfind(magic, 0), 0u) << name;
    EXPECT_GT(bytes.size(), 2500u) << name;
  }
  EXPECT_EQ(directory.entries(), 3u);
  EXPECT_THROW(draw(figure, directory / "a.jpg"), InputError);
}

TEST(Plot, TheSameFigureGivesTheSameFile) {
  const ScratchDirectory directory;
  const Figure figure = one_panel({"0 spacers", {0, 1, 2}, {0, 2, 1}});
  for (const std::string suffix : {".png", ".svg", ".pdf"}) {
    draw(figure, directory / ("a" + suffix));
    draw(figure, directory / ("b" + suffix));
    EXPECT_EQ(bytes_of(directory / ("a" + suffix)), bytes_of(directory / ("b" + suffix)));
  }
  EXPECT_NE(bytes_of(directory / "a.pdf").find("/CreationDate (20000101000000Z)"),
            std::string::npos);
}

TEST(Plot, TextShowsAsItIsGiven) {
  Figure figure = one_panel({"travel_max^2 {x} 'q' \"d\" 100 %", {0, 1}, {0, 1}});
  figure.title = "`touch x` @a \\n";
  figure.panels[0].title = "a < b & c";
  figure.panels[0].y_label = "c\xff [m]\nnext";
  const std::string svg = svg_of(figure);
  EXPECT_NE(svg.find(">travel_max^2 {x} 'q' \"d\" 100 %<"), std::string::npos);
  EXPECT_EQ(count(svg, ">`touch x` @a \\n<"), 2u);  // as a text and as the title of the file
  EXPECT_NE(svg.find(">a &lt; b &amp; c<"), std::string::npos);
  EXPECT_NE(svg.find(">c\\xff [m]\\x0anext<"), std::string::npos);
}

TEST(Plot, PanelsWithTheSameSeriesAreLabelledOnce) {
  Figure figure = one_panel({"2 spacers", {0, 1}, {0, 1}});
  figure.panels.push_back(figure.panels[0]);
  for (const bool beside : {false, true}) {
    figure.panels[1].beside = beside;
    figure.panels[1].series[0].label = "2 spacers";
    EXPECT_EQ(count(svg_of(figure), ">2 spacers<"), 1u);
    figure.panels[1].series[0].label = "3 spacers";
    const std::string svg = svg_of(figure);
    EXPECT_EQ(count(svg, ">2 spacers<"), 1u);
    EXPECT_EQ(count(svg, ">3 spacers<"), 1u);
  }
}

TEST(Plot, StackedPanelsWithOneXLabelShareTheAxis) {
  Figure figure = one_panel({"", {0, 1}, {0, 1}});
  figure.panels.push_back(figure.panels[0]);
  EXPECT_EQ(count(svg_of(figure), ">time [s]<"), 1u);
  figure.panels[1].x_label = "distance [m]";
  const std::string svg = svg_of(figure);
  EXPECT_EQ(count(svg, ">time [s]<"), 1u);
  EXPECT_EQ(count(svg, ">distance [m]<"), 1u);
}

TEST(Plot, ThinningKeepsAPeakOfOneSample) {
  Series series{"", {}, {}};
  for (int i = 0; i < 200000; ++i) {
    series.x.push_back(i / 1000.0);
    series.y.push_back(i == 123457 ? 1.0 : 0.0);
  }
  const std::string svg = svg_of(one_panel(series));
  EXPECT_LT(svg.size(), 50000u);
  const std::vector<double> y = heights(svg);
  // By hand: the data take up 190 pixels, 6 % of their width are left free at the top.
  ASSERT_GE(y.size(), 4u);
  const auto [top, bottom] = std::ranges::minmax_element(y);
  EXPECT_NEAR(*bottom - *top, 190.0 / 1.06, 0.2);
}

TEST(Plot, AReferenceLineIsInsideTheAxes) {
  Figure figure = one_panel({"", {0, 1}, {0.0, 50.0}});
  figure.panels[0].references = {{"full travel", 100.0}};
  const std::string svg = svg_of(figure);
  EXPECT_EQ(count(svg, ">full travel<"), 1u);
  const std::vector<double> y = heights(svg);
  ASSERT_EQ(y.size(), 2u);
  // By hand: an axis from 0 to 112 on 190 pixels, so 50 is 50/112 of them up.
  EXPECT_NEAR(y[0] - y[1], 190.0 * 50.0 / 112.0, 0.2);
}

TEST(Plot, ValuesThatCannotBeShownLeaveAGap) {
  // Two strokes of two points each, so two moves of the pen.
  const std::string curve = strokes(svg_of(one_panel({"", {0, 1, 2, 3, 4}, {1, 2, kNaN, 2, 1}})));
  EXPECT_EQ(count(curve, "M"), 2u) << curve;
}

TEST(Plot, NothingToShowIsStillAFigure) {
  Figure figure = one_panel({"empty", {}, {}});
  figure.panels.push_back(one_panel({"not a number", {0, 1}, {kNaN, kNaN}}).panels[0]);
  figure.panels.push_back(one_panel({"constant", {0, 0}, {3, 3}}).panels[0]);
  figure.panels.push_back({"", "", "", {{"negative", {1, 2}, {-1, 0}}}, {}, true, true});
  figure.panels.push_back({});
  const std::string svg = svg_of(figure);
  EXPECT_EQ(count(svg, ">empty<"), 1u);
  EXPECT_EQ(count(svg, "nan"), 0u);
  EXPECT_EQ(count(svg, "inf"), 0u);
}

Panel bars_of_two_rows() {
  Panel panel;
  panel.x_label = "share [%]";
  panel.rows = {"the upper row", "the lower row"};
  Series bars;
  bars.mark = Mark::bars;
  bars.x = {60.0, 20.0};
  bars.y = {0.0, 1.0};
  bars.low = {50.0, kNaN};
  bars.high = {70.0, kNaN};
  panel.series = {bars};
  return panel;
}

TEST(Plot, BarsStandInNamedRowsFromTheTopDown) {
  const std::string svg = svg_of({"", {bars_of_two_rows()}});
  const auto height = [&](const std::string& name) {
    const std::size_t at = svg.rfind(" y=\"", svg.find(">" + name + "<"));
    return std::strtod(svg.c_str() + at + 4, nullptr);
  };
  EXPECT_GT(height("the upper row"), 0.0);
  EXPECT_LT(height("the upper row"), height("the lower row"));  // pixels, downwards
  // One interval: the other bar has none.
  Panel without = bars_of_two_rows();
  without.series[0].low.clear();
  without.series[0].high.clear();
  const std::string whisker = "stroke-width=\"1.1\"";
  EXPECT_EQ(count(svg, whisker), 1u);
  EXPECT_EQ(count(svg_of({"", {without}}), whisker), 0u);
}

TEST(Plot, AMapPrintsItsValuesAndLeavesUnknownCellsEmpty) {
  Panel panel;
  panel.map = {{"60", "70"}, {"low", "high"}, {1.25, 2.5, kNaN, 3.75}, "travel used [mm]", 2};
  const std::string svg = svg_of({"", {panel}});
  for (const char* text : {"1.25", "2.50", "3.75", "travel used [mm]", ">60<", ">high<"}) {
    EXPECT_NE(svg.find(text), std::string::npos) << text;
  }
  EXPECT_EQ(svg.find("nan"), std::string::npos);
  panel.map.rows.pop_back();
  EXPECT_THROW(svg_of({"", {panel}}), std::invalid_argument);
}

TEST(Plot, AFigureThatContradictsItselfIsRefused) {
  EXPECT_THROW(draw(Figure(), "a.svg"), std::invalid_argument);
  EXPECT_THROW(draw(one_panel({"", {0, 1}, {0}}), "a.svg"), std::invalid_argument);
}

}  // namespace
}  // namespace plunge::plot_test
