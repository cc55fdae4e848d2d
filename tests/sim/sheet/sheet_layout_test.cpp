#include "sim/sheet/sheet_layout.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

#include "models/setup/fault.hpp"
#include "sim/input/service.hpp"
#include "sim/sheet/sheet_case.hpp"
#include "tests/scene_files.hpp"

namespace plunge::sheet_layout_test {
namespace {

constexpr double kSlack = 0.05;  // [mm] rounding of Pango's units and less than any ink

// What is wrong with a page, a line each; empty: nothing.
std::string faults_of(const SheetPage& page) {
  std::string faults;
  const auto within = [](const PageBox& a, const PageBox& b) {
    return a.x > b.x - kSlack && a.y > b.y - kSlack && a.x + a.width < b.x + b.width + kSlack &&
           a.y + a.height < b.y + b.height + kSlack;
  };
  const auto meet = [](const PageBox& a, const PageBox& b) {
    return a.x + a.width > b.x + kSlack && b.x + b.width > a.x + kSlack &&
           a.y + a.height > b.y + kSlack && b.y + b.height > a.y + kSlack;
  };
  // Printers leave some 6 mm at the edges white.
  const PageBox paper{6.0, 6.0, page.paper.width - 12.0, page.paper.height - 12.0};
  for (std::size_t i = 0; i < page.texts.size(); ++i) {
    const PlacedText& text = page.texts[i];
    if (!within(text.box, paper)) faults += text.column.text + " leaves the page\n";
    if (!within(text.box, text.room)) faults += text.column.text + " leaves its room\n";
    for (std::size_t k = i + 1; k < page.texts.size(); ++k) {
      if (!meet(text.box, page.texts[k].box)) continue;
      faults += text.column.text + " meets " + page.texts[k].column.text + "\n";
    }
    for (const Stroke& stroke : page.strokes) {
      // Grids are pale, and lie below the legend; curves keep out of its corner.
      if (stroke.ink == Ink::pale || stroke.places.size() != 2) continue;
      const Place2& a = stroke.places[0];
      const Place2& b = stroke.places[1];
      const PageBox line{a.x, a.y, b.x - a.x + 2.0 * kSlack, b.y - a.y + 2.0 * kSlack};
      const PageBox letters{text.box.x, text.box.y + 0.5, text.box.width, text.box.height - 1.0};
      if (meet(letters, line)) faults += text.column.text + " is struck through\n";
    }
  }
  for (const Stroke& stroke : page.strokes) {
    for (const Place2& place : stroke.places) {
      if (!within({place.x, place.y, 0.0, 0.0}, paper)) faults += "a stroke leaves the page\n";
    }
  }
  for (const Frame& frame : page.frames) {
    if (!within(frame.box, paper)) faults += "a frame leaves the page\n";
  }
  return faults;
}

// A text of so many letters, in words of no more than a few; `letter` may be of several bytes.
std::string filled(const std::string& letter, std::size_t letters, std::size_t word) {
  std::string text;
  for (std::size_t i = 0; i < letters; ++i) text += i % (word + 1) == word ? " " : letter;
  return text;
}

// The longest that a file can say (200 bytes of a name, kLongestServiceText letters of a text).
struct Longest {
  const char* what;
  std::string name;
  std::string line;
};

std::vector<Longest> longest() {
  return {{"words", filled("n", 200, 7), filled("n", kLongestServiceText, 7)},
          {"one wide word", std::string(200, 'W'), std::string(kLongestServiceText, 'W')},
          {"narrow letters", std::string(200, 'i'), std::string(kLongestServiceText, 'i')},
          {"two bytes a letter", filled("\xc3\x84", 100, 9), filled("\xc3\x84", 80, 9)},
          {"nothing", "", ""}};
}

SheetRequest request_of(bool with_after) {
  SheetRequest request;
  request.fork = "scenarios/forks/teasel-150.toml";
  request.rider = "scenarios/riders/hazel.toml";
  request.ride_temperature = "-12.5 degC";
  request.ride_altitude = "2800 m";
  if (with_after) {
    request.spacers = "5";
    request.sag = "20 %";
  }
  return request;
}

// As much as a sheet can say.
SheetContent fullest(const Longest& longest, bool with_after, bool with_service, bool bar,
                     std::size_t scenes) {
  SheetCase sheet = sheet_of_fork(disk_files(), request_of(with_after));
  for (Setup* setup : {&sheet.after, sheet.before ? &*sheet.before : nullptr}) {
    if (setup == nullptr) continue;
    setup->fork.name = setup->rider.name = setup->bike.name = longest.name;
  }
  sheet.service = {};
  if (with_service && !longest.line.empty()) {
    sheet.service.cap = sheet.service.torque_source = longest.line;
    sheet.service.torque = 99.99;
    sheet.service.tools.assign(kMostServiceTools, longest.line);
    sheet.service.steps.assign(kMostServiceSteps, longest.line);
  }
  sheet.task =
      "let all air out, open the fork and take out 4 spacers, to 1; pump to 149.5 psi; compression "
      "14 clicks further closed, to 1 from closed; rebound 13 clicks further open, to 17 from "
      "closed";
  SheetContent content = sheet_content(sheet, bar);
  content.guesses =
      "24 of the fork's numbers are guessed and 2 fitted: what follows from them is no more "
      "certain "
      "than they are (see [known] in its file)";
  for (SheetRow& row : content.rows) row.note += "; \xc2\xb1 12.5 psi, by what is not known of it";
  for (std::size_t i = 0; i < scenes; ++i) {
    content.rings.push_back({longest.name, "149 mm (143 to 150)", 0.149});
  }
  if (scenes > 0) {
    content.predicted_for = longest.name;
    for (const char* label :
         {"share of travel", "metal contacts", "fork force peak", "hand force peak",
          "steady brake dive", "steady corner dive", "return from the deepest travel in"}) {
      content.predictions.push_back({"", label, "12345 N", "12345 N", 0.0, 0.0});
    }
  }
  return content;
}

TEST(SheetLayout, TheLongestNamesMeetNothingAndStayOnThePage) {
  const Typesetter typesetter;
  int pages = 0;
  for (const Longest& names : longest()) {
    for (const Paper& paper : kPapers) {
      for (int variant = 0; variant < 16; ++variant) {
        const auto is = [variant](int bit) { return (variant >> bit & 1) != 0; };
        const SheetContent content = fullest(names, is(0), is(1), is(2), is(3) ? 12 : 0);
        const SheetPage page = lay_out(content, paper, typesetter);
        EXPECT_EQ(faults_of(page), "") << names.what << ", " << paper.name << ", " << variant;
        EXPECT_GT(page.texts.size(), 60u);
        ++pages;
      }
    }
  }
  EXPECT_EQ(pages, 160);
}

TEST(SheetLayout, ATextThatIsPutOntoAnotherIsFound) {
  const Typesetter typesetter;
  const SheetContent content = fullest(longest()[0], true, true, false, 3);
  SheetPage page = lay_out(content, kPapers[0], typesetter);
  ASSERT_EQ(faults_of(page), "");
  page.texts[10].box = page.texts[20].box;
  EXPECT_NE(faults_of(page), "");
}

TEST(SheetLayout, CautionsStandBeforeTheSteps) {
  const Typesetter typesetter;
  const SheetContent content = fullest(longest()[0], true, true, false, 3);
  const SheetPage page = lay_out(content, kPapers[0], typesetter);
  const auto place = [&](const std::string& words) {
    for (const PlacedText& text : page.texts) {
      if (text.column.text.find(words) != std::string::npos) return text.y;
    }
    return std::nan("");
  };
  const double steps = place("Steps");
  ASSERT_FALSE(std::isnan(steps));
  for (const std::string& caution : content.cautions) EXPECT_LT(place(caution), steps) << caution;
  EXPECT_LT(place(content.closing), steps);
  EXPECT_LT(place("Before a tool touches the cap"), place("Volume spacers"));
}

TEST(SheetLayout, NoCautionIsCutShort) {
  // As high as it would be with all the lines that it likes.
  const Typesetter typesetter;
  for (const Paper& paper : kPapers) {
    const SheetContent content = fullest(longest()[1], true, true, false, 12);
    for (const PlacedText& text : lay_out(content, paper, typesetter).texts) {
      const auto found = std::ranges::find(content.cautions, text.column.text);
      if (found == content.cautions.end() && text.column.text != content.closing) continue;
      ColumnText free = text.column;
      free.lines = 99;
      EXPECT_NEAR(typesetter.measured(free).height, text.box.height, 1e-9) << text.column.text;
    }
  }
}

TEST(SheetLayout, WhatFitsNoPageIsRefused) {
  SheetContent content = fullest(longest()[0], true, true, false, 0);
  const std::vector<SheetRow> rows = content.rows;
  for (int i = 0; i < 5; ++i) content.rows.insert(content.rows.end(), rows.begin(), rows.end());
  EXPECT_THROW(lay_out(content, kPapers[1], Typesetter()), RunError);
}

TEST(SheetLayout, AFreeLineStandsWhereTheForksFileSaysNothing) {
  const Typesetter typesetter;
  const auto blanks = [&](bool service) {
    const SheetPage page =
        lay_out(fullest(longest()[0], true, service, false, 0), kPapers[0], typesetter);
    std::size_t count = 0;
    for (const Stroke& stroke : page.strokes) count += stroke.ink == Ink::grey ? 1 : 0;
    return count;
  };
  EXPECT_EQ(blanks(false), blanks(true) + 7);  // six steps and the tools
}

}  // namespace
}  // namespace plunge::sheet_layout_test
