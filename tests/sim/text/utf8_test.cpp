#include "sim/text/utf8.hpp"

#include <gtest/gtest.h>

#include <string>

namespace plunge::utf8_test {
namespace {

TEST(Utf8, ALetterIsACodePoint) {
  EXPECT_EQ(count_letters(""), 0u);
  EXPECT_EQ(count_letters("fork"), 4u);
  EXPECT_EQ(count_letters("°C µm …"), 7u);
  EXPECT_EQ(count_letters("\xf0\x9f\x9a\xb2"), 1u);  // U+1F6B2, four bytes
}

TEST(Utf8, WhatCannotBeShownIsReplaced) {
  EXPECT_EQ(printable("a\tb\nc", 20), "a\\x09b\\x0ac");
  EXPECT_EQ(printable("a\xff", 10), "a\\xff");
  EXPECT_EQ(printable("{x}^2 'µ'", 10), "{x}^2 'µ'");
}

TEST(Utf8, WhatIsTooLongEndsInAnEllipsisAndNoLetterIsCut) {
  EXPECT_EQ(printable("µµµ", 3), "µµµ");
  EXPECT_EQ(printable("µµµµ", 3), "µµµ…");
}

// Letters of one, two, three and four bytes, by the encoding's table (Unicode 15, table 3-6).
const std::string kLetters = "a\xC3\xA9\xE2\x82\xAC\xF0\x9F\x9A\xB2z";

TEST(Utf8, CharactersAreCountedNotBytes) {
  std::size_t at = 0;
  std::string starts;
  while (at < kLetters.size()) {
    starts += std::to_string(at) + " ";
    at = next_character(kLetters, at);
  }
  EXPECT_EQ(starts, "0 1 3 6 10 ");
}

TEST(Utf8, AShortenedTextIsWholeCharacters) {
  EXPECT_EQ(shortened(kLetters, kLetters.size()), kLetters);
  for (std::size_t most = 0; most < kLetters.size(); ++most) {
    std::string text = shortened(kLetters, most);
    EXPECT_TRUE(text.ends_with("..."));
    text.resize(text.size() - 3);
    EXPECT_LE(text.size(), most);
    EXPECT_NO_THROW(demand_utf8(text, "x")) << most;
  }
  EXPECT_EQ(shortened(kLetters, 2), "a...");
  EXPECT_EQ(shortened(kLetters, 3), "a\xC3\xA9...");
}

}  // namespace
}  // namespace plunge::utf8_test
