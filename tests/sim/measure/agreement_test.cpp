#include "sim/measure/agreement.hpp"

#include <gtest/gtest.h>

#include <limits>

namespace plunge::agreement_test {
namespace {

constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();

// By hand, from the definitions.
TEST(Agreement, AllowsWhatItsKindSays) {
  const Agreement exact = Agreement::exact();
  EXPECT_TRUE(exact.holds(3.0, 3.0));
  EXPECT_FALSE(exact.holds(3.0, 4.0));
  EXPECT_FALSE(exact.holds(0.1 + 0.2, 0.3));
  const Agreement relative = Agreement::relative(0.01, 50.0);
  EXPECT_TRUE(relative.holds(1009.0, 1000.0));
  EXPECT_FALSE(relative.holds(1011.0, 1000.0));
  EXPECT_TRUE(relative.holds(-1009.0, -1000.0));
  EXPECT_TRUE(relative.holds(0.4, 0.0));  // as good as one of 50
  EXPECT_FALSE(relative.holds(0.6, 0.0));
  EXPECT_NEAR(relative.strain(1005.0, 1000.0), 0.5, 1e-12);
  const Agreement absolute = Agreement::absolute(1e-4);
  EXPECT_TRUE(absolute.holds(0.10009, 0.1));
  EXPECT_FALSE(absolute.holds(0.10011, 0.1));
}

TEST(Agreement, ANumberThatOnlyOneHasAgreesWithNothing) {
  for (const Agreement& agreement :
       {Agreement::exact(), Agreement::relative(0.5, 1.0), Agreement::absolute(1.0)}) {
    EXPECT_TRUE(agreement.holds(kNaN, kNaN));
    EXPECT_FALSE(agreement.holds(kNaN, 1.0));
    EXPECT_FALSE(agreement.holds(1.0, kNaN));
  }
}

}  // namespace
}  // namespace plunge::agreement_test
