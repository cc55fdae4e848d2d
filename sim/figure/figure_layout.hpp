// Gives everything of a figure its place.
//
// A figure is of one width. Its letters are of one size (placed_figure.hpp): where larger ones are
// wanted, it is laid out for a smaller width and shown larger. Numbers of axes are round, and as
// many as stand apart; texts are cut where they are too long. How wide they are is the guess of
// letters.hpp.
#pragma once

#include "sim/figure/placed_figure.hpp"

namespace plunge {

// Of what size and weight a figure is.
struct FigureLook {
  double width = 900.0;
  double edge = 18.0;  // left free at every side
  double height =
      kUnset;          // of the data of an ordinary panel of curves; unset: 190, beside others 270
  double curve = 1.5;  // width of lines
};

// Narrower ones have their panels below one another alone.
inline constexpr double kLeastBeside = 560.0;

// Throws std::invalid_argument for a look beyond what can be drawn, a figure without panels, a
// series whose x and y differ in length or a map or strip whose values do not fit.
FigureLayout lay_out(const Figure& figure, const FigureLook& look = {});

}  // namespace plunge
