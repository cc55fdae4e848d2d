// What is not known, in words: numbers with their bands, what these come from, what would narrow
// them.
#pragma once

#include <string>
#include <vector>

#include "sim/measure/label.hpp"
#include "sim/report/ride_bands.hpp"

namespace plunge {

// "69 ± 8" in the unit of the label; "5100 ± 800 in 64 %" where only so many of the draws have the
// number. `open` may be null: the value alone.
std::string banded(double value, const Label& label, const OpenNumber* open);

// What a variant changes of a number of the first one, with its sign: "-1.1 ± 0.4"; the number
// itself where that is not known.
std::string banded_change(double value, double first, const Label& label, const OpenNumber* open);

// Whether the band says anything beside the value.
bool is_open(double value, const Label& label, const OpenNumber* open);

// A band from the low end of one number to the high end of another.
std::string banded_between(double low, double high, const Label& label, const OpenNumber* lowest,
                           const OpenNumber* highest);

// A number that is printed, for the account of causes.
struct PrintedNumber {
  std::string label;  // "pressure"
  const OpenNumber* open = nullptr;
};

// What ± and a sign mean, and for each main cause the numbers that it is the cause of, where
// `with_numbers`, and the reading of a workshop that would narrow it. `setup`: of the first
// variant.
std::string band_account(const RideBands& bands, const Setup& setup,
                         const std::vector<PrintedNumber>& printed, bool with_numbers);

}  // namespace plunge
