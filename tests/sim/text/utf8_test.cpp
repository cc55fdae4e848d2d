#include "sim/text/utf8.hpp"

#include <gtest/gtest.h>

namespace plunge {
namespace {

TEST(Utf8, ALetterIsACodePoint) {
  EXPECT_EQ(count_letters(""), 0u);
  EXPECT_EQ(count_letters("fork"), 4u);
  EXPECT_EQ(count_letters("°C µm …"), 7u);
  EXPECT_EQ(count_letters("\xf0\x9f\x9a\xb2"), 1u);  // U+1F6B2, four bytes
}

TEST(Utf8, WhatCannotBeShownIsReplaced) {
  EXPECT_EQ(printable("a\tb\nc", 10), "a b c");
  EXPECT_EQ(printable("a\xff", 10), "a\xef\xbf\xbd");
  EXPECT_EQ(printable("\xc0\xaf", 10), "\xef\xbf\xbd\xef\xbf\xbd");  // an overlong slash
  EXPECT_EQ(printable("\xe2\x80", 10), "\xef\xbf\xbd\xef\xbf\xbd");  // cut off
  EXPECT_EQ(printable("{x}^2 'µ'", 10), "{x}^2 'µ'");
}

TEST(Utf8, WhatIsTooLongEndsInAnEllipsisAndNoLetterIsCut) {
  EXPECT_EQ(printable("µµµ", 3), "µµµ");
  EXPECT_EQ(printable("µµµµ", 3), "µµµ…");
}

}  // namespace
}  // namespace plunge
