// Numbers that are not known exactly, rounded to what is known of them.
//
//   place   of the last digit of half the band's width, a power of ten: that width has two digits
//           where it begins with 1 once rounded, else one: rounding is a fifth of it off at most
//   value   to the same place
//   skewed  where one side is over kSkew wider than the other, the narrower side stands for half
//           the width, and the ends of the band are said to the same place: 191, 30 to 6190 is
//           "190 (30 to 6190)"
//
//   69.4, 61.2 to 77.9   "69 ± 8"
//   0.312, 0.28 to 0.45  "0.31 (0.28 to 0.45)"
//   1234, 1101 to 1369   "1230 ± 130"
// Nothing is said finer than a number's own decimals; a band that rounds to nothing there is not
// said. All numbers in the unit that is said.
#pragma once

#include <string>

namespace plunge {

// The wider side of a band over the other, up to which it is said as one width [1]. Chosen.
inline constexpr double kSkew = 1.5;

// The place of the last digit that is said, as its power of ten: 1 for tens, -2 for hundredths.
// Width above 0: half the band's.
int last_place(double half_width);

// A number rounded to a place: "1230" to tens.
std::string rounded_to(double value, int place);

// As above; the value alone, with its decimals, where the band is not known (NaN) or says nothing.
std::string with_band(double value, double low, double high, int decimals);

// The band alone, to its own place: "61 to 78".
std::string band_text(double low, double high, int decimals);

}  // namespace plunge
