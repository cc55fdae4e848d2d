// The colours of figures: ink on white paper, seven that stay apart, and one ordered ramp.
#pragma once

#include <cstddef>

#include "sim/figure/drawing.hpp"
#include "sim/figure/figure.hpp"

namespace plunge {

inline constexpr Rgb kPaper = {255, 255, 255};
inline constexpr Rgb kInk = {33, 32, 29};
inline constexpr Rgb kQuiet = {104, 101, 94};  // labels of axes, references
inline constexpr Rgb kAxis = {140, 136, 127};
inline constexpr Rgb kGrid = {231, 228, 220};
inline constexpr Rgb kZone = {247, 243, 232};
inline constexpr Rgb kWarning = {158, 30, 16};

// From pale to dark, even to the eye, all of one hue; share 0 to 1. For areas.
Rgb ramp(double share);

// Of a line, a point or a bar. A shade is taken from the darker part of the ramp, which stands out
// from the paper.
Rgb colour_of(const Paint& paint);

// From 0; goes on past the last colour of the palette.
std::size_t palette_number(const Paint& paint);

// True past the last colour of the palette, where they come again.
bool comes_again(const Paint& paint);

// So many paints by number, from 0, differ in colour or in dash.
std::size_t paints_apart();

// What can be read on an area of that share of the ramp.
Rgb letters_on_ramp(double share);

}  // namespace plunge
