#include "sim/sheet/sheet_html.hpp"

#include <gtest/gtest.h>

#include <string>

#include "sim/sheet/typesetter.hpp"

namespace plunge::sheet_html_test {
namespace {

SheetPage page_of(const std::string& text, const Paper& paper) {
  SheetPage page;
  page.paper = paper;
  page.title = "a <page>";
  page.texts.push_back({{text, {}, 50.0, 1}, 20.0, 20.0, {}, {}});
  return page;
}

TEST(SheetHtml, HoldsTheVeryDrawingAndItsWords) {
  const SheetPage page = page_of("Pressure to set", kPapers[0]);
  const std::string html = page_html(page);
  EXPECT_NE(html.find(page_svg(page)), std::string::npos);
  EXPECT_NE(html.find("<p>Pressure to set</p>"), std::string::npos);
  EXPECT_NE(html.find("@page{size:210mm 297mm"), std::string::npos);
  EXPECT_NE(page_html(page_of("a", kPapers[1])).find("@page{size:215.9mm 279.4mm"),
            std::string::npos);
}

TEST(SheetHtml, WordsAreNoMarkup) {
  const std::string html = page_html(page_of("<script>\"&", kPapers[0]));
  EXPECT_EQ(html.find("<script"), std::string::npos);
  EXPECT_NE(html.find("<p>&lt;script&gt;&quot;&amp;</p>"), std::string::npos);
  EXPECT_NE(html.find("<title>a &lt;page&gt;</title>"), std::string::npos);
}

}  // namespace
}  // namespace plunge::sheet_html_test
