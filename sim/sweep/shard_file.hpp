// One shard of a sweep: a closed HDF5 file with the rows of consecutive rides.
//
// DIR/shard-00000042.h5, written to memory, then to a file of another name that is synced and
// renamed (atomic_file.hpp), sealed with a check sum (hdf5_seal.hpp): either whole or not there.
//   /ride      dimension: numbers of the rides (32-bit where they fit, else as double)
//   /METRIC    [ride] double, one for each kept metric; NaN: does not apply or failed
//   /origin    [ride] int: 0 lanes, 1 adaptive, 2 failed
//   /reason    [ride] int: place in /reasons; 0: none
//   /reasons   text, [reason_number]; the first is empty
//   /TRACE     [ride, sample_time] float, padded with NaN; for each kept trace
// attributes: those of every file (file_kind.hpp), plan_fingerprint, shard [number], lanes.
// scenarios/results.md is the format's page.
// The bytes follow from the rows alone: no clock, no host, no worker.
// Reading throws InputError naming file, object and rule for what is damaged, of another plan or
// of an unknown major version.
// The HDF5 library is used by one thread at a time: the calls here wait for one another, and
// nothing else may use the library while they run.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "sim/disk/hdf5_reader.hpp"
#include "sim/disk/hdf5_writer.hpp"
#include "sim/lanes/many_rides.hpp"
#include "sim/sweep/plan_file.hpp"

namespace plunge {

inline constexpr char kShardFileType[] = "plunge sweep shard";
inline constexpr int kShardFormatMajor = 4;
inline constexpr int kShardFormatMinor = 0;

struct Shard {
  std::size_t number = 0;  // of the shard
  std::size_t first = 0;   // number of its first ride
  std::vector<RideRow> rows;
};

// How the rides of a plan came about, as files say it.
std::string sweep_history(const Plan& plan);

// Attributes of a variable that holds places in a list of reasons, the first of which is none. Up
// to kMostFlags they are also said as flags, in words of letters and underscores.
Hdf5Attributes reason_attributes(const std::vector<std::string>& texts);
inline constexpr std::size_t kMostFlags = 100;

// File name without its folder.
std::string shard_name(std::size_t number);

// Whether a name is that of a shard, and of which.
bool is_shard_name(const std::string& name, std::size_t& number);

// Rides that a shard of a plan has.
std::size_t rides_of_shard(const Plan& plan, std::size_t number);

// fingerprint: of the resolved plan and the instruction set.
// Throws RunError where the file cannot be written.
void write_shard(const std::string& path, const Shard& shard, const Plan& plan,
                 const std::string& fingerprint, InstructionSet lanes);

// A shard as its file has it, column by column.
struct ShardColumns {
  std::size_t number = 0;  // of the shard
  std::size_t first = 0;   // number of its first ride
  std::vector<int> origins;
  std::vector<int> reasons;                  // places in texts
  std::vector<std::string> texts;            // the first is empty
  std::vector<std::vector<double>> metrics;  // in the order of Keep::metrics
  std::size_t samples = 0;                   // of each ride's traces, padded with NaN
  std::vector<std::vector<double>> traces;   // [ride, sample], in the order of Keep::traces
};

// A file that holds another shard than its name says is refused.
ShardColumns read_shard_columns(const std::string& path, const Plan& plan,
                                const std::string& fingerprint, Seal seal = Seal::demanded);

// The same, row by row.
Shard read_shard(const std::string& path, const Plan& plan, const std::string& fingerprint);

// What the rows of a shard came to, without their numbers.
struct ShardTally {
  std::size_t redone = 0;                // by the adaptive path
  std::vector<std::size_t> failed;       // numbers of rides
  std::vector<std::string> failed_with;  // the reason of each of these
  std::size_t samples = 0;               // of its longest trace
};

ShardTally tally(const Shard& shard);
// Refuses what read_shard() would, but for the metrics and traces, of which only the check sum is
// looked at. The check sums of several shards may be worked out at once.
ShardTally read_shard_tally(const std::string& path, const Plan& plan,
                            const std::string& fingerprint);

}  // namespace plunge
