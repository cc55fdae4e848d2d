// The colours of figures: ink on white paper, seven that stay apart, and one ordered ramp.
#pragma once

#include <array>
#include <cstddef>

#include "sim/figure/drawing.hpp"
#include "sim/figure/figure.hpp"

namespace plunge {

inline constexpr Colour kPaper = {Hue::paper};
inline constexpr Colour kInk = {Hue::ink};
inline constexpr Colour kQuiet = {Hue::quiet};
inline constexpr Colour kAxis = {Hue::axis};
inline constexpr Colour kGrid = {Hue::grid};
inline constexpr Colour kZone = {Hue::zone};
inline constexpr Colour kWarning = {Hue::warning};

// Red, green and blue, 0 to 255.
using Rgb = std::array<int, 3>;

// On white paper, as files are.
Rgb rgb_of(const Colour& colour);

// From pale to dark, even to the eye, all of one hue; share 0 to 1. For areas.
Colour ramp(double share);

// Of a line, a point or a bar. A shade is taken from the darker part of the ramp, which stands out
// from the paper.
Colour colour_of(const Paint& paint);

// From 0; goes on past the last colour of the palette.
std::size_t palette_number(const Paint& paint);

// True past the last colour of the palette, where they come again.
bool comes_again(const Paint& paint);

// So many paints by number, from 0, differ in colour or in dash.
std::size_t paints_apart();

// What can be read on an area of that share of the ramp.
Colour letters_on_ramp(double share);
bool are_light(const Colour& letters);

}  // namespace plunge
