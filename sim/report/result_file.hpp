// Rides on disk: one HDF5 file, one or more rides side by side, every number with its unit.
//
// The page scenarios/results.md describes the format. In short: dimensions `ride` and `time`;
// channels on [ride, time]; metrics, labels and the parameters that were varied or solved for on
// [ride]; groups /parameters with a group for each table, /energy, /solver, /located. A dotted name
// keeps its words and gets underscores, "fork.spacers" -> fork_spacers, and says the dotted one in
// the attribute `parameter`. Rides of one file share one time axis; a shorter ride ends in NaN.
#pragma once

#include <algorithm>
#include <cstddef>
#include <string>
#include <vector>

#include "sim/measure/result.hpp"

namespace plunge {

// What the file says about itself. A reader takes any minor version of its own major version.
inline constexpr char kResultFileType[] = "plunge ride";
inline constexpr int kResultFileMajor = 3;
inline constexpr int kResultFileMinor = 0;

// One parameter as a ride used it, in SI units.
struct UsedParameter {
  std::string name;  // "fork.spacers"
  std::string unit;
  std::string long_name;
  double value = kUnset;
  std::string text;  // of a choice or a name, in place of the value: "air"
};

// One column of a table that a ride used: numbers in SI units, or texts.
struct UsedColumn {
  std::string name;
  std::string unit;
  std::string long_name;
  std::vector<double> values;
  std::vector<std::string> texts;  // in place of the values
};

// A list of the Setup, a row each: "event", "fork.compression.points".
struct UsedTable {
  std::string name;
  std::string row;  // what the number of a row is
  std::vector<UsedColumn> columns;

  std::size_t rows() const {
    return columns.empty() ? 0 : std::max(columns[0].values.size(), columns[0].texts.size());
  }
};

struct ResultFile {
  std::string title;
  std::string history;                                 // by which command it came about
  std::string program_version;                         // as read; what is written is this program's
  std::vector<Result> rides;                           // read back without Result::setup
  std::vector<std::vector<UsedParameter>> parameters;  // one list per ride
  std::vector<std::vector<UsedTable>> tables;          // likewise, or none; not read back
};

// Writes title, history, rides, parameters and tables, all or nothing (sim/disk/atomic_file.hpp).
// Throws InputError where the rides do not share the time axis, RunError where the disk refuses,
// std::invalid_argument where the contents contradict themselves: no ride, lists that do not
// match, one name for two things or with two units.
void write_result_file(const std::string& path, const ResultFile& file);

// Throws InputError naming the file and the rule: not HDF5, damaged or cut short, another file
// type, an unknown major version, something missing or of the wrong size.
ResultFile read_result_file(const std::string& path);

}  // namespace plunge
