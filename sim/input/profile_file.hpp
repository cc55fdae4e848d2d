// A measured profile of the ground, read from comma separated values.
//
//   # a comment
//   distance [m],height [mm]
//   0.00,0
//   0.05,2.5
//
// The first line that is neither blank nor a comment names the columns, each with its unit in
// square brackets. `distance` and `height` must be there, once each; others are not read. Columns
// are parted by comma, semicolon or tab, whichever the header uses. Numbers take a decimal point,
// or a decimal comma where the caller says so; columns are then parted by semicolon or tab. What
// looks like a decimal comma elsewhere is refused with that advice, and never guessed at. Distances
// rise from row to row. At least 2 rows, at most kMostProfilePoints.
//
// Throws InputError with every fault up to a few dozen, each with file, line and column.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace plunge {

inline constexpr std::size_t kMostProfilePoints = 1'000'000;  // chosen

struct MeasuredProfile {
  std::vector<double> distance;   // [m]
  std::vector<double> elevation;  // [m]
};

// `file` names the text in faults. decimal: '.' or ',', which stands before the decimals.
MeasuredProfile parse_profile(std::string_view text, const std::string& file, char decimal = '.');

}  // namespace plunge
