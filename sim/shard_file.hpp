// One shard of a sweep: a closed HDF5 file with the rows of consecutive rides.
//
// DIR/shard-00000042.h5, written to memory, then to a file of another name that is synced and
// renamed (atomic_file.hpp), sealed with a check sum (hdf5_file.hpp): either whole or not there.
//   /ride      dimension: numbers of the rides (32-bit where they fit, else as double)
//   /METRIC    [ride] double, one for each kept metric; NaN: does not apply or failed
//   /origin    [ride] int: 0 lanes, 1 adaptive, 2 failed
//   /reason    [ride] int: place in /reasons; 0: none
//   /reasons   text, [reason]; the first is empty
//   /TRACE     [ride, sample] on /sample_time, padded with NaN; as kept
// attributes: type "plunge sweep shard", format [1, 0], program, plan_fingerprint, shard, lanes.
// The bytes follow from the rows alone: no clock, no host, no worker.
// Reading throws InputError naming file, object and rule for what is damaged, of another plan or
// of an unknown major version.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "sim/many_rides.hpp"
#include "sim/plan_file.hpp"

namespace plunge {

inline constexpr int kShardFormatMajor = 1;
inline constexpr int kShardFormatMinor = 0;

struct Shard {
  std::size_t number = 0;  // of the shard
  std::size_t first = 0;   // number of its first ride
  std::vector<RideRow> rows;
};

// File name without its folder.
std::string shard_name(std::size_t number);

// fingerprint: of the resolved plan and the instruction set.
void write_shard(const std::string& path, const Shard& shard, const Plan& plan,
                 const std::string& fingerprint, InstructionSet lanes);

Shard read_shard(const std::string& path, const Plan& plan, const std::string& fingerprint);

}  // namespace plunge
