#include "sim/text/toml_file.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "tests/scratch.hpp"

namespace plunge::toml_file_test {
namespace {

std::string complaint_about(const std::string& text) {
  return complaint([&] { parse_toml(text, "x.toml"); });
}

TEST(TomlFile, EveryValueKnowsItsPlaceAndText) {
  const TomlFile file = parse_toml(
      "b = 5e2\n\"é\" = {x = \"y\", \"ü\" = 1_000}\n[a]\nlist = [\n  1,\n  [true, 1979-05-27]]\n",
      "x.toml");
  ASSERT_EQ(file.root.members.size(), 3U);
  EXPECT_EQ(file.root.members[0].key, "b");  // in the order of the file
  const TomlNode& b = file.root.members[0].value;
  EXPECT_EQ(b.kind, TomlNode::Kind::real);
  EXPECT_EQ(b.number, 500.0);
  EXPECT_EQ(b.text, "5e2");
  EXPECT_EQ(to_string(Fault{"", "", "rule", file.place(b)}), "x.toml:1:5: rule");
  const TomlNode& inner = file.root.members[1].value;
  const TomlNode* thousand = inner.find("ü");
  ASSERT_NE(thousand, nullptr);
  EXPECT_EQ(thousand->text, "1_000");  // columns count characters, not bytes
  EXPECT_EQ(thousand->column, 23);
  EXPECT_EQ(inner.find("absent"), nullptr);
  const TomlNode& list = *file.root.find("a")->find("list");
  EXPECT_EQ(list.items.at(0).line, 5);
  EXPECT_EQ(describe(list.items.at(0)), "the bare number 1");
  EXPECT_EQ(describe(list.items.at(1)), "an array");
  EXPECT_EQ(describe(list.items.at(1).items.at(0)), "the boolean true");
  EXPECT_EQ(describe(list.items.at(1).items.at(1)), "a date");
  EXPECT_EQ(describe(*file.root.find("a")), "a table");
  EXPECT_EQ(describe(*inner.find("x")), "the text \"y\"");
}

TEST(TomlFile, BadTomlIsRefusedWithItsPlace) {
  for (const char* text : {"a = 1\nb = \n", "a = 1\nb = ]\n", "a = 1\nb = ,\nc = 2\n",
                           "a = 1\na = 2\n", "a = 1\nb = \"x\nc = 1\n", "a = 1\n[b\n",
                           "a = 1\nb = 1 2\n", "a = 1\n= 2\n", "a = 1\nb = 99999999999999999999\n",
                           "a = 1\nb = 2020-13-01\n", "a = 1\nb = \"\\q\"\n", "a = 1\na.b = 2\n"}) {
    const std::string found = complaint_about(text);
    EXPECT_EQ(found.rfind("x.toml:2:", 0), 0U) << text << found;
    EXPECT_NE(found.find("is not TOML"), std::string::npos) << found;
  }
}

TEST(TomlFile, DepthIsBounded) {
  std::string keys = "a";
  for (int i = 1; i < kDeepestNesting; ++i) keys += ".a";
  EXPECT_EQ(complaint_about(keys + " = 1\n"), "");
  EXPECT_NE(complaint_about(keys + ".a.a = 1\n").find("nest deeper"), std::string::npos);
  EXPECT_NE(complaint_about("x = " + std::string(70, '[') + std::string(70, ']')), "");
  // Dots in text and comments nest nothing.
  const std::string dots(200, '.');
  EXPECT_EQ(complaint_about("# " + dots + "\na = \"" + dots + "\"\nb = '" + dots + "'\n"), "");
  EXPECT_EQ(complaint_about("a = \"\"\"it's\n" + dots + "\"\"\"\n"), "");
}

TEST(TomlFile, WhatIsWrittenReadsBack) {
  for (const double value : {0.1, -0.0, 5e-324, 1.7976931348623157e308, 1e16, 3.0, 1e-6}) {
    const TomlFile file = parse_toml("x = " + toml_number(value), "x.toml");
    EXPECT_EQ(file.root.find("x")->number, value);
    EXPECT_EQ(std::signbit(file.root.find("x")->number), std::signbit(value));
  }
  const std::string text("\"\\\b\t\n\r\x01\x7f é \xf0\x9f\x9a\xb2");
  EXPECT_EQ(parse_toml("x = " + toml_quoted(text), "x.toml").root.find("x")->text, text);
}

TEST(TomlFile, ATextWithANulIsRefusedWhereItStands) {
  EXPECT_EQ(complaint_about("a = 1\nname = \"a\\u0000b\"\n"),
            "x.toml:2:8: name = \"a\\u0000b\": must hold no NUL character");
  EXPECT_EQ(complaint_about("b.a = [\"\\U00000000\"]\n"),
            "x.toml:1:8: b.a = \"\\u0000\": must hold no NUL character");
  EXPECT_EQ(complaint_about("a = \"\\u0001\"\n"), "");
}

TEST(TomlFile, ALetterOfAnotherAlphabetIsNoBareKey) {
  // Characters from U+00A0 to U+0499, which the parser's table of white space stumbles over.
  EXPECT_THROW(parse_toml("a = 1\n\u00e9b = 2\n", "x.toml"), InputError);
  EXPECT_THROW(parse_toml("a = 1 \u0100\n", "x.toml"), InputError);
  EXPECT_EQ(parse_toml("a = \"\u00e9\"", "x.toml").root.find("a")->text, "\u00e9");
}

}  // namespace
}  // namespace plunge::toml_file_test
