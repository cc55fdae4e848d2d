// Gives everything of a figure its place.
//
// A figure is of one width. Numbers of axes are round, and as many as stand apart; texts are cut
// where they are too long. How wide they are is the guess of letters.hpp.
#pragma once

#include "sim/figure/placed_figure.hpp"

namespace plunge {

// Throws std::invalid_argument for a figure without panels, a series whose x and y differ in length
// or a map or strip whose values do not fit.
FigureLayout lay_out(const Figure& figure);

}  // namespace plunge
