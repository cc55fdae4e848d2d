// Rides on disk: one HDF5 file, one or more rides side by side, every number with its unit.
//
// The page scenarios/results.md describes the format. In short: dimensions `ride` and `time`;
// channels on [ride, time]; metrics, labels and the parameters that were varied or solved for on
// [ride]; groups /parameters with a group for each table, /energy, /solver, /located. A dotted name
// keeps its words and gets underscores, "fork.spacers" -> fork_spacers, and says the dotted one in
// the attribute `parameter`. Rides of one file share one time axis; a shorter ride ends in NaN.
#pragma once

#include <string>
#include <vector>

#include "sim/disk/hdf5_reader.hpp"
#include "sim/measure/result.hpp"
#include "sim/report/result_content.hpp"

namespace plunge {

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

// Throws InputError unless the file says that it is one of a major version that is read here.
void demand_result_file(const Hdf5Reader& reader);

// Throws InputError naming the file and the rule: not HDF5, damaged or cut short, another file
// type, an unknown major version, something missing, of the wrong size, in units that do not
// convert or no number where one must be. Other units than SI are converted.
// traces: whether channels and times are read, which may be gigabytes.
ResultFile read_result_file(const std::string& path, Seal seal = Seal::demanded,
                            bool traces = true);

}  // namespace plunge
