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

int place_of(double low, double high, int decimals) {
  return std::max(last_place(0.5 * (high - low)), -decimals);
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
  const int place = says_something(low, high, decimals) ? place_of(low, high, decimals) : -decimals;
  return rounded_to(low, place) + " to " + rounded_to(high, place);
}

std::string with_band(double value, double low, double high, int decimals) {
  if (!says_something(low, high, decimals)) return rounded_to(value, -decimals);
  const int place = place_of(low, high, decimals);
  const double above = high - value;
  const double below = value - low;
  if (above <= kSkew * below && below <= kSkew * above) {
    return fmt::format("{} ± {}", rounded_to(value, place), rounded_to(0.5 * (high - low), place));
  }
  return fmt::format("{} ({})", rounded_to(value, place), band_text(low, high, decimals));
}

}  // namespace plunge
