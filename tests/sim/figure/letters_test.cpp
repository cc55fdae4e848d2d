#include "sim/figure/letters.hpp"

#include <gtest/gtest.h>

namespace plunge::letters_test {
namespace {

TEST(Letters, DigitsAreOfOneWidthSoThatColumnsStand) {
  for (const char digit : std::string("1234567890")) {
    EXPECT_EQ(text_width(std::string(1, digit), 10.0), text_width("0", 10.0)) << digit;
    EXPECT_EQ(text_width(std::string(1, digit), 10.0, true), text_width("0", 10.0, true)) << digit;
  }
  EXPECT_LT(text_width("i", 10.0), text_width("W", 10.0));
}

// By hand: three digits of 0.572 at 10 pixels.
TEST(Letters, AWidthGrowsWithTheSizeAndTheLetters) {
  EXPECT_NEAR(text_width("123", 10.0), 17.16, 1e-9);
  EXPECT_NEAR(text_width("123", 20.0), 34.32, 1e-9);
  EXPECT_EQ(text_width("", 10.0), 0.0);
}

TEST(Letters, WhatIsTooWideEndsInAnEllipsisBetweenCharacters) {
  EXPECT_EQ(fitted("travel", 1000.0, 12.0), "travel");
  const std::string cut = fitted("Röhre aus Stahl", 50.0, 12.0);
  EXPECT_TRUE(cut.ends_with("…")) << cut;
  EXPECT_LE(text_width(cut, 12.0), 50.0);
  EXPECT_EQ(fitted("ÄÄÄÄ", 22.0, 12.0), "Ä…");  // by hand: 10.8 each, the ellipsis as wide
  EXPECT_EQ(fitted("anything", 0.0, 12.0), "…");
}

}  // namespace
}  // namespace plunge::letters_test
