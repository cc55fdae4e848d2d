#include "sim/report/plot.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <limits>
#include <sstream>

#include "models/setup/fault.hpp"
#include "sim/report/gnuplot.hpp"
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

// The strokes of the first curve in an SVG of one unlabelled series: "M x,y L x,y ...".
std::string strokes(const std::string& svg) {
  std::size_t at = svg.find("id=\"gnuplot_plot_1");
  const std::size_t end = svg.find("\n\t</g>", at);
  std::string strokes;
  while ((at = svg.find(" d='", at)) < end) {
    at += 4;
    strokes += svg.substr(at, svg.find('\'', at) - at);
  }
  return strokes;
}

// Their y coordinates in pixels, downwards.
std::vector<double> heights(const std::string& svg) {
  const std::string curve = strokes(svg);
  std::vector<double> heights;
  for (std::size_t at = 0; (at = curve.find(',', at)) != std::string::npos; ++at) {
    heights.push_back(std::strtod(curve.c_str() + at + 1, nullptr));
  }
  return heights;
}

// For as long as it lives, programs are looked for in one directory only.
class OnlyPath {
 public:
  explicit OnlyPath(const std::string& path) : before_(std::getenv("PATH")) {
    ::setenv("PATH", path.c_str(), 1);
  }
  ~OnlyPath() { ::setenv("PATH", before_.c_str(), 1); }

 private:
  std::string before_;
};

TEST(Plot, TheSuffixChoosesTheFormat) {
  const ScratchDirectory directory;
  const Figure figure = one_panel({"0 spacers", {0, 1, 2}, {0, 2, 1}});
  // The first bytes: PNG specification 5.2, PDF 32000-1 7.5.2, XML 1.0 2.8.
  for (const auto& [name, magic] :
       {std::pair{"a.png", "\x89PNG\r\n\x1a\n"}, {"a.pdf", "%PDF-"}, {"a.svg", "<?xml"}}) {
    draw(figure, directory / name);
    const std::string bytes = bytes_of(directory / name);
    EXPECT_EQ(bytes.rfind(magic, 0), 0u) << name;
    EXPECT_GT(bytes.size(), 3000u) << name;
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
  EXPECT_NE(bytes_of(directory / "a.pdf").find("/CreationDate (D:20000101000000"),
            std::string::npos);
}

TEST(Plot, TextShowsAsItIsGiven) {
  const ScratchDirectory directory;
  const std::string victim = directory / "victim";
  Figure figure = one_panel({"travel_max^2 {x} 'q' \"d\" 100 %", {0, 1}, {0, 1}});
  figure.title = "`touch " + victim + "` @a \\n";
  figure.panels[0].title = "a < b & c";
  figure.panels[0].y_label = "c\xff [m]\nnext";
  const std::string svg = svg_of(figure);
  EXPECT_NE(svg.find(">travel_max^2 {x} 'q' \"d\" 100 %<"), std::string::npos);
  EXPECT_NE(svg.find(">`touch " + victim.substr(0, 12)), std::string::npos);
  EXPECT_NE(svg.find(">a &lt; b &amp; c<"), std::string::npos);
  EXPECT_NE(svg.find(">c\\xff [m]\\x0anext<"), std::string::npos);
  EXPECT_FALSE(std::filesystem::exists(victim));
}

TEST(Plot, PanelsWithTheSameSeriesShareOneLegend) {
  Figure figure = one_panel({"2 spacers", {0, 1}, {0, 1}});
  figure.panels.push_back(figure.panels[0]);
  for (const Arrangement arrangement : {Arrangement::stacked, Arrangement::side_by_side}) {
    figure.arrangement = arrangement;
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
  EXPECT_LT(svg.size(), 500000u);
  const std::vector<double> y = heights(svg);
  ASSERT_GT(y.size(), 1000u);
  // By hand: the data take up 250 pixels, 6 % of their width are left free at the top.
  const auto [top, bottom] = std::minmax_element(y.begin(), y.end());
  EXPECT_NEAR(*bottom - *top, 250.0 / 1.06, 1.0);
}

TEST(Plot, AReferenceLineIsInsideTheAxes) {
  Figure figure = one_panel({"", {0, 1}, {0.0, 50.0}});
  figure.panels[0].references = {{"full travel", 100.0}};
  const std::string svg = svg_of(figure);
  EXPECT_EQ(count(svg, ">full travel<"), 1u);
  const std::vector<double> y = heights(svg);
  ASSERT_EQ(y.size(), 2u);
  // By hand: an axis from 0 to 112 on 250 pixels, so 50 is 50/112 of them up.
  EXPECT_NEAR(y[0] - y[1], 250.0 * 50.0 / 112.0, 1.0);
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
  EXPECT_EQ(count(svg_of(figure), ">empty<"), 1u);
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
  const std::string svg = svg_of({"", {bars_of_two_rows()}, Arrangement::stacked});
  const auto height = [&](const std::string& name) {
    const std::size_t at = svg.rfind("translate(", svg.find(name));
    return std::strtod(svg.c_str() + svg.find(',', at) + 1, nullptr);
  };
  EXPECT_GT(height("the upper row"), 0.0);
  EXPECT_LT(height("the upper row"), height("the lower row"));  // pixels, downwards
  // One interval: the other bar has none.
  const std::string without = [&] {
    Panel panel = bars_of_two_rows();
    panel.series[0].low.clear();
    panel.series[0].high.clear();
    return svg_of({"", {panel}, Arrangement::stacked});
  }();
  EXPECT_GT(count(svg, "gnuplot_plot_2"), 0u);
  EXPECT_EQ(count(without, "gnuplot_plot_2"), 0u);
}

TEST(Plot, AMapPrintsItsValuesAndLeavesUnknownCellsEmpty) {
  Panel panel;
  panel.map = {{"60", "70"}, {"low", "high"}, {1.25, 2.5, kNaN, 3.75}, "travel used [mm]", 2};
  const std::string svg = svg_of({"", {panel}, Arrangement::stacked});
  for (const char* text : {"1.25", "2.50", "3.75", "travel used [mm]", ">60<", ">high<"}) {
    EXPECT_NE(svg.find(text), std::string::npos) << text;
  }
  EXPECT_EQ(svg.find("nan"), std::string::npos);
  panel.map.rows.pop_back();
  EXPECT_THROW(svg_of({"", {panel}, Arrangement::stacked}), std::invalid_argument);
}

TEST(Plot, AFigureThatContradictsItselfIsRefused) {
  EXPECT_THROW(draw(Figure(), "a.svg"), std::invalid_argument);
  EXPECT_THROW(draw(one_panel({"", {0, 1}, {0}}), "a.svg"), std::invalid_argument);
}

TEST(Plot, SaysThatGnuplotIsMissing) {
  const ScratchDirectory directory;
  const Figure figure = one_panel({"", {0, 1}, {0, 1}});
  const OnlyPath path(directory.path().string());
  EXPECT_EQ(complaint([&] { draw(figure, directory / "a.svg"); }),
            "plots need gnuplot (Debian package gnuplot-nox), which cannot be started: "
            "No such file or directory");
  EXPECT_EQ(directory.entries(), 0u);
}

// A program that is found as gnuplot, by a script for the shell.
class FakeGnuplot {
 public:
  explicit FakeGnuplot(const std::string& script)
      : path_(directory_.path().string() + ":" + std::getenv("PATH")) {
    const std::string file = directory_ / "gnuplot";
    std::ofstream(file) << "#!/bin/sh\n" << script << "\n";
    std::filesystem::permissions(file, std::filesystem::perms::owner_all);
  }

 private:
  ScratchDirectory directory_;
  OnlyPath path_;
};

std::string complaint_of(const std::string& script, const std::string& name) {
  const FakeGnuplot fake(script);
  const ScratchDirectory directory;
  const std::string told = complaint([&] {
    draw(one_panel({"", {0, 1}, {0, 1}}), directory / name);
  });
  EXPECT_EQ(directory.entries(), 0u);
  return told;
}

TEST(Plot, AFailingGnuplotIsTakenAtItsWord) {
  EXPECT_EQ(
      complaint_of("echo 'line 3: no' >&2; echo ' such\033[2J terminal' >&2; exit 7", "a.svg"),
      "gnuplot failed, no plot is drawn: it ended with code 7, and says: line 3: no "
      "such\\x1b[2J terminal");
  EXPECT_EQ(complaint_of("kill -SEGV $$", "a.svg"),
            "gnuplot failed, no plot is drawn: it was ended by signal 11");
  EXPECT_EQ(complaint_of("exit 0", "a.svg"), "gnuplot failed, no plot is drawn: it wrote nothing");
}

TEST(Plot, WhatIsNoWholePictureOfItsKindIsNotWritten) {
  const std::string none = "gnuplot failed, no plot is drawn: what it wrote is no ";
  EXPECT_EQ(complaint_of("echo no picture", "a.png"), none + "PNG");
  EXPECT_EQ(complaint_of("echo no picture", "a.svg"), none + "SVG");
  EXPECT_EQ(complaint_of("echo no picture", "a.pdf"), none + "PDF");
  EXPECT_EQ(complaint_of("printf '%%PDF-1.5\\nhalf of it'", "a.pdf"), none + "whole PDF");
  EXPECT_EQ(complaint_of("printf '\\211PNG\\r\\n\\032\\n'", "a.png"), none + "whole PNG");
  EXPECT_EQ(complaint_of("echo '<svg><text>half'", "a.svg"), none + "whole SVG");
  EXPECT_EQ(complaint_of("echo '<svg></svg>'", "a.png"), none + "PNG");
}

TEST(Plot, AGnuplotThatDoesNotEndIsStopped) {
  const FakeGnuplot fake("exec sleep 1000");
  EXPECT_EQ(complaint([] {
              run_gnuplot("", {0.05, 1000});
            }),
            "gnuplot failed, no plot is drawn: it was stopped after 0.05 s");
}

TEST(Plot, AGnuplotThatWritesWithoutEndIsStopped) {
  const FakeGnuplot fake("exec yes");
  EXPECT_EQ(complaint([] {
              run_gnuplot("", {1000.0, 1'000'000});
            }),
            "gnuplot failed, no plot is drawn: it was stopped after 1000000 bytes");
}

}  // namespace
}  // namespace plunge::plot_test
