// A drawing as SVG (SVG 1.1, W3C 2011), written without any library: a file, or a part of a page.
//
// The letters are text that can be searched and read out, in DejaVu Serif Condensed or whatever
// serif there is. The same drawing gives the same bytes.
#pragma once

#include <string>

#include "sim/figure/drawing.hpp"

namespace plunge {

std::string drawing_svg(const Drawing& drawing);

// The element alone, to stand in a page.
std::string drawing_element(const Drawing& drawing);

// What stands in the svg element of a page: as the file, but for colours, which are classes: "ink",
// "quiet", "axis", "grid", "zone", "paper", "warning", "colour-0" to "colour-6", "on-dark",
// "on-pale", and "shade" or "ramp" with their share as the property --share. The page's style sheet
// sets the property `color` for each, and the font.
std::string drawing_markup(const Drawing& drawing);

}  // namespace plunge
