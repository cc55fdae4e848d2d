// A number that is not known exactly, as it is said.
#pragma once

#include <string>

#include "sim/measure/label.hpp"
#include "sim/report/ride_bands.hpp"

namespace plunge {

// Share of draws from which on a number counts as always there [1]. Chosen.
inline constexpr double kAllButNone = 0.975;

// "69 ± 8", in the unit and with the decimals of the label; "5100 ± 800 in 64 %" where only so many
// of the draws have the number, "4200 to 5800 in 64 %" where `value` is not finite. The band must
// be known.
std::string open_text(double value, const Label& label, const OpenNumber& open);

// "bore, friction": as many of the largest causes as explain half of the variance, at most two.
std::string cause_words(const OpenNumber& open);

}  // namespace plunge
