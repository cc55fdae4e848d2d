// From a quantity as people write it, "72 psi", to a number in SI.
//
// A quantity is a decimal number and a unit; the space between them may be left out. Everyday
// spellings are read from the table of common units (models/setup/parameters.hpp), exactly where
// the factor is a power of ten; every other spelling by UDUNITS-2, loaded when first needed. Four
// spellings are read as people mean them, where UDUNITS does not: deg, lbs, Ns/m, mph.
// A unit converts only to the dimension that is asked for: an angle is not a share, a time is no
// frequency. A bare number is read only where the SI unit is "1". Gauge pressure stays gauge.
// Not a number, infinity, hexadecimal and numbers that a double cannot hold are refused.
//
// Errors: InputError with the text as value and a rule that says what would be right; the caller
// adds key and place. RunError where the unit database of UDUNITS cannot be read.
#pragma once

#include <string>
#include <string_view>

#include "models/setup/parameters.hpp"

namespace plunge {

// A number and the unit behind it, "" where there is none.
struct Quantity {
  double number = 0.0;
  std::string unit;
};

// Throws InputError where the text does not begin with a decimal number.
Quantity split_quantity(std::string_view text);

// A number in some unit to the SI unit `unit`. Throws InputError.
double to_si(const Quantity& quantity, std::string_view unit);

// "72 psi" to the SI unit `unit`. Throws InputError.
double to_si(std::string_view text, std::string_view unit);

// The same through UDUNITS alone, for the test that holds the common units equal to it.
double to_si_by_udunits(const Quantity& quantity, std::string_view unit);

// The SI unit, as plunge writes it, of what a unit measures: "m" of "in". Empty where the text is
// no unit, or measures nothing that plunge deals with.
std::string si_unit_of(std::string_view unit);

// "a pressure such as "72 psi"": what a key of that SI unit needs.
std::string needed_quantity(std::string_view unit);

}  // namespace plunge
