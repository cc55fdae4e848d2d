// A picture as a list of what is drawn, one over the other: for any way of drawing.
//
// Lengths are pixels of the screen (1/96 inch on paper) from the top left corner. Everything stands
// inside the picture; what reached over an edge has been cut off already.
#pragma once

#include <span>
#include <string>
#include <vector>

namespace plunge {

struct DrawnPlace {
  double x = 0.0;
  double y = 0.0;
};

// What something is drawn in, by name. What the name looks like is the paper's matter: palette.hpp
// says it for files, a page's style sheet for the page.
enum class Hue {
  ink,
  quiet,  // labels of axes, references, curves that are given
  axis,
  grid,
  zone,
  paper,
  warning,
  palette,  // the colour of that number
  shade,    // of a line: a share of the one ordered ramp, 0 pale to 1 dark
  ramp,     // of an area: likewise
  on_ramp   // letters on an area of that share
};

struct Colour {
  Hue hue = Hue::ink;
  int number = 0;
  double share = 0.0;
  bool operator==(const Colour&) const = default;
};

enum class Dash { none, dashes, dots, dash_dots };

// Lines through places with round ends, or areas. A line of a single place is a dot as wide as it.
struct DrawnShape {
  std::vector<std::vector<DrawnPlace>> lines;
  Colour colour = {};
  bool filled = false;  // the areas within the lines, in place of the lines
  double width = 1.0;   // of lines
  Dash dash = Dash::none;
  double opacity = 1.0;
};

enum class Anchor { start, middle, end };

struct DrawnText {
  std::string text;  // one line
  DrawnPlace at;     // on the base line of its letters, at its anchor
  double size = 12.0;
  Anchor anchor = Anchor::start;
  bool bold = false;
  bool upwards = false;  // turned to the left, to be read from below
  Colour colour = {};
};

// The texts lie over the shapes.
struct Drawing {
  double width = 0.0;
  double height = 0.0;
  std::string title;
  std::string description;
  std::vector<DrawnShape> shapes;
  std::vector<DrawnText> texts;
};

// Lengths of strokes and gaps.
std::span<const double> lengths_of(Dash dash);

// How much of a text's width stands before its anchor.
double before_anchor(Anchor anchor, double width);

// The room that a text takes up.
struct TextBox {
  double left = 0.0;
  double top = 0.0;
  double right = 0.0;
  double bottom = 0.0;
};
TextBox box_of(const DrawnText& text);
bool meet(const TextBox& a, const TextBox& b);

}  // namespace plunge
