#include "models/laws/numeric.hpp"

#include <gtest/gtest.h>

namespace plunge::numeric_test {
namespace {

TEST(Numeric, SelectTakesOneOfTwo) {
  EXPECT_EQ(select(true, 1.0, 2.0), 1.0);
  EXPECT_EQ(select(false, 1.0, 2.0), 2.0);
  EXPECT_TRUE(any(true));
  EXPECT_FALSE(any(false));
}

TEST(Numeric, PositivePartAndSquareAreWhatTheySay) {
  EXPECT_EQ(positive_part(-3.0), 0.0);
  EXPECT_EQ(positive_part(3.0), 3.0);
  EXPECT_EQ(square(-3.0), 9.0);
}

}  // namespace
}  // namespace plunge::numeric_test
