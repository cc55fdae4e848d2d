// Plots for print and screen: traces and curves in panels, drawn by gnuplot.
//
// The suffix of the path chooses the format: .png, .svg or .pdf. A figure holds panels, one below
// the other or side by side. The legend stands to the right of the data, once where all panels
// share it. Where panels below one another share the label of their x axis, they share the axis.
// Units belong into the labels: "travel [m]". Text shows as it is given; nothing in it is markup.
//
// Limits: a value that is not finite leaves a gap, as does one <= 0 on a logarithmic axis. A long
// trace is thinned to the lowest and highest value of each run of samples, so that peaks stay.
// The same figure gives the same file.
#pragma once

#include <string>
#include <vector>

namespace plunge {

enum class Mark { line, dashed, points };

struct Series {
  std::string label;  // empty: not in the legend
  std::vector<double> x;
  std::vector<double> y;
  Mark mark = Mark::line;
  int colour = -1;  // number of a colour, from 0, for series that belong together; -1: the next
};

// A line across the panel that marks a value: full travel, sag.
struct Reference {
  std::string label;
  double at = 0.0;
  bool vertical = false;  // at x in place of y
};

struct Panel {
  std::string title;
  std::string x_label;
  std::string y_label;
  std::vector<Series> series;
  std::vector<Reference> references;
  bool log_x = false;
  bool log_y = false;
};

enum class Arrangement { stacked, side_by_side };

struct Figure {
  std::string title;
  std::vector<Panel> panels;
  Arrangement arrangement = Arrangement::stacked;
};

// Throws InputError for a name that draw() refuses.
void demand_plot_name(const std::string& path);

// Writes the figure, all or nothing (sim/atomic_file.hpp). Throws InputError for another suffix,
// RunError where gnuplot is missing or fails or the disk refuses, std::invalid_argument for a
// figure without panels or a series whose x and y differ in length.
void draw(const Figure& figure, const std::string& path);

}  // namespace plunge
