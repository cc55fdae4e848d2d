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

}  // namespace
}  // namespace plunge::words_test
