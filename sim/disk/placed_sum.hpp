// A check sum of a file to which every run of its bytes adds its part, in any order and at once.
//
//   S = sum of w_i r^i  mod p,   p = 2^61 - 1
//
// w_i: the 4-byte words of the file, first byte lowest, the last one filled up with zeros; r: a
// fixed number. A changed word always changes S, whatever else stays; bytes that are 0 add nothing,
// so that what was never written need not be added. Against accidents, not against forgers. A run
// must be added once.
// Source: Karp & Rabin 1987, IBM J. Res. Dev. 31, 249 (fingerprints by a polynomial).
#pragma once

#include <cstdint>
#include <string_view>

namespace plunge {

class PlacedSum {
 public:
  // Bytes that stand in the file from `offset` on.
  void add(std::uint64_t offset, std::string_view bytes);
  void add(const PlacedSum& other);

  std::uint64_t value() const { return sum_; }

 private:
  std::uint64_t sum_ = 0;  // below p
};

}  // namespace plunge
