#include "sim/disk/check_sum.hpp"

#include <gtest/gtest.h>

#include <string>

namespace plunge::check_sum_test {
namespace {

// Test vectors of the draft, appendix C.
TEST(CheckSum, IsThatOfThePublishedVectors) {
  EXPECT_EQ(check_sum(""), 0xcbf29ce484222325u);
  EXPECT_EQ(check_sum("a"), 0xaf63dc4c8601ec8cu);
  EXPECT_EQ(check_sum("foobar"), 0x85944171f73967e8u);
}

TEST(CheckSum, OfPiecesIsThatOfTheWhole) {
  EXPECT_EQ(check_sum("bar", check_sum("foo")), check_sum("foobar"));
}

TEST(CheckSum, EveryChangedByteChangesIt) {
  std::string text = "a fork, a rider, a drop";
  const std::uint64_t before = check_sum(text);
  for (char& byte : text) {
    for (int bit = 0; bit < 8; ++bit) {
      byte = static_cast<char>(byte ^ (1 << bit));
      EXPECT_NE(check_sum(text), before);
      byte = static_cast<char>(byte ^ (1 << bit));
    }
  }
}

}  // namespace
}  // namespace plunge::check_sum_test
