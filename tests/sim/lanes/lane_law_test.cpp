#include "sim/lanes/lane_law.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "sim/lanes/lane_pack.hpp"
#include "sim/lanes/lane_single.hpp"
#include "tests/lane_rides.hpp"

namespace plunge::lane_law_test {
namespace {

template <class S>
class LaneLawTable : public testing::Test {};
using Scalars = testing::Types<Single, Pack<xsimd::batch<float, xsimd::default_arch>, 2>>;
TYPED_TEST_SUITE(LaneLawTable, Scalars);

TYPED_TEST(LaneLawTable, EachLaneHasItsOwnLaw) {
  // To and fro through the pieces, in both directions, lanes with two different forks' laws: each
  // as its law alone has it (float rounding), whatever piece the lane was on before.
  using S = TypeParam;
  const Kept a(shipped("rock-garden"));
  plunge::Setup other = shipped("rock-garden");
  other.fork.oil.temperature += 30.0;
  const Kept b(other);
  ASSERT_TRUE(a.tabled && b.tabled);
  const Kept* const kept[] = {&a, &b};
  LawTable<S> table;
  EXPECT_FALSE(static_cast<bool>(table));
  for (std::size_t l = 0; l < S::kSize; ++l) {
    const Kept& one = *kept[l % 2];
    table.set(l, view(one.compression), view(one.rebound));
  }
  EXPECT_TRUE(static_cast<bool>(table));
  for (int k = 0; k < 400; ++k) {
    float speeds[S::kSize];
    float ways[S::kSize];
    for (std::size_t l = 0; l < S::kSize; ++l) {
      const double turn = 0.37 * k + 1.3 * static_cast<double>(l);
      speeds[l] = static_cast<float>(std::sin(turn) * 4.0 * std::abs(std::sin(0.11 * k)));
      ways[l] = speeds[l] > 0.0F ? 1.0F : -1.0F;
    }
    float forces[S::kSize];
    table.force_either_way(S::load(speeds), S::load(ways) > S(0.0)).store(forces);
    for (std::size_t l = 0; l < S::kSize; ++l) {
      const Damper<double>& damper = kept[l % 2]->prepared.rider.damper;
      const auto v = static_cast<double>(speeds[l]);
      const double due = damper.force(v, v > 0.0);
      EXPECT_NEAR(static_cast<double>(forces[l]), due, 1e-5 * std::abs(due) + 1e-5) << v;
    }
  }
  // The two laws differ, by far more than rounding does.
  EXPECT_GT(a.prepared.rider.damper.force(0.1, true),
            1.005 * b.prepared.rider.damper.force(0.1, true));
}

}  // namespace
}  // namespace plunge::lane_law_test
