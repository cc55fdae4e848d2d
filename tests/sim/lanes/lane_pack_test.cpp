#include "sim/lanes/lane_pack.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstddef>
#include <type_traits>

#include "models/laws/friction.hpp"
#include "models/laws/gas_chamber.hpp"
#include "models/laws/stops.hpp"
#include "sim/lanes/lane_single.hpp"

namespace plunge::lane_pack_test {
namespace {

// The registers that every machine has, one and two side by side, and none.
template <class S>
class LanePack : public testing::Test {};
#if defined(__x86_64__)
using Registers = xsimd::sse2;
#else
using Registers = xsimd::default_arch;
#endif
using Packs =
    testing::Types<Pack<xsimd::batch<float, Registers>, 1>, Pack<xsimd::batch<float, Registers>, 2>,
                   Pack<xsimd::batch<double, Registers>, 1>, Single>;
TYPED_TEST_SUITE(LanePack, Packs);

// Lane l holds first + l step.
template <class S>
S ramp(double first, double step) {
  typename S::Real lanes[S::kSize];
  for (std::size_t l = 0; l < S::kSize; ++l) {
    lanes[l] = static_cast<typename S::Real>(first + step * static_cast<double>(l));
  }
  return S::load(lanes);
}

template <class S>
double lane(const S& pack, std::size_t l) {
  typename S::Real lanes[S::kSize];
  pack.store(lanes);
  return static_cast<double>(lanes[l]);
}

constexpr double kFloat = 3e-6;  // relative: a few roundings of a float

TYPED_TEST(LanePack, ANumberStandsInEveryLane) {
  const TypeParam sum = 2.0 * ramp<TypeParam>(1.0, 0.5) + 1;
  for (std::size_t l = 0; l < TypeParam::kSize; ++l) {
    EXPECT_EQ(lane(sum, l), 3.0 + static_cast<double>(l));
  }
  EXPECT_EQ(lane(TypeParam{}, TypeParam::kSize - 1), 0.0);
}

TYPED_TEST(LanePack, FunctionsAndMasksWorkLaneByLane) {
  using std::exp;
  using std::sqrt;
  const TypeParam x = ramp<TypeParam>(-1.0, 0.75);
  const TypeParam chosen = select(x > 0.0 && !(x > 1.0), exp(x), sqrt(abs(x)));
  for (std::size_t l = 0; l < TypeParam::kSize; ++l) {
    const double at = -1.0 + 0.75 * static_cast<double>(l);
    const double expected = at > 0.0 && at <= 1.0 ? std::exp(at) : std::sqrt(std::abs(at));
    EXPECT_NEAR(lane(chosen, l), expected, kFloat * std::max(expected, 1.0)) << l;
    EXPECT_EQ(lane(max(x, TypeParam(0.25)), l), std::max(at, 0.25));
    EXPECT_EQ(lane(min(x, TypeParam(0.25)), l), std::min(at, 0.25));
  }
  EXPECT_TRUE(any(x < -0.5));
  EXPECT_FALSE(any(x < -1.5));
  EXPECT_TRUE(any(x < -1.5 || x >= -1.0));
}

TYPED_TEST(LanePack, AMaskAsBitsHasTheFirstLaneLowest) {
  if constexpr (std::is_same_v<typename TypeParam::Real, float>) {
    const TypeParam x = ramp<TypeParam>(0.0, 1.0);
    EXPECT_EQ(lane_bits(x < 0.5), 1u);
    EXPECT_EQ(lane_bits(x > 0.5), (1u << TypeParam::kSize) - 2u);
  }
}

TYPED_TEST(LanePack, ALawInALaneIsTheLawAlone) {
  // Three laws that use all of it, against themselves in double.
  const auto chamber = [](auto number) {
    using S = decltype(number);
    return GasChamber<S>{S(150e-6), S(-7.4e-4), S(2.0), S(293.0)};
  };
  const auto friction = [](auto number) {
    using S = decltype(number);
    return Friction<S>{S(12.0), S(0.01), S(0.12), S(0.14), S(1.3),
                       S(5e-3), S(3e5),  S(10.0), S(0.0)};
  };
  const TypeParam x = ramp<TypeParam>(0.01, 0.012);
  const TypeParam v = ramp<TypeParam>(0.002, 0.05);
  const auto pressure = chamber(TypeParam{}).pressure(TypeParam(8e-4), TypeParam(300.0), x);
  const auto level = friction(TypeParam{}).level(TypeParam(20.0), v);
  StrokeStart<TypeParam> start;
  start.speed = v - 0.001;
  start.bristle = TypeParam(-3e-5);
  start.coulomb = TypeParam(20.0);
  start.slip_level = friction(TypeParam{}).level(TypeParam(20.0), v - 0.001);
  const TypeParam slid =
      friction(TypeParam{})
          .slid_evenly(start, TypeParam(4e-5), v, TypeParam(1.0), TypeParam(21.0), level);
  for (std::size_t l = 0; l < TypeParam::kSize; ++l) {
    const double alone_x = 0.01 + 0.012 * static_cast<double>(l);
    const double alone_v = 0.002 + 0.05 * static_cast<double>(l);
    const double alone = chamber(0.0).pressure(8e-4, 300.0, alone_x);
    EXPECT_NEAR(lane(pressure, l), alone, kFloat * alone);
    const double alone_level = friction(0.0).level(20.0, alone_v);
    EXPECT_NEAR(lane(level, l), alone_level, kFloat * alone_level);
    StrokeStart<double> one;
    one.speed = alone_v - 0.001;
    one.bristle = -3e-5;
    one.coulomb = 20.0;
    one.slip_level = friction(0.0).level(20.0, alone_v - 0.001);
    const double alone_slid = friction(0.0).slid_evenly(one, 4e-5, alone_v, 1.0, 21.0, alone_level);
    EXPECT_NEAR(lane(slid, l), alone_slid, 1e-4 * std::abs(alone_slid) + 1e-10);
  }
}

TYPED_TEST(LanePack, NoLaneDependsOnItsNeighbours) {
  // Laws leave out what no lane needs: a lane beside one that needs it must not differ by a bit.
  const auto force = [](const TypeParam& x, const TypeParam& v) {
    const Bumper<TypeParam> bumper{TypeParam(0.1), TypeParam(3e4), TypeParam(1e9), TypeParam(0.3),
                                   TypeParam(0.05)};
    const Friction<TypeParam> friction{TypeParam(12.0), TypeParam(0.0),  TypeParam(0.12),
                                       TypeParam(0.14), TypeParam(1.3),  TypeParam(5e-3),
                                       TypeParam(3e5),  TypeParam(10.0), TypeParam(0.0)};
    return bumper.force(x, v, bumper.depth(x) > 0.0) + friction.level(TypeParam(12.0), v);
  };
  typename TypeParam::Real x[TypeParam::kSize];
  typename TypeParam::Real v[TypeParam::kSize];
  for (std::size_t l = 0; l < TypeParam::kSize; ++l) {
    x[l] = static_cast<typename TypeParam::Real>(l == 0 ? 0.05 : 0.11);
    v[l] = static_cast<typename TypeParam::Real>(l == 0 ? 0.9 : 0.001);
  }
  const double among = lane(force(TypeParam::load(x), TypeParam::load(v)), 0);
  const double alone =
      lane(force(TypeParam(static_cast<double>(x[0])), TypeParam(static_cast<double>(v[0]))), 0);
  EXPECT_EQ(among, alone);
}

}  // namespace
}  // namespace plunge::lane_pack_test
