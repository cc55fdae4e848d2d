#include "sim/disk/placed_sum.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cstddef>
#include <cstring>

namespace plunge {
namespace {

static_assert(std::endian::native == std::endian::little);

__extension__ using Wide = unsigned __int128;

constexpr std::uint64_t kPrime = (std::uint64_t{1} << 61) - 1;
constexpr std::uint64_t kBase = 0x0fe1f3b5a7c9d2e5;  // r: any large number below p
constexpr std::size_t kWord = 4;                     // [byte]
constexpr std::size_t kChains = 4;                   // sums that do not wait for one another

// Below 2^61 + 8, of any number.
constexpr std::uint64_t folded(std::uint64_t x) { return (x & kPrime) + (x >> 61); }

constexpr std::uint64_t reduced(std::uint64_t x) {
  x = folded(x);
  return x >= kPrime ? x - kPrime : x;
}

// a b + c, below 2^61 + 8; a and b below 2^62, one of them below 2^61.
constexpr std::uint64_t times_plus(std::uint64_t a, std::uint64_t b, std::uint64_t c) {
  const Wide product = Wide{a} * b;
  return folded((static_cast<std::uint64_t>(product) & kPrime) +
                static_cast<std::uint64_t>(product >> 61) + c);
}

constexpr std::uint64_t power(std::uint64_t exponent) {
  std::uint64_t result = 1;
  for (std::uint64_t square = kBase; exponent > 0; exponent >>= 1) {
    if ((exponent & 1) != 0) result = reduced(times_plus(result, square, 0));
    square = reduced(times_plus(square, square, 0));
  }
  return result;
}

// A few bytes as the part of a word that they are from its byte `at` on.
std::uint64_t part_of_word(std::string_view bytes, std::size_t at) {
  std::uint64_t word = 0;
  for (std::size_t i = 0; i < bytes.size(); ++i) {
    word |= std::uint64_t{static_cast<unsigned char>(bytes[i])} << (8 * (at + i));
  }
  return word;
}

// sum of w_k r^k over `words` whole words.
std::uint64_t sum_of(const char* bytes, std::size_t words) {
  constexpr std::uint64_t kStride = power(kChains);
  std::array<std::uint64_t, kChains> chains{};
  const auto word = [&](std::size_t k) {
    std::uint32_t value = 0;
    std::memcpy(&value, bytes + k * kWord, kWord);
    return value;
  };
  const std::size_t whole = words / kChains * kChains;
  for (std::size_t k = words; k-- > whole;) chains[k - whole] = word(k);
  for (std::size_t k = whole; k > 0; k -= kChains) {
    for (std::size_t c = 0; c < kChains; ++c) {
      chains[c] = times_plus(chains[c], kStride, word(k - kChains + c));
    }
  }
  std::uint64_t sum = 0;
  for (std::size_t c = kChains; c-- > 0;) sum = times_plus(sum, kBase, chains[c]);
  return reduced(sum);
}

}  // namespace

void PlacedSum::add(std::uint64_t offset, std::string_view bytes) {
  const auto put = [&](std::uint64_t word, std::uint64_t sum) {
    sum_ = reduced(times_plus(reduced(sum), power(word), sum_));
  };
  std::uint64_t word = offset / kWord;
  if (const auto at = static_cast<std::size_t>(offset % kWord); at > 0) {
    const std::size_t first = std::min(kWord - at, bytes.size());
    put(word++, part_of_word(bytes.substr(0, first), at));
    bytes.remove_prefix(first);
  }
  const std::size_t words = bytes.size() / kWord;
  if (words > 0) put(word, sum_of(bytes.data(), words));
  if (const std::string_view rest = bytes.substr(words * kWord); !rest.empty()) {
    put(word + words, part_of_word(rest, 0));
  }
}

void PlacedSum::add(const PlacedSum& other) { sum_ = reduced(sum_ + other.sum_); }

}  // namespace plunge
