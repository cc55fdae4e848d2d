// A figure in words and numbers: panels of traces, bars, a coloured table or a strip of settings.
//
// Panels stand one below the other; one that says so stands right of the one before it. Where
// panels below one another share the label of their x axis, they share the axis. Lines are labelled
// at their ends where those labels fit, else by a legend, once where panels have the same; a strip
// takes the place of a legend. Units belong into the labels: "travel [m]". Text shows as it is
// given; nothing in it is markup.
//
// A value that is not finite leaves a gap, as does one <= 0 on a logarithmic axis.
// figure_layout.hpp places what is here, figure_drawing.hpp draws it.
#pragma once

#include <string>
#include <vector>

#include "models/laws/constants.hpp"

namespace plunge {

// dots: small points, for thousands of them. bars: from 0 to x in the row y of the panel. band:
// from low to high over x, beside y. area: what the line through the points encloses.
enum class Mark { line, dashed, points, dots, bars, band, area };

// What something is drawn in. Things of an order have shades of one ramp, others a colour.
struct Paint {
  int colour = -1;        // number in the palette, from 0; -1: the next
  double shade = kUnset;  // 0 pale to 1 dark, in place of a colour; unset: none
  bool quiet = false;     // grey, in place of both: what is given
  bool operator==(const Paint& other) const;
};

struct Series {
  std::string label;  // empty: not labelled
  std::vector<double> x;
  std::vector<double> y;
  Mark mark = Mark::line;
  Paint paint = {};
  std::vector<double> low =
      {};  // ends of the interval of each bar or of the band; empty, or NaN: none
  std::vector<double> high = {};
  bool fine = false;  // a thinner line: what stands behind the others
};

// A line across the panel that marks a value: full travel, sag.
struct Reference {
  std::string label;
  double at = 0.0;
  bool vertical = false;  // at x in place of y
};

// A place on a curve with a ring around it.
struct Spot {
  double x = 0.0;
  double y = 0.0;
  std::string label;  // left out where there is no room for it
  Paint paint = {};
};

// A part of the x axis that is set apart.
struct Zone {
  double from = 0.0;
  double to = 0.0;
  std::string label;
  bool shaded = true;
};

// Values in cells of equal size, with a scale of colours beside them.
struct CellMap {
  std::vector<std::string> columns;  // what the cells stand for, left to right
  std::vector<std::string> rows;     // bottom to top
  std::vector<double> values;        // row by row; NaN: an empty cell
  std::string label;                 // of the values, with their unit
  int decimals = 0;                  // of a value as it is printed
};

// A column of a strip: a text in each row, and where it has values a bar before the text.
struct StripColumn {
  std::string label;
  std::string unit;
  std::vector<std::string> texts;
  std::vector<double> values = {};         // none below 0; NaN: no bar
  std::vector<std::string> warnings = {};  // behind the text
  double limit = kUnset;                   // a mark across the bars: full travel
};

// A table with a row for each variant, which also tells their lines apart.
struct Strip {
  std::vector<std::string> rows;  // top to bottom
  std::vector<Paint> paints;      // of each
  std::vector<StripColumn> columns;
};

// Ends of an axis; unset: as the values and marks ask for.
struct AxisEnds {
  double low = kUnset;
  double high = kUnset;
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
  Strip strip = {};                    // where it has rows, the panel has no series
  std::vector<Spot> spots = {};
  std::vector<Zone> zones = {};
  bool beside = false;  // right of the panel before it
  bool clock = false;   // x is a time [s] and shows in minutes and seconds
  double height = 1.0;  // of a panel of curves, in ordinary ones
  AxisEnds x_ends = {};
  AxisEnds y_ends = {};
};

struct Figure {
  std::string title;
  std::vector<Panel> panels;
};

}  // namespace plunge
