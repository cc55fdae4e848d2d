// One page as a list of what stands on it: texts, strokes and boxes, for any way of drawing.
//
// Lengths are millimetres from the top left corner of the paper, sizes of letters points (1/72
// inch). Every text knows the box that it takes up, as it was measured when it was placed.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace plunge {

inline constexpr double kMmOfPoint = 25.4 / 72.0;  // [mm], by definition

struct Paper {
  std::string_view name;
  double width = 0.0;   // [mm]
  double height = 0.0;  // [mm]
};

// A4: ISO 216. Letter: ANSI/ASME Y14.1, 8.5 by 11 inches.
inline constexpr Paper kPapers[] = {{"a4", 210.0, 297.0}, {"letter", 215.9, 279.4}};

enum class Ink { black, grey, pale, red };
enum class Align { left, right, centre };

struct TextStyle {
  double size = 9.0;  // [pt]
  bool bold = false;
  bool italic = false;
  Ink ink = Ink::black;
  Align align = Align::left;
};

// A text in a column of a width, broken between words into at most so many lines; what does not fit
// ends in an ellipsis.
struct ColumnText {
  std::string text;  // no markup, without control characters
  TextStyle style;
  double width = 0.0;  // [mm]
  int lines = 1;
};

// A rectangle [mm].
struct PageBox {
  double x = 0.0;
  double y = 0.0;
  double width = 0.0;
  double height = 0.0;
};

struct PlacedText {
  ColumnText column;
  double x = 0.0;  // of the column's top left corner [mm]
  double y = 0.0;
  PageBox box;   // that its letters take up
  PageBox room;  // that it was given and must stay within
};

struct Place2 {
  double x = 0.0;
  double y = 0.0;
};

// A line through places, from one to the next.
struct Stroke {
  std::vector<Place2> places;
  double width = 0.2;  // [mm]
  Ink ink = Ink::black;
  bool dashed = false;
};

// A frame, filled where it says so.
struct Frame {
  PageBox box;
  double width = 0.2;  // of its line [mm]; 0: none
  Ink ink = Ink::black;
  bool shaded = false;
};

struct SheetPage {
  Paper paper;
  std::string title;
  std::vector<Frame> frames;  // below everything else
  std::vector<Stroke> strokes;
  std::vector<PlacedText> texts;  // in the order of reading
};

}  // namespace plunge
