// Units beyond the table of common units (models/setup/parameters.hpp): a seam.
//
//   SI value = slope * number + offset
//
// The programs read them by UDUNITS-2 (unit_database_udunits.cpp); a build without that library
// brings another file with these functions, and may know none.
// Errors: RunError where the unit database cannot be read.
#pragma once

#include <string_view>

namespace plunge {

struct UnitLine {
  double slope = 0.0;
  double offset = 0.0;
};

// False where the text is no unit that the database knows.
bool knows_unit(std::string_view text);

// What stands behind "no unit that is known" where units are missing that others know; else empty.
std::string_view unit_shortfall();

// False where the text is no unit, or not one of the dimension of `si_unit`.
bool unit_line(std::string_view text, std::string_view si_unit, UnitLine& line);

}  // namespace plunge
