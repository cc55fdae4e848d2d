// FNV-1a, 64 bits: a check sum that every changed byte changes, and a short name for a text.
//
//   h = 0xcbf29ce484222325; for each byte: h = (h xor byte) * 0x100000001b3 mod 2^64
//
// Against accidents, not against forgers.
// Source: Fowler, Noll, Vo; draft-eastlake-fnv.
#pragma once

#include <cstdint>
#include <string_view>

namespace plunge {

// hash: of what comes before these bytes, to sum a text piece by piece.
constexpr std::uint64_t check_sum(std::string_view bytes,
                                  std::uint64_t hash = 0xcbf29ce484222325u) {
  for (const char byte : bytes) {
    hash = (hash ^ static_cast<unsigned char>(byte)) * 0x100000001b3u;
  }
  return hash;
}

}  // namespace plunge
