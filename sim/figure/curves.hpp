// Lines of a drawing made small: cut off at the edges of their panel, and without the places that
// nobody could see.
#pragma once

#include <vector>

#include "sim/figure/drawing.hpp"

namespace plunge {

// The parts of a line within a box.
std::vector<std::vector<DrawnPlace>> clipped(const std::vector<DrawnPlace>& line,
                                             const TextBox& box);

// The line without places that lie within `tolerance` of what joins those that are kept
// (Douglas & Peucker 1973, Cartographica 10).
std::vector<DrawnPlace> simplified(const std::vector<DrawnPlace>& line, double tolerance);

// Heights for labels that want to stand at `wanted` and be `gap` apart, between `top` and `bottom`,
// in the order of what they want: the least squares of what they are moved by. They fit in there.
std::vector<double> spread(const std::vector<double>& wanted, double gap, double top,
                           double bottom);

}  // namespace plunge
