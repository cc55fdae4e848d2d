// A laid-out figure as a list of shapes and texts: colours, strokes, and where labels go that must
// keep out of each other's way.
#pragma once

#include "sim/figure/drawing.hpp"
#include "sim/figure/placed_figure.hpp"

namespace plunge {

// No text of the drawing meets another; labels of spots and references for which there is no room
// are left out.
Drawing drawing_of(const FigureLayout& figure);

}  // namespace plunge
