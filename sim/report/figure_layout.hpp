// Where everything of a figure stands: the numbers that a drawing program needs, and no more.
//
// Lengths are pixels of the screen (1/96 inch on paper) from the top left corner; what is drawn
// inside a panel is in the values of its axes. Texts are as they show: one line, cut where they are
// too long. A long trace is thinned to the lowest and highest value of each run of samples, so that
// peaks stay. Colours are numbers of a palette, and shares of a scale, 0 pale to 1 dark; the
// palette is the drawing program's.
#pragma once

#include <string>
#include <vector>

#include "models/laws/constants.hpp"
#include "sim/report/figure.hpp"

namespace plunge {

inline constexpr double kFigureFont = 13.0;  // [pixels] height of the letters

struct Range {
  double low = 0.0;
  double high = 0.0;
};

struct Tick {
  double at = 0.0;
  std::string label;
};

struct AxisLayout {
  Range range;
  bool logarithmic = false;
  std::vector<Tick> ticks;  // empty: where the drawing program likes
  bool named = false;       // the ticks are names of rows or columns, without marks
};

struct ReferenceLayout {
  std::string label;
  double at = 0.0;
  bool vertical = false;
  double position = 0.0;      // of a vertical one, across the panel, 0 left to 1 right
  bool label_at_top = false;  // of a vertical one; else at the bottom
};

struct Point {
  double x = 0.0;
  double y = 0.0;
};

struct Bar {
  double value = 0.0;  // the bar goes from 0 to it
  double y = 0.0;      // its middle
  double half_height = 0.0;
  double low = kUnset;  // ends of its interval; NaN: none
  double high = kUnset;
};

struct SeriesLayout {
  std::string label;  // empty: not in the legend
  Mark mark = Mark::line;
  int colour = 0;
  std::vector<std::vector<Point>> strokes;  // without gaps
  std::vector<Bar> bars;
};

struct Cell {
  double x = 0.0;  // its middle; it is 1 by 1 large
  double y = 0.0;
  double share = 0.0;
  std::string text;
};

struct MapLayout {
  std::vector<Cell> cells;
  std::vector<Tick> scale;  // shares with their values; empty: no scale
  std::string label;
};

enum class PanelKind { curves, bars, map };

struct PanelLayout {
  double left = 0.0;       // of the data
  double room_left = 0.0;  // for names or numbers and the label of the y axis
  double top = 0.0;
  double width = 0.0;
  double height = 0.0;
  PanelKind kind = PanelKind::curves;
  std::string title;
  std::string x_label;
  std::string y_label;
  AxisLayout x;
  AxisLayout y;
  bool has_x_labels = true;  // numbers and label under the panel
  bool has_legend = false;
  std::vector<SeriesLayout> series;
  std::vector<ReferenceLayout> references;
  MapLayout map;
};

struct FigureLayout {
  double width = 0.0;
  double height = 0.0;
  std::string title;
  std::vector<PanelLayout> panels;
};

// Throws std::invalid_argument for a figure without panels, a series whose x and y differ in length
// or a map whose values do not fit.
FigureLayout lay_out(const Figure& figure);

}  // namespace plunge
