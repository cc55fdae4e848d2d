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
constexpr Rgb kWhite = {255, 255, 255};
constexpr Rgb kBlack = {0, 0, 0};

Rgb ramp_rgb(double share) {
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

bool has_shade(const Paint& paint) { return std::isfinite(paint.shade); }

}  // namespace

bool Paint::operator==(const Paint& other) const {
  return colour == other.colour && quiet == other.quiet && has_shade(*this) == has_shade(other) &&
         (!has_shade(*this) || shade == other.shade);
}

std::size_t palette_number(const Paint& paint) {
  return static_cast<std::size_t>(std::max(paint.colour, 0));
}

Rgb rgb_of(const Colour& colour) {
  switch (colour.hue) {
    case Hue::ink:
      return {33, 32, 29};
    case Hue::quiet:
      return {104, 101, 94};
    case Hue::axis:
      return {140, 136, 127};
    case Hue::grid:
      return {231, 228, 220};
    case Hue::zone:
      return {247, 243, 232};
    case Hue::paper:
      return kWhite;
    case Hue::warning:
      return {158, 30, 16};
    case Hue::palette:
      return kColours[static_cast<std::size_t>(colour.number)];
    case Hue::shade:
      return ramp_rgb(kPalestLine + (1.0 - kPalestLine) * colour.share);
    case Hue::ramp:
      return ramp_rgb(colour.share);
    case Hue::on_ramp:
      break;
  }
  return are_light(colour) ? kWhite : kBlack;
}

Colour ramp(double share) { return {Hue::ramp, 0, share}; }

Colour colour_of(const Paint& paint) {
  if (paint.quiet) return kQuiet;
  if (has_shade(paint)) return {Hue::shade, 0, paint.shade};
  return {Hue::palette, static_cast<int>(palette_number(paint) % kColours.size())};
}

bool comes_again(const Paint& paint) {
  return !paint.quiet && !has_shade(paint) && palette_number(paint) >= kColours.size();
}

std::size_t paints_apart() { return 2 * kColours.size(); }

Colour letters_on_ramp(double share) { return {Hue::on_ramp, 0, share}; }

bool are_light(const Colour& letters) { return letters.share > kDarkFrom; }

}  // namespace plunge
