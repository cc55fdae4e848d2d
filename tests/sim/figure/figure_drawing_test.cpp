#include "sim/figure/figure_drawing.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "sim/figure/figure_layout.hpp"

namespace plunge::figure_drawing_test {
namespace {

// What is wrong with a drawing, a line each; empty: nothing.
std::string faults_of(const Drawing& drawing) {
  constexpr double kSlack = 0.01;
  std::string faults;
  for (const DrawnShape& shape : drawing.shapes) {
    const double half = shape.filled ? 0.0 : 0.5 * shape.width;
    for (const std::vector<DrawnPlace>& places : shape.lines) {
      for (const DrawnPlace& place : places) {
        const bool inside = place.x >= half - kSlack && place.x <= drawing.width - half + kSlack &&
                            place.y >= half - kSlack && place.y <= drawing.height - half + kSlack;
        if (!inside) faults += "a shape leaves the picture\n";
      }
    }
  }
  for (std::size_t i = 0; i < drawing.texts.size(); ++i) {
    const TextBox box = box_of(drawing.texts[i]);
    const std::string& text = drawing.texts[i].text;
    if (text.empty()) faults += "an empty text\n";
    const bool inside = box.left >= -kSlack && box.top >= -kSlack &&
                        box.right <= drawing.width + kSlack &&
                        box.bottom <= drawing.height + kSlack;
    if (!inside) faults += text + " leaves the picture\n";
    for (std::size_t k = i + 1; k < drawing.texts.size(); ++k) {
      if (meet(box, box_of(drawing.texts[k]))) {
        faults += text + " meets " + drawing.texts[k].text + "\n";
      }
    }
  }
  return faults;
}

std::string faults_of(const Figure& figure, const FigureLook& look = {}) {
  return faults_of(drawing_of(lay_out(figure, look)));
}

std::size_t count(const Drawing& drawing, const std::string& text) {
  return static_cast<std::size_t>(std::ranges::count(drawing.texts, text, &DrawnText::text));
}

Series wave(const std::string& label, double height, std::size_t samples = 200) {
  Series series{label, {}, {}};
  for (std::size_t i = 0; i < samples; ++i) {
    const double x = 10.0 * static_cast<double>(i) / static_cast<double>(samples - 1);
    series.x.push_back(x);
    series.y.push_back(height * std::sin(x));
  }
  return series;
}

Panel panel_of(std::vector<Series> series) {
  Panel panel;
  panel.x_label = "distance [m]";
  panel.y_label = "travel [mm]";
  panel.series = std::move(series);
  return panel;
}

Panel bars_panel(const std::string& name) {
  Panel panel;
  panel.x_label = "share of the variance [%]";
  panel.rows = {name + " above", name + " below"};
  panel.series = {{"alone", {60, -20}, {0, 1}, Mark::bars, {}, {50, kUnset}, {70, kUnset}},
                  {"with joint effects", {65, 5}, {0, 1}, Mark::bars}};
  return panel;
}

Panel map_panel(const std::string& name, std::size_t columns, std::size_t rows) {
  Panel panel;
  panel.x_label = "pressure " + name;
  panel.y_label = "spacers " + name;
  panel.map.label = "travel used " + name;
  panel.map.decimals = 1;
  for (std::size_t i = 0; i < columns; ++i) panel.map.columns.push_back(name + std::to_string(i));
  for (std::size_t i = 0; i < rows; ++i) panel.map.rows.push_back(name + std::to_string(i));
  for (std::size_t i = 0; i < rows * columns; ++i) {
    panel.map.values.push_back(i % 7 == 3 ? kUnset : 100.0 + static_cast<double>(i));
  }
  return panel;
}

Panel strip_panel(const std::string& name, std::size_t rows) {
  Panel panel;
  StripColumn pressure{"pressure", "psi", {}};
  StripColumn travel{"travel used", "mm", {}};
  travel.limit = 150.0;
  StripColumn named{name, name, {}};
  for (std::size_t i = 0; i < rows; ++i) {
    panel.strip.rows.push_back(name + std::to_string(i));
    panel.strip.paints.push_back({static_cast<int>(i)});
    pressure.texts.push_back("70.5");
    named.texts.push_back(name);
    named.values.push_back(1.0);
    named.warnings.push_back(name);
    travel.values.push_back(i == 1 ? kUnset : 140.0 + static_cast<double>(i));
    travel.texts.push_back(std::to_string(140 + i));
    travel.warnings.push_back(i % 2 == 0 ? "2 × metal" : "");
  }
  panel.strip.columns = {pressure, travel, named, pressure};
  return panel;
}

// One of everything, with names of one kind.
Figure fullest(const std::string& name, bool beside) {
  Figure figure;
  figure.title = name;
  Panel traces = panel_of({wave(name, 1.0), wave(name + "2", 2.0), wave("", 0.5)});
  traces.title = traces.x_label = traces.y_label = name;
  traces.references = {{name, 2.5}, {name, 2.4}, {"sag", 3.0, true}, {name, 3.1, true}};
  traces.spots = {{1.0, 1.6, "151.8"}, {1.1, 1.6, "151.2"}, {1.0, 1.7, name}, {9.9, -1.9, "x"}};
  traces.zones = {{0.0, 3.0, "start"}, {3.0, 3.1, name}, {8.0, 20.0, "end"}};
  Panel band = panel_of({{name, {0, 1, 2}, {}, Mark::band, {}, {0, 1, 0}, {1, 2, kUnset}}});
  band.series.push_back({"dots", {0.5}, {0.5}, Mark::dots});
  band.clock = true;
  figure.panels = {strip_panel(name, 3),  traces, traces, bars_panel(name),
                   map_panel(name, 4, 3), band};
  for (std::size_t i = 1; beside && i < figure.panels.size(); ++i) {
    figure.panels[i].beside = i % 2 == 0;
  }
  return figure;
}

TEST(FigureDrawing, NothingMeetsOrLeavesThePictureWhateverTheNames) {
  const std::vector<std::string> names = {
      "2 spacers",
      "",
      std::string(200, 'W'),
      std::string(200, 'i'),
      "a\nb\tc\x1b[2J",
      "\xff\xfe",
      "<&>\"'",
      "Röhre Ä Ö Ü",
      "山地自行车山地自行车山地自行车山地自行车山地自行车山地自行车"};
  for (const std::string& name : names) {
    for (const bool beside : {false, true}) {
      const Drawing drawing = drawing_of(lay_out(fullest(name, beside)));
      EXPECT_EQ(faults_of(drawing), "") << name << beside;
      EXPECT_GT(drawing.texts.size(), 60u);
      EXPECT_GT(drawing.shapes.size(), 60u);
    }
  }
}

// From a phone, whose letters are large beside it, to a wall.
TEST(FigureDrawing, NothingMeetsOrLeavesAPictureOfAnySize) {
  for (const double width : {240.0, 280.0, 320.0, 420.0, 560.0, 1400.0, 3000.0}) {
    for (const std::string& name : {std::string("2 spacers"), std::string(200, 'W')}) {
      for (const FigureLook& look : {FigureLook{width}, FigureLook{width, 2.0, 120.0, 3.0}}) {
        EXPECT_EQ(faults_of(fullest(name, true), look), "") << width << name;
      }
    }
  }
}

TEST(FigureDrawing, AnyNumberOfSeriesAndCellsFits) {
  for (const std::size_t many : {1u, 2u, 5u, 12u, 13u, 40u, 100u}) {
    std::vector<Series> series;
    for (std::size_t i = 0; i < many; ++i) {
      series.push_back(wave(std::to_string(i) + " spacers", 1.0 + static_cast<double>(i)));
    }
    Figure figure{"", {panel_of(series), panel_of(series), map_panel("", many, many / 2 + 1)}};
    const Drawing drawing = drawing_of(lay_out(figure));
    EXPECT_EQ(faults_of(drawing), "") << many;
    // Once by the traces, at the ends of lines or in a legend.
    for (const Series& one : series) EXPECT_EQ(count(drawing, one.label), 1u) << many;
    figure.panels.push_back(strip_panel("n", many));
    const Drawing with_strip = drawing_of(lay_out(figure));
    EXPECT_EQ(faults_of(with_strip), "") << many;
    // A strip takes the place of a legend.
    EXPECT_EQ(count(with_strip, series[0].label), many <= 12 ? 1u : 0u) << many;
  }
}

TEST(FigureDrawing, AnyValuesFit) {
  const std::vector<std::vector<double>> extremes = {
      {1e-300, 1e300, -1e300}, {kUnset, kUnset, kUnset}, {HUGE_VAL, -HUGE_VAL, 1.0},
      {0.0, 0.0, 0.0},         {5e-324, 0.0, 1.0},       {1e15, 1e15 + 1.0, 1e15 + 2.0},
      {-1e-9, -2e-9, -3e-9},   {123456.0, 123457.0, 1e7}};
  for (const std::vector<double>& x : extremes) {
    for (const std::vector<double>& y : extremes) {
      for (const bool logarithmic : {false, true}) {
        Panel panel = panel_of({{"a", x, y}, {"b", x, y, Mark::points}, {"c", x, y, Mark::dots}});
        panel.log_x = panel.log_y = logarithmic;
        panel.references = {{"r", y[0]}, {"v", x[0], true}};
        panel.spots = {{x[0], y[0], "spot"}};
        panel.zones = {{x[0], x[1], "zone"}};
        EXPECT_EQ(faults_of(Figure{"", {panel}}), "") << x[0] << " " << y[0] << logarithmic;
      }
    }
  }
}

// Where lines end apart, each label stands at its own; where they end in one point, they stand in
// the order of the lines.
TEST(FigureDrawing, LabelsStandAtTheEndsOfTheirLines) {
  const Panel panel = panel_of({{"low", {0, 1}, {0, 1}}, {"high", {0, 1}, {0, 9}}});
  const FigureLayout layout = lay_out({"", {panel}});
  const Drawing drawing = drawing_of(layout);
  const auto label = [&](const Drawing& of, const std::string& text) {
    return std::ranges::find(of.texts, text, &DrawnText::text)->at;
  };
  const Box& data = layout.panels[0].data;
  EXPECT_GT(label(drawing, "low").x, data.left + data.width);
  const double share = 9.0 / layout.panels[0].y.range.high;
  EXPECT_NEAR(label(drawing, "high").y, data.top + data.height * (1.0 - share), 5.0);
  const Drawing one = drawing_of(
      lay_out({"", {panel_of({{"first", {0, 1}, {0, 1}}, {"second", {0, 1}, {0, 1.000001}}})}}));
  EXPECT_LT(label(one, "first").y, label(one, "second").y);
}

TEST(FigureDrawing, ALongTraceStaysSmallAndKeepsItsPeak) {
  Series series{"", {}, {}};
  for (int i = 0; i < 200000; ++i) {
    series.x.push_back(i / 1000.0);
    series.y.push_back(i == 123457 ? 1.0 : 0.1 * std::sin(0.01 * i));
  }
  const FigureLayout layout = lay_out({"", {panel_of({series})}});
  const Drawing drawing = drawing_of(layout);
  std::size_t places = 0;
  double top = HUGE_VAL;
  double bottom = -HUGE_VAL;
  const Colour colour = {Hue::palette, 0};
  for (const DrawnShape& shape : drawing.shapes) {
    if (shape.colour != colour) continue;
    for (const auto& line : shape.lines) {
      places += line.size();
      for (const DrawnPlace& place : line) {
        top = std::min(top, place.y);
        bottom = std::max(bottom, place.y);
      }
    }
  }
  EXPECT_GT(places, 300u);
  EXPECT_LT(places, 8000u);
  // By hand: values from -0.1 to 1, and 6 % of that left free at both ends.
  EXPECT_NEAR(bottom - top, layout.panels[0].data.height / 1.12, 0.5);
}

TEST(FigureDrawing, TheDescriptionSaysWhatIsShown) {
  Figure figure{"the drop", {panel_of({wave("0 spacers", 1.0)})}};
  const Drawing drawing = drawing_of(lay_out(figure));
  EXPECT_EQ(drawing.title, "the drop");
  EXPECT_EQ(drawing.description, "travel [mm] over distance [m], of 0 spacers.");
}

// A strip's bars are in proportion, and say in words what their colour says.
TEST(FigureDrawing, BarsOfAStripAreAsLongAsTheirValues) {
  Panel panel;
  StripColumn column{"travel", "mm", {"50", "100"}, {50.0, 100.0}, {"", "1 × metal"}, 200.0};
  panel.strip = {{"a", "b"}, {{}, {}}, {column}};
  const Drawing drawing = drawing_of(lay_out({"", {panel}}));
  std::vector<double> lengths;
  for (const DrawnShape& shape : drawing.shapes) {
    if (!shape.filled || shape.lines[0][0].y == 0.0) continue;
    lengths.push_back(shape.lines[0][1].x - shape.lines[0][0].x);
  }
  ASSERT_EQ(lengths.size(), 2u);
  EXPECT_GT(lengths[0], 20.0);
  EXPECT_NEAR(lengths[1], 2.0 * lengths[0], 1e-9);
  EXPECT_EQ(count(drawing, "1 × metal"), 1u);
  // Numbers stand past the limit, in one column.
  const auto at = [&](const std::string& text) {
    return std::ranges::find(drawing.texts, text, &DrawnText::text)->at.x;
  };
  EXPECT_EQ(at("50"), at("100"));
}

}  // namespace
}  // namespace plunge::figure_drawing_test
