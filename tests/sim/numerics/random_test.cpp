#include "sim/numerics/random.hpp"

#include <gtest/gtest.h>

#include <vector>

namespace plunge::random_test {
namespace {

// First three outputs of the reference implementation in C (Vigna 2015, splitmix64.c) from the
// seed 1234567.
TEST(Random, SplitMixGivesTheReferenceNumbers) {
  SplitMix64 generator(1234567);
  EXPECT_EQ(generator(), 6457827717110365317ULL);
  EXPECT_EQ(generator(), 3203168211198807973ULL);
  EXPECT_EQ(generator(), 9817491932198370423ULL);
}

TEST(Random, UnitsReachTheirEndsAsTheHeaderSays) {
  constexpr std::uint64_t kAllBits = ~std::uint64_t{0};
  EXPECT_EQ(unit_from(0), 0.0);
  EXPECT_EQ(unit_from(kAllBits), 1.0 - 0x1p-53);
  EXPECT_EQ(open_unit_from(0), 0x1p-54);
  EXPECT_LT(open_unit_from(0), open_unit_from(std::uint64_t{1} << 11));
  EXPECT_GT(open_unit_from(kAllBits >> 1), unit_from(kAllBits >> 1));
}

// By hand: 60 000 draws of 6 have a mean count of 10 000 and a standard deviation of 91; five of
// them are 456.
TEST(Random, WholeNumbersBelowAnEndAreEquallyLikely) {
  std::mt19937_64 twister(1);
  SplitMix64 mixer(1);
  std::vector<int> by_twister(6), by_mixer(6);
  for (int i = 0; i < 60000; ++i) {
    ++by_twister.at(below(twister, 6));
    ++by_mixer.at(below(mixer, 6));
  }
  for (std::size_t k = 0; k < 6; ++k) {
    EXPECT_NEAR(by_twister[k], 10000, 456);
    EXPECT_NEAR(by_mixer[k], 10000, 456);
  }
}

}  // namespace
}  // namespace plunge::random_test
