// Where everything of a figure stands: the numbers that a drawing needs, and no more.
//
// Lengths are pixels of the screen (1/96 inch on paper) from the top left corner; what is drawn
// inside a panel is in the values of its axes. Texts are as they show: one line, cut where they are
// too long. A long trace is thinned to the lowest and highest value of each run of samples, so that
// peaks stay.
#pragma once

#include <string>
#include <vector>

#include "models/laws/constants.hpp"
#include "sim/figure/drawing.hpp"
#include "sim/figure/figure.hpp"
#include "sim/figure/ticks.hpp"

namespace plunge {

// Heights of letters.
inline constexpr double kTitleText = 16.0;
inline constexpr double kHeadingText = 13.0;
inline constexpr double kLabelText = 12.0;
inline constexpr double kNumberText = 11.5;
inline constexpr double kNoteText = 11.0;

inline constexpr double kLineHeight = 15.0;  // of labels below one another
inline constexpr double kLegendSample = 24.0;

struct Box {
  double left = 0.0;
  double top = 0.0;
  double width = 0.0;
  double height = 0.0;
};

struct AxisLayout {
  Range range;
  bool logarithmic = false;
  std::vector<Tick> ticks;
  bool named = false;  // the ticks are names of rows or columns, without marks
};

struct DataPoint {
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
  std::string label;  // empty: not labelled
  Mark mark = Mark::line;
  Paint paint;
  bool fine = false;
  std::vector<std::vector<DataPoint>> strokes;  // without gaps; of a band its outlines
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

struct LegendEntry {
  std::string label;
  Mark mark = Mark::line;
  Paint paint;
  DrawnPlace at;  // left end of its sample, at the middle of the line
};

// A column of a strip from `left` on, `width` wide; a bar's length is a share of `bar`.
struct ColumnLayout {
  StripColumn column;  // texts as they show
  double left = 0.0;
  double width = 0.0;
  double bar = 0.0;      // of the largest value; 0: no bars
  double largest = 1.0;  // value
};

enum class PanelKind { curves, bars, map, strip };

struct PanelLayout {
  PanelKind kind = PanelKind::curves;
  Box data;
  Box room;  // with all that belongs to the panel
  std::string title;
  std::string x_label;
  std::string y_label;
  double title_line = 0.0;  // base line
  double label_line = 0.0;  // of the label of the y axis
  AxisLayout x;
  AxisLayout y;
  bool has_x_labels = true;     // numbers and label under the panel
  bool has_end_labels = false;  // names of lines right of them
  std::vector<LegendEntry> legend;
  std::vector<SeriesLayout> series;
  std::vector<Reference> references;
  std::vector<Spot> spots;
  std::vector<Zone> zones;
  MapLayout map;
  Strip strip;  // without columns
  std::vector<ColumnLayout> columns;
};

struct FigureLayout {
  double width = 0.0;
  double height = 0.0;
  double curve = 1.5;  // width of lines
  std::string title;
  DrawnPlace title_at;
  std::vector<PanelLayout> panels;
};

// Height of a row of a strip, and of the two lines above its rows.
inline constexpr double kStripRow = 19.0;
inline constexpr double kStripHead = 34.0;

}  // namespace plunge
