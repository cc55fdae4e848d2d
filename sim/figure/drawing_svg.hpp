// A drawing as an SVG file (SVG 1.1, W3C 2011), written without any library.
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

}  // namespace plunge
