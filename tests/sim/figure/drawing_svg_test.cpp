#include "sim/figure/drawing_svg.hpp"

#include <gtest/gtest.h>

namespace plunge::drawing_svg_test {
namespace {

Drawing one_of_each() {
  Drawing drawing;
  drawing.width = 100.0;
  drawing.height = 50.5;
  drawing.title = "a < b & c";
  drawing.description = "travel > 0";
  DrawnShape line;
  line.lines = {{{1.0, 2.0}, {3.5, 1.26}, {3.5, 10.0}}, {{7.0, 7.0}}};
  line.width = 1.5;
  line.dash = Dash::dashes;
  line.colour = {Hue::warning};
  DrawnShape area;
  area.lines = {{{0.0, 0.0}, {10.0, 0.0}, {10.0, 10.0}}};
  area.filled = true;
  area.opacity = 0.25;
  drawing.shapes = {line, area};
  DrawnText text;
  text.text = "1 < 2 & \"3\"";
  text.at = {5.0, 6.25};
  text.anchor = Anchor::end;
  text.bold = text.upwards = true;
  drawing.texts = {text};
  return drawing;
}

bool holds(const std::string& svg, const std::string& part) {
  return svg.find(part) != std::string::npos;
}

// By hand, from SVG 1.1, 8.3: M is where a line begins, l steps from there, z closes it.
TEST(DrawingSvg, ShapesArePathsInTenthsOfAPixel) {
  const std::string svg = drawing_svg(one_of_each());
  EXPECT_TRUE(holds(svg,
                    "stroke=\"#9e1e10\" stroke-width=\"1.5\" stroke-dasharray=\"7 4\" "
                    "d=\"M1 2l2.5 -.7 0 8.7M7 7h0\""))
      << svg;
  EXPECT_TRUE(holds(svg,
                    "fill=\"#21201d\" stroke=\"none\" opacity=\"0.25\" "
                    "d=\"M0 0l10 0 0 10z\""))
      << svg;
  EXPECT_TRUE(holds(svg, "width=\"100\" height=\"50.5\" viewBox=\"0 0 100 50.5\""));
}

TEST(DrawingSvg, TextIsEscapedAndStaysText) {
  const std::string svg = drawing_svg(one_of_each());
  EXPECT_TRUE(holds(svg, "<title>a &lt; b &amp; c</title>"));
  EXPECT_TRUE(holds(svg, "<desc>travel &gt; 0</desc>"));
  EXPECT_TRUE(holds(svg, ">1 &lt; 2 &amp; \"3\"</text>"));
  EXPECT_TRUE(holds(svg, "transform=\"rotate(-90 5 6.25)\""));
  EXPECT_TRUE(holds(svg, "text-anchor=\"end\""));
  EXPECT_TRUE(svg.starts_with("<?xml"));
  EXPECT_TRUE(svg.ends_with("</svg>\n"));
}

// Rounding a step does not add up: each starts where the last one ended as written.
TEST(DrawingSvg, ALongLineEndsWhereItShould) {
  Drawing drawing;
  DrawnShape line;
  line.lines.emplace_back();
  for (int i = 0; i <= 1000; ++i) line.lines[0].push_back({0.26 * i, 0.0});
  drawing.shapes = {line};
  const std::string svg = drawing_svg(drawing);
  double x = 0.0;
  std::size_t at = svg.find("l", svg.find("d=\"M")) + 1;
  for (int i = 0; i < 1000; ++i) {
    std::size_t used = 0;
    x += std::stod(svg.substr(at, 20), &used);
    at = svg.find(' ', at + used + 1) + 1;
  }
  EXPECT_NEAR(x, 260.0, 0.051);
}

// A page's style sheet says what the names look like; places and widths are those of the file.
TEST(DrawingSvg, InAPageColoursAreNames) {
  Drawing drawing = one_of_each();
  drawing.shapes[1].colour = {Hue::shade, 0, 0.256};
  drawing.texts[0].colour = {Hue::palette, 3};
  const std::string markup = drawing_markup(drawing);
  EXPECT_TRUE(holds(markup,
                    "class=\"warning\" stroke-width=\"1.5\" stroke-dasharray=\"7 4\" "
                    "d=\"M1 2l2.5 -.7 0 8.7M7 7h0\""))
      << markup;
  EXPECT_TRUE(holds(markup,
                    "class=\"shade\" style=\"--share:26%\" fill=\"currentColor\" "
                    "stroke=\"none\" opacity=\"0.25\" d=\"M0 0l10 0 0 10z\""))
      << markup;
  EXPECT_TRUE(holds(markup, "font-size=\"12\" class=\"colour-3\" text-anchor=\"end\""));
  EXPECT_FALSE(holds(markup, "#"));
}

TEST(DrawingSvg, TheSameDrawingIsTheSameFile) {
  EXPECT_EQ(drawing_svg(one_of_each()), drawing_svg(one_of_each()));
}

}  // namespace
}  // namespace plunge::drawing_svg_test
