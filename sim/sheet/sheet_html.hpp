// A sheet as one HTML file that needs nothing else: the page drawn as SVG, and its words as text.
//
// The drawing is the very page that a PDF holds. Its letters are outlines, so that it looks the
// same on any machine; the words stand below it in the order of reading for those who hear or
// search them, and are not shown or printed. Printed at the paper's size it is the page.
#pragma once

#include <string>

#include "sim/sheet/sheet_page.hpp"

namespace plunge {

std::string page_html(const SheetPage& page);

}  // namespace plunge
