// What a ride file holds besides results: its kind, the names of its parts, and what a ride used.
#pragma once

#include <algorithm>
#include <cstddef>
#include <string>
#include <vector>

#include "models/setup/setup.hpp"
#include "sim/disk/file_kind.hpp"

namespace plunge {

// What the file says about itself. A reader takes any minor version of its own major version.
inline constexpr char kResultFileType[] = "plunge ride";
inline constexpr int kResultFileMajor = 4;
inline constexpr int kResultFileMinor = 1;

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

inline const FileKind kResultKind{kResultFileType, kResultFileMajor, kResultFileMinor,
                                  "the file that plunge ride writes", "ride it again"};

inline constexpr char kRide[] = "/ride";
inline constexpr char kTime[] = "/time";

// Root variables of our own; every other one is a channel, a metric or a parameter.
inline constexpr char kLabel[] = "label";
inline constexpr char kSceneText[] = "scene_text";
inline constexpr char kFailure[] = "failure";
inline constexpr char kSamples[] = "samples";

// Attribute of a coordinate: how its value came about.
inline constexpr char kGiven[] = "given";
inline constexpr char kSet[] = "set";
inline constexpr char kHeld[] = "held";

}  // namespace plunge
