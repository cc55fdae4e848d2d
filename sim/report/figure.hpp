// A figure in words and numbers: panels of traces, bars or a coloured table, whoever draws it.
//
// Panels stand one below the other or side by side. The legend stands to the right of the data,
// once where all panels share it. Where panels below one another share the label of their x axis,
// they share the axis. Units belong into the labels: "travel [m]". Text shows as it is given;
// nothing in it is markup. A panel may have named rows in place of a y axis, for bars; or a map, a
// table of coloured cells.
//
// A value that is not finite leaves a gap, as does one <= 0 on a logarithmic axis.
// figure_layout.hpp places what is here, figure_renderer.hpp draws it, plot.hpp does both.
#pragma once

#include <string>
#include <vector>

namespace plunge {

// dots: small points, for thousands of them. bars: from 0 to x in the row y of the panel.
enum class Mark { line, dashed, points, dots, bars };

struct Series {
  std::string label;  // empty: not in the legend
  std::vector<double> x;
  std::vector<double> y;
  Mark mark = Mark::line;
  int colour = -1;  // number of a colour, from 0, for series that belong together; -1: the next
  std::vector<double> low = {};  // ends of the interval of each bar; empty, or NaN: none
  std::vector<double> high = {};
};

// A line across the panel that marks a value: full travel, sag.
struct Reference {
  std::string label;
  double at = 0.0;
  bool vertical = false;  // at x in place of y
};

// Values in cells of equal size, with a scale of colours beside them.
struct CellMap {
  std::vector<std::string> columns;  // what the cells stand for, left to right
  std::vector<std::string> rows;     // bottom to top
  std::vector<double> values;        // row by row; NaN: an empty cell
  std::string label;                 // of the values, with their unit
  int decimals = 0;                  // of a value as it is printed
};

struct Panel {
  std::string title;
  std::string x_label;
  std::string y_label;
  std::vector<Series> series;
  std::vector<Reference> references;
  bool log_x = false;
  bool log_y = false;
  std::vector<std::string> rows = {};  // names of the rows for bars, top to bottom; else empty
  CellMap map = {};                    // where it has values, the panel has no series
};

enum class Arrangement { stacked, side_by_side };

struct Figure {
  std::string title;
  std::vector<Panel> panels;
  Arrangement arrangement = Arrangement::stacked;
};

}  // namespace plunge
