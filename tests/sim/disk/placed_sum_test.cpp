#include "sim/disk/placed_sum.hpp"

#include <gtest/gtest.h>

#include <cstddef>
#include <string>
#include <vector>

#include "sim/numerics/random.hpp"

namespace plunge::placed_sum_test {
namespace {

std::string some_bytes(std::size_t count, std::uint64_t seed = 1) {
  SplitMix64 generator(seed);
  std::string bytes(count, ' ');
  for (char& byte : bytes) byte = static_cast<char>(generator());
  return bytes;
}

std::uint64_t sum_of(const std::string& bytes, std::uint64_t offset = 0) {
  PlacedSum sum;
  sum.add(offset, bytes);
  return sum.value();
}

// The header's formula, word by word with remainders as the language has them.
TEST(PlacedSum, IsThePolynomialOfItsHeader) {
  __extension__ using Wide = unsigned __int128;
  constexpr std::uint64_t kPrime = 2305843009213693951ULL;
  // r is what the word 1 at place 1 adds.
  const std::uint64_t base = sum_of(std::string("\0\0\0\0\1", 5));
  ASSERT_GT(base, 1U);
  const std::string bytes = some_bytes(4 * 37 + 3);
  Wide sum = 0;
  Wide power = 1;
  for (std::size_t at = 0; at < bytes.size(); at += 4) {
    std::uint64_t word = 0;
    for (std::size_t i = 0; i < 4 && at + i < bytes.size(); ++i) {
      word |= std::uint64_t{static_cast<unsigned char>(bytes[at + i])} << (8 * i);
    }
    sum = (sum + word * power) % kPrime;
    power = power * base % kPrime;
  }
  EXPECT_EQ(sum_of(bytes), static_cast<std::uint64_t>(sum));
}

TEST(PlacedSum, RunsAddUpInAnyOrderWhereverTheyAreCut) {
  const std::string bytes = some_bytes(1000);
  const std::uint64_t whole = sum_of(bytes);
  SplitMix64 generator(2);
  for (int round = 0; round < 200; ++round) {
    std::vector<std::size_t> cuts{0};
    while (cuts.back() < bytes.size()) {
      cuts.push_back(std::min(bytes.size(), cuts.back() + 1 + below(generator, 60)));
    }
    PlacedSum forwards;
    PlacedSum backwards;
    for (std::size_t i = 0; i + 1 < cuts.size(); ++i) {
      forwards.add(cuts[i], std::string_view(bytes).substr(cuts[i], cuts[i + 1] - cuts[i]));
      const std::size_t k = cuts.size() - 2 - i;
      PlacedSum part;
      part.add(cuts[k], std::string_view(bytes).substr(cuts[k], cuts[k + 1] - cuts[k]));
      backwards.add(part);
    }
    ASSERT_EQ(forwards.value(), whole);
    ASSERT_EQ(backwards.value(), whole);
  }
}

TEST(PlacedSum, EveryChangedByteAndEveryExchangeChangesIt) {
  const std::string bytes = some_bytes(257);
  const std::uint64_t whole = sum_of(bytes);
  for (std::size_t at = 0; at < bytes.size(); ++at) {
    for (int bit = 0; bit < 8; ++bit) {
      std::string other = bytes;
      other[at] = static_cast<char>(other[at] ^ (1 << bit));
      ASSERT_NE(sum_of(other), whole) << at << " " << bit;
    }
  }
  const std::string exchanged = bytes.substr(128, 128) + bytes.substr(0, 128) + bytes.substr(256);
  EXPECT_NE(sum_of(exchanged), whole);
  EXPECT_NE(sum_of(bytes, 4), whole);
}

TEST(PlacedSum, ZerosAddNothing) {
  EXPECT_EQ(sum_of(std::string(100, '\0'), 12345), 0U);
  EXPECT_EQ(sum_of("", 7), 0U);
}

TEST(PlacedSum, StandsFarIntoALargeFile) {
  constexpr std::uint64_t kFar = std::uint64_t{1} << 50;
  EXPECT_NE(sum_of("a", kFar), sum_of("a", kFar + 4));
  EXPECT_LT(sum_of(some_bytes(64), kFar), (std::uint64_t{1} << 61) - 1);
}

}  // namespace
}  // namespace plunge::placed_sum_test
