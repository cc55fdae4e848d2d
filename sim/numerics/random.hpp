// Random numbers that are the same on every machine, compiler and standard library.
//
// The C++ standard fixes std::mt19937_64 bit for bit, but not its distributions; those are here.
// SplitMix64 is smaller and needs no warming up: for resampling, where its 2^64 period is plenty.
//   unit        u in [0, 1): the top 53 bits times 2^-53
//   open unit   u in (0, 1): the middle of the same 2^53 classes
// Sources: Matsumoto & Nishimura 1998; Steele, Lea & Flood 2014 (splitmix64).
#pragma once

#include <cstddef>
#include <cstdint>
#include <random>

namespace plunge {

class SplitMix64 {
 public:
  explicit SplitMix64(std::uint64_t seed) : state_(seed) {}

  std::uint64_t operator()() {
    std::uint64_t z = state_ += 0x9E3779B97F4A7C15ULL;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31);
  }

 private:
  std::uint64_t state_;
};

// From 64 random bits.
inline double unit_from(std::uint64_t bits) { return static_cast<double>(bits >> 11) * 0x1p-53; }
inline double open_unit_from(std::uint64_t bits) {
  return (static_cast<double>(bits >> 11) + 0.5) * 0x1p-53;
}

// A whole number below `end`, each exactly as likely: what would favour the low ones is drawn
// again.
inline std::size_t below(std::mt19937_64& generator, std::size_t end) {
  const std::uint64_t span = end;
  const std::uint64_t largest = std::mt19937_64::max() - std::mt19937_64::max() % span;
  std::uint64_t drawn = generator();
  while (drawn >= largest) drawn = generator();
  return drawn % span;
}

// A whole number below `end` from one draw; the unevenness is end · 2^-53.
inline std::size_t below(SplitMix64& generator, std::size_t end) {
  return static_cast<std::size_t>(unit_from(generator()) * static_cast<double>(end));
}

}  // namespace plunge
