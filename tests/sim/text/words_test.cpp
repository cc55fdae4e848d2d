#include "sim/text/words.hpp"

#include <gtest/gtest.h>

#include <string>
#include <vector>

namespace plunge::words_test {
namespace {

TEST(Words, BlanksAtTheEndsAreLeftOut) {
  EXPECT_EQ(trimmed(" \t a b\r\n"), "a b");
  EXPECT_EQ(trimmed(""), "");
  EXPECT_EQ(trimmed(" \n"), "");
}

TEST(Words, ListsAreJoinedByCommas) {
  const std::vector<std::string> words = {"air", "coil"};
  EXPECT_EQ(joined(words), "air, coil");
  EXPECT_EQ(quoted_list(words), "\"air\", \"coil\"");
  EXPECT_EQ(joined(std::vector<std::string>()), "");
}

TEST(Words, MarkupHasNoLettersThatItMeansSomethingBy) {
  EXPECT_EQ(markup_of("a < b & \"c\" > d"), "a &lt; b &amp; \"c\" &gt; d");
  EXPECT_EQ(markup_of("a < b & \"c\"", true), "a &lt; b &amp; &quot;c&quot;");
  EXPECT_EQ(markup_of("é…"), "é…");
}

}  // namespace
}  // namespace plunge::words_test
