#include "sim/figure/palette.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace plunge::palette_test {
namespace {

// Relative luminance and contrast: WCAG 2.1 (W3C 2018), definitions.
double luminance(const Colour& named) {
  const Rgb colour = rgb_of(named);
  const auto linear = [](int byte) {
    const double c = byte / 255.0;
    return c <= 0.03928 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
  };
  return 0.2126 * linear(colour[0]) + 0.7152 * linear(colour[1]) + 0.0722 * linear(colour[2]);
}
double contrast(const Colour& a, const Colour& b) {
  const double one = luminance(a) + 0.05;
  const double other = luminance(b) + 0.05;
  return std::max(one, other) / std::min(one, other);
}

Paint shade(double share) { return {-1, share}; }

// Lightness alone, which every eye sees, tells neighbours apart; each stands out from the paper.
TEST(Palette, ShadesOfLinesDarkenStepByStep) {
  for (const int count : {2, 3, 5, 7}) {
    for (int i = 0; i < count; ++i) {
      const Colour colour = colour_of(shade(static_cast<double>(i) / (count - 1)));
      EXPECT_GE(contrast(colour, kPaper), 2.5);
      if (i == 0) continue;
      const Colour before = colour_of(shade(static_cast<double>(i - 1) / (count - 1)));
      EXPECT_GT(contrast(colour, before), 1.15) << i << " of " << count;
      EXPECT_LT(luminance(colour), luminance(before));
    }
  }
}

TEST(Palette, ColoursStandOutAndComeAgainMarkedAsSuch) {
  for (int i = 0; i < 7; ++i) {
    EXPECT_GE(contrast(colour_of({i}), kPaper), 2.5) << i;
    EXPECT_FALSE(comes_again({i}));
    EXPECT_EQ(colour_of({i + 7}), colour_of({i}));
    EXPECT_TRUE(comes_again({i + 7}));
  }
}

// 4.5 : 1 is what WCAG 2.1 asks of text.
TEST(Palette, WordsAreReadable) {
  for (const Colour& colour : {kInk, kQuiet, kWarning}) EXPECT_GE(contrast(colour, kPaper), 4.5);
  for (double share = 0.0; share <= 1.0; share += 0.05) {
    EXPECT_GE(contrast(letters_on_ramp(share), ramp(share)), 4.5) << share;
  }
}

}  // namespace
}  // namespace plunge::palette_test
