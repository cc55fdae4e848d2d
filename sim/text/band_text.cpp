#include "sim/text/band_text.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

namespace plunge {
namespace {

// Where the band is known and wider than what is said at all.
bool says_something(double low, double high, int decimals) {
  return high - low >= std::pow(10.0, -decimals) && std::isfinite(high - low);
}

int place_of(double half_width, int decimals) {
  return std::max(last_place(half_width), -decimals);
}

}  // namespace

int last_place(double half_width) {
  const auto first = static_cast<int>(std::floor(std::log10(half_width)));
  const double leading = half_width / std::pow(10.0, first);
  return leading < 1.95 ? first - 1 : first;
}

std::string rounded_to(double value, int place) {
  const double step = std::pow(10.0, place);
  const double rounded = place > 0 ? std::round(value / step) * step : value;
  const std::string text = fmt::format("{:.{}f}", rounded, std::max(0, -place));
  return text.find_first_not_of("-0.") == std::string::npos && text.front() == '-' ? text.substr(1)
                                                                                   : text;
}

std::string band_text(double low, double high, int decimals) {
  const int place =
      says_something(low, high, decimals) ? place_of(0.5 * (high - low), decimals) : -decimals;
  return rounded_to(low, place) + " to " + rounded_to(high, place);
}

std::string with_band(double value, double low, double high, int decimals) {
  if (!says_something(low, high, decimals)) return rounded_to(value, -decimals);
  const double half = 0.5 * (high - low);
  const double above = high - value;
  const double below = value - low;
  if (above <= kSkew * below && below <= kSkew * above) {
    const int place = place_of(half, decimals);
    return fmt::format("{} ± {}", rounded_to(value, place), rounded_to(half, place));
  }
  const double narrower = std::min(above, below);
  const int place = place_of(narrower > 0.0 ? narrower : half, decimals);
  return fmt::format("{} ({} to {})", rounded_to(value, place), rounded_to(low, place),
                     rounded_to(high, place));
}

}  // namespace plunge
