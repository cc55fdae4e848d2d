#include "models/setup/root.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace plunge::root_test {
namespace {

template <class F>
double root_of(F&& f, double a, double b, double width = 1e-14) {
  return find_root(f, a, b, f(a), f(b), width);
}

TEST(Root, KnownRootsAreFound) {
  // Closed forms: the root of x^2 - 2, and the Dottie number, 0.739085133215161 (OEIS A003957).
  EXPECT_NEAR(root_of([](double x) { return x * x - 2.0; }, 0.0, 2.0), std::sqrt(2.0), 1e-14);
  EXPECT_NEAR(root_of([](double x) { return std::cos(x) - x; }, 0.0, 1.0), 0.739085133215161,
              1e-14);
}

TEST(Root, AFallingFunctionIsAsGoodAsARisingOne) {
  EXPECT_NEAR(root_of([](double x) { return 1.0 - x * x * x; }, 0.0, 3.0), 1.0, 1e-14);
}

TEST(Root, AnEndThatIsARootIsReturned) {
  EXPECT_EQ(root_of([](double x) { return x; }, 0.0, 1.0), 0.0);
  EXPECT_EQ(root_of([](double x) { return x - 1.0; }, 0.0, 1.0), 1.0);
}

TEST(Root, AFlatRootAndAKinkAreHeldToTheBracket) {
  EXPECT_NEAR(root_of([](double x) { return std::pow(x - 0.3, 3.0); }, 0.0, 1.0), 0.3, 1e-5);
  const auto kink = [](double x) { return x < 0.7 ? 1e-3 * (x - 0.7) : 1e3 * (x - 0.7); };
  EXPECT_NEAR(root_of(kink, 0.0, 1.0), 0.7, 1e-11);
}

TEST(Root, TheFarSideOfTheRootIsReturned) {
  // So that what happens at the root has happened: a jump, and a root whose neighbours are apart.
  const auto jump = [](double x) { return x < 0.25 ? -1.0 : 3.0; };
  const double at = root_of(jump, 0.0, 1.0, 1e-12);
  EXPECT_GT(jump(at), 0.0);
  EXPECT_LE(at - 0.25, 1e-12);
  const auto falling = [](double x) { return 2.0 - std::exp(x); };
  const double late = root_of(falling, 0.0, 2.0, 1e-6);
  EXPECT_LE(falling(late), 0.0);
  EXPECT_NEAR(late, std::log(2.0), 1e-6);
}

TEST(Root, SmoothFunctionsNeedFewEvaluations) {
  // Alefeld, Potra & Shi 1995: a dozen at most where bisection takes fifty.
  int evaluations = 0;
  root_of(
      [&](double x) {
        ++evaluations;
        return std::exp(x) - 5.0;
      },
      0.0, 4.0);
  EXPECT_LE(evaluations, 16);
}

}  // namespace
}  // namespace plunge::root_test
