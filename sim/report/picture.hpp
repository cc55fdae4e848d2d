// A drawing as the bytes of a PNG or PDF, through cairo and Pango.
//
// The same drawing gives the same bytes. A PNG has two pixels for each of the drawing's, fewer
// where it would be larger than cairo can make it.
#pragma once

#include <string>

#include "sim/figure/drawing.hpp"

namespace plunge {

// Throw RunError where the font is not installed or the library fails.
std::string drawing_png(const Drawing& drawing);
std::string drawing_pdf(const Drawing& drawing);

// Width of a text as it is drawn [pixels of the screen].
double drawn_width(const DrawnText& text);

}  // namespace plunge
