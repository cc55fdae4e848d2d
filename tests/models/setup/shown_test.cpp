#include "models/setup/shown.hpp"

#include <gtest/gtest.h>

namespace plunge::shown_test {
namespace {

TEST(Shown, PlainTextInAnyLanguageIsAsItWas) {
  for (const char* text : {"", "teasel 150", "Röhre µ …", "山", "\xf0\x9f\x9a\xb2", "a\\b'\"`$"}) {
    EXPECT_EQ(shown(text), text);
    EXPECT_EQ(shown_lines(text), text);
    EXPECT_EQ(shown_json(text), text);
  }
}

// The bytes of each character: Unicode 15, table 3-6; control codes: ISO/IEC 6429.
TEST(Shown, WhatWouldWorkOnATerminalIsWrittenOut) {
  EXPECT_EQ(shown("a\x1b[2Jb\x7f"), "a\\x1b[2Jb\\x7f");
  EXPECT_EQ(shown("a\nb\tc\rd"), "a\\x0ab\\x09c\\x0dd");
  EXPECT_EQ(shown(std::string_view("a\0b", 3)), "a\\x00b");
  EXPECT_EQ(shown("\xc2\x9b"
                  "1m"),
            "\\u009b1m");  // CSI in one character
  EXPECT_EQ(shown("ab\xe2\x80\xae"
                  "5h"),
            "ab\\u202e5h");  // right to left from here
}

// Unicode 15, table 3-7: no lone, overlong, surrogate or cut sequences.
TEST(Shown, BytesThatAreNoUtf8AreWrittenOut) {
  EXPECT_EQ(shown("caf\xe9.h5"), "caf\\xe9.h5");
  EXPECT_EQ(shown("\xc0\xaf"), "\\xc0\\xaf");
  EXPECT_EQ(shown("\xed\xa0\x80"), "\\xed\\xa0\\x80");
  EXPECT_EQ(shown("\xe2\x80"), "\\xe2\\x80");
}

TEST(Shown, ShowingTwiceIsShowingOnce) {
  std::string every;
  for (int byte = 0; byte < 256; ++byte) every += static_cast<char>(byte);
  EXPECT_EQ(shown(shown(every)), shown(every));
  EXPECT_NE(shown(every), every);
}

TEST(Shown, LinesStayLines) { EXPECT_EQ(shown_lines("a\nb\x1b\n"), "a\nb\\x1b\n"); }

// RFC 8259, section 7: \u and four hexadecimal digits stand for a character.
TEST(Shown, JsonKeepsItsCharactersAsEscapes) {
  EXPECT_EQ(shown_json("{\"a\x7f\": \"\xc2\x9b\"}\n"), "{\"a\\u007f\": \"\\u009b\"}\n");
}

}  // namespace
}  // namespace plunge::shown_test
