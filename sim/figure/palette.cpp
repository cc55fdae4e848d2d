#include "sim/figure/palette.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>

namespace plunge {
namespace {

// They stay apart for normal sight and for the three kinds of colour blindness, and stand out from
// white by 2.5 : 1 at least (chosen by search on the simulated differences).
constexpr std::array<Rgb, 7> kColours = {{{66, 18, 199},
                                          {183, 153, 9},
                                          {142, 26, 0},
                                          {0, 183, 124},
                                          {163, 150, 255},
                                          {105, 0, 101},
                                          {23, 1, 0}}};

constexpr double kPalestLine = 0.42;  // share of the ramp
constexpr double kDarkFrom = 0.59;    // share from which an area needs light letters
constexpr Rgb kBlack = {0, 0, 0};

bool has_shade(const Paint& paint) { return std::isfinite(paint.shade); }

}  // namespace

bool Paint::operator==(const Paint& other) const {
  return colour == other.colour && has_shade(*this) == has_shade(other) &&
         (!has_shade(*this) || shade == other.shade);
}

std::size_t palette_number(const Paint& paint) {
  return static_cast<std::size_t>(std::max(paint.colour, 0));
}

Rgb ramp(double share) {
  constexpr std::array<std::array<double, 3>, 4> kStops = {
      {{241, 239, 247}, {163, 176, 226}, {92, 88, 190}, {43, 8, 92}}};
  const double at = std::clamp(share, 0.0, 1.0) * static_cast<double>(kStops.size() - 1);
  const std::size_t low = std::min(static_cast<std::size_t>(at), kStops.size() - 2);
  const double rest = at - static_cast<double>(low);
  Rgb colour{};
  for (std::size_t i = 0; i < 3; ++i) {
    colour[i] = static_cast<int>(
        std::lround(kStops[low][i] + rest * (kStops[low + 1][i] - kStops[low][i])));
  }
  return colour;
}

Rgb colour_of(const Paint& paint) {
  if (has_shade(paint)) return ramp(kPalestLine + (1.0 - kPalestLine) * paint.shade);
  return kColours[palette_number(paint) % kColours.size()];
}

bool comes_again(const Paint& paint) {
  return !has_shade(paint) && palette_number(paint) >= kColours.size();
}

std::size_t paints_apart() { return 2 * kColours.size(); }

Rgb letters_on_ramp(double share) { return share > kDarkFrom ? kPaper : kBlack; }

}  // namespace plunge
