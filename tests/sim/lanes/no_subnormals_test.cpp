#include "sim/lanes/no_subnormals.hpp"

#include <gtest/gtest.h>

#include <limits>

namespace plunge::no_subnormals_test {
namespace {

float half_of(float x) {
  const volatile float half = 0.5F;  // so that it is worked out where it is asked for
  return x * half;
}

TEST(NoSubnormals, AreZeroWhileItLivesAndNumbersAgainAfterwards) {
  const float least = std::numeric_limits<float>::min();
  EXPECT_GT(half_of(least), 0.0F);
  {
    [[maybe_unused]] const NoSubnormals fast;
#if defined(__SSE2__)
    EXPECT_EQ(half_of(least), 0.0F);
#endif
    EXPECT_EQ(half_of(4.0F * least), 2.0F * least);
  }
  EXPECT_GT(half_of(least), 0.0F);
}

}  // namespace
}  // namespace plunge::no_subnormals_test
