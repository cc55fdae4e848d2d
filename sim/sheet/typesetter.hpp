// Letters of a page: how much room they take, and the page drawn as PDF or SVG.
//
// What is measured is what is drawn: one font, DejaVu Serif Condensed with its figures of equal
// width, laid out by Pango without hinting, at a resolution of 72 dots an inch. The same page gives
// the same bytes: a PDF bears no date of the clock, and a SVG draws its letters as outlines, so
// that it looks the same where the font is missing.
// Throws RunError where the font is not installed: another one would not fit the page.
#pragma once

#include <memory>
#include <string>

#include "sim/sheet/sheet_page.hpp"

namespace plunge {

class Typesetter {
 public:
  Typesetter();
  ~Typesetter();
  Typesetter(const Typesetter&) = delete;
  Typesetter& operator=(const Typesetter&) = delete;

  // The box of the letters of a text whose column begins at 0, 0 [mm]: as wide as the widest line,
  // as high as all lines.
  PageBox measured(const ColumnText& text) const;

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

// The bytes of a file of one page. Throws RunError where the library fails.
std::string page_pdf(const SheetPage& page);
std::string page_svg(const SheetPage& page);  // the element alone, without an XML declaration

}  // namespace plunge
