#include "tools/cli/table.hpp"

#include <gtest/gtest.h>

namespace plunge::table_test {
namespace {

Table forces() {
  Table table;
  table.column("", "");
  table.column("force", "N");
  table.column("change", "%", true);
  table.column("travel", "mm");
  table.row({"no spacer", "1200", "+3", "150.1"});
  table.row({"one", "900", "-12", "9.0"});
  return table;
}

// By hand.
TEST(Table, WhatFitsStandsInOneBlock) {
  EXPECT_EQ(forces().text(33),
            "           force  change  travel\n"
            "               N       %      mm\n"
            "no spacer   1200      +3   150.1\n"
            "one          900     -12     9.0\n");
}

// By hand.
TEST(Table, InAPageItIsOnePieceAndItsTextIsNoMarkup) {
  Table table;
  table.column("", "");
  table.column("force & <i>", "N");
  table.row({"<b>one", "9\u202e00"});
  EXPECT_EQ(table.html(),
            "<table>\n<thead><tr><th scope=\"col\"></th><th scope=\"col\">force &amp; &lt;i&gt; "
            "<small>N</small></th></tr></thead>\n<tbody>\n"
            "<tr><th scope=\"row\">&lt;b&gt;one</th><td>9\\u202e00</td></tr>\n"
            "</tbody>\n</table>\n");
}

TEST(Table, WhatDoesNotFitBeginsANewBlockWithTheFirstColumnAgain) {
  EXPECT_EQ(forces().text(31),
            "           force  change\n"
            "               N       %\n"
            "no spacer   1200      +3\n"
            "one          900     -12\n"
            "\n"
            "           travel\n"
            "               mm\n"
            "no spacer   150.1\n"
            "one           9.0\n");
}

TEST(Table, ColumnsThatBeginABlockGiveWayWhereNothingElseFitsBesideThem) {
  Table table(3);
  for (const char* name : {"ride", "pressure", "spacers", "travel"}) table.column(name, "");
  table.row({"7", "60.5", "3", "111.0"});
  EXPECT_EQ(table.text(31),
            "ride  pressure  spacers  travel\n"
            "7         60.5        3   111.0\n");
  EXPECT_EQ(table.text(24),
            "ride  pressure  spacers\n"
            "7         60.5        3\n"
            "\n"
            "ride  pressure  travel\n"
            "7         60.5   111.0\n");
}

TEST(Table, AColumnThatBelongsToAnotherStaysBesideIt) {
  const std::string text = forces().text(20);
  EXPECT_NE(text.find("force  change\n"), std::string::npos) << text;
}

TEST(Table, ALongFirstCellIsBrokenAndItsNumbersStandOnItsLastLine) {
  Table table;
  table.column("", "");
  table.column("force", "");
  table.column("travel", "");
  table.row({"a first cell of many words", "1", "2"});
  EXPECT_EQ(table.text(24),
            "               force\n"
            "a first cell\n"
            "of many words      1\n"
            "\n"
            "               travel\n"
            "a first cell\n"
            "of many words       2\n");
}

TEST(Table, ACellShowsWhatWouldWorkOnATerminal) {
  Table table;
  table.column("a\x1b", "");
  table.row({"b\nc"});
  EXPECT_EQ(table.text(80), "a\\x1b\nb\\x0ac\n");
}

}  // namespace
}  // namespace plunge::table_test
