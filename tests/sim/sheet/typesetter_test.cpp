#include "sim/sheet/typesetter.hpp"

#include <gtest/gtest.h>

#include <string>

namespace plunge::typesetter_test {
namespace {

ColumnText column(const std::string& text, double width = 50.0, int lines = 1) {
  return {text, {.size = 10.0}, width, lines};
}

SheetPage page_of(const std::string& text) {
  SheetPage page;
  page.paper = kPapers[0];
  page.title = "a page";
  page.texts.push_back({column(text), 20.0, 20.0, {}, {}});
  page.strokes.push_back({{{10.0, 10.0}, {20.0, 30.0}}, 0.3, Ink::red, true});
  page.frames.push_back({{5.0, 5.0, 50.0, 50.0}, 0.2, Ink::black, true});
  return page;
}

TEST(Typesetter, FiguresAreOfOneWidth) {
  const Typesetter typesetter;
  const double width = typesetter.measured(column("0000000000")).width;
  for (const char figure : std::string("123456789")) {
    EXPECT_NEAR(typesetter.measured(column(std::string(10, figure))).width, width, 1e-6) << figure;
  }
}

TEST(Typesetter, LettersGrowWithTheirSize) {
  // Without hinting a letter of twice the size is twice as wide.
  const Typesetter typesetter;
  ColumnText text = column("spacers");
  const PageBox small = typesetter.measured(text);
  text.style.size *= 2.0;
  EXPECT_NEAR(typesetter.measured(text).width, 2.0 * small.width, 0.01);
}

TEST(Typesetter, ALongTextIsBrokenAndThenCut) {
  const Typesetter typesetter;
  const std::string words = "one two three four five six seven eight nine ten eleven twelve";
  const double line = typesetter.measured(column("one")).height;
  EXPECT_NEAR(typesetter.measured(column(words, 20.0, 3)).height, 3.0 * line, 0.05);
  EXPECT_LE(typesetter.measured(column(words, 20.0, 3)).width, 20.0 + 1e-3);
  EXPECT_LE(typesetter.measured(column(std::string(300, 'W'), 20.0, 2)).width, 20.0 + 1e-3);
}

TEST(Typesetter, TheSamePageIsTheSameBytes) {
  const SheetPage page = page_of("72 psi");
  EXPECT_EQ(page_pdf(page), page_pdf(page));
  EXPECT_EQ(page_svg(page), page_svg(page));
  EXPECT_NE(page_pdf(page), page_pdf(page_of("73 psi")));
  EXPECT_NE(page_svg(page), page_svg(page_of("73 psi")));
}

TEST(Typesetter, APdfIsAsLargeAsItsPaper) {
  // 210 mm and 297 mm are 595.276 and 841.89 points of 1/72 inch.
  const std::string pdf = page_pdf(page_of("a"));
  EXPECT_TRUE(pdf.starts_with("%PDF-"));
  EXPECT_NE(pdf.find("595.2755"), std::string::npos);
  EXPECT_NE(pdf.find("841.8897"), std::string::npos);
  EXPECT_NE(pdf.find("(20000101"), std::string::npos);
}

TEST(Typesetter, ASvgHoldsOutlinesAndNothingFromElsewhere) {
  const std::string svg = page_svg(page_of("72 psi"));
  EXPECT_TRUE(svg.starts_with("<svg"));
  EXPECT_EQ(svg.find("<text"), std::string::npos);
  EXPECT_EQ(svg.find("font-family"), std::string::npos);
  EXPECT_EQ(svg.find("href=\"http"), std::string::npos);
}

}  // namespace
}  // namespace plunge::typesetter_test
