// Turns a laid-out figure into the bytes of a picture. Another drawing program is another source
// for this header; it decides on colours, faces, strokes and shapes, and on nothing else.
//
// The same figure gives the same bytes.
#pragma once

#include <string>

#include "sim/report/figure_layout.hpp"

namespace plunge {

enum class PictureFormat { png, svg, pdf };

// Throws RunError where the drawing program is missing or fails.
std::string render(const FigureLayout& figure, PictureFormat format);

}  // namespace plunge
