// How many rides of each finished shard failed and were redone: work/tallies, 8 bytes a shard.
//
// Two 32-bit numbers in the machine's order: rides that failed, plus 1, and rides redone; 0 and 0:
// not known. For people only, so trouble with the file is passed over and shows as "not known".
// Processes write their own shards' entries at once without locks.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "sim/disk/folder.hpp"
#include "sim/sweep/shard_file.hpp"

namespace plunge {

class Tallies {
 public:
  enum class For { reading, writing };

  struct Entry {
    std::uint32_t failed_and_1 = 0;  // 0: not known
    std::uint32_t redone = 0;

    bool known() const { return failed_and_1 > 0; }
    std::size_t failed() const { return known() ? failed_and_1 - 1 : 0; }
  };

  Tallies(const std::string& folder, std::size_t shards, For purpose);

  void put(std::size_t shard, const ShardTally& tally) const;
  void forget(std::size_t shard) const;

  // One for each shard.
  std::vector<Entry> all() const;

 private:
  void put(std::size_t shard, const Entry& entry) const;

  std::size_t shards_;
  Descriptor file_;
};

}  // namespace plunge
