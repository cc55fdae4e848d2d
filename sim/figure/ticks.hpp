// Where an axis has numbers, and how they are written.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

namespace plunge {

struct Range {
  double low = 0.0;
  double high = 0.0;
};

struct Tick {
  double at = 0.0;
  std::string label;
};

// A printed number with a minus sign in place of a hyphen, and none before zero; other texts stay.
std::string with_minus(std::string text);

// Where a value stands on its axis: 0 at the low end, 1 at the high end.
double position_on(const Range& range, double value, bool logarithmic);

// At most `most` (>= 1) multiples of 1, 2 or 5 times a power of ten. The range is finite, low <
// high.
std::vector<Tick> linear_ticks(const Range& range, std::size_t most);

// At most `most` of 1, 2 and 5 of each decade, else decades, else some of them; linear ones where a
// decade is more than the range. The range is above 0.
std::vector<Tick> log_ticks(const Range& range, std::size_t most);

// Times as minutes and seconds, "2:30", or hours, "1:02:30"; linear ones below some seconds.
std::vector<Tick> clock_ticks(const Range& seconds, std::size_t most);

}  // namespace plunge
