// How wide a text is: the widths of the letters of DejaVu Serif Condensed, in which figures are
// set. Its digits are all of one width.
//
// No font is read. ASCII has its own widths; of other letters the width is a guess on the wide
// side, a place in the table of each script.
#pragma once

#include <string>
#include <string_view>

namespace plunge {

inline constexpr char kFigureFont[] = "DejaVu Serif Condensed";

// In the unit of `size`, the height of the letters.
double text_width(std::string_view text, double size, bool bold = false);

// The text, or as much of it as fits with an ellipsis behind.
std::string fitted(std::string_view text, double width, double size, bool bold = false);

}  // namespace plunge
