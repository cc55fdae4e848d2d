// Pango and cairo as figures and sheets use them: handles that give themselves back, letters that
// measure the same on every machine, files without a date.
//
// The font is DejaVu Serif Condensed, whose figures are of equal width, laid out without hinting at
// a resolution of 72 dots an inch.
#pragma once

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <pango/pangocairo.h>

#include <memory>
#include <string>

namespace plunge {

// What the libraries hand out, given back where its owner ends.
template <auto give_back>
struct GiveBack {
  template <class Thing>
  void operator()(Thing* thing) const {
    give_back(thing);
  }
};
using Surface = std::unique_ptr<cairo_surface_t, GiveBack<cairo_surface_destroy>>;
using CairoContext = std::unique_ptr<cairo_t, GiveBack<cairo_destroy>>;
using FontMap = std::unique_ptr<PangoFontMap, GiveBack<g_object_unref>>;
using TextContext = std::unique_ptr<PangoContext, GiveBack<g_object_unref>>;
using TextLines = std::unique_ptr<PangoLayout, GiveBack<g_object_unref>>;
using FontDescription =
    std::unique_ptr<PangoFontDescription, GiveBack<pango_font_description_free>>;

// Letters without hinting, so that they measure the same whatever the desktop's settings are.
void set_plain_letters(PangoContext* context);

// Its size is in units of the drawing.
FontDescription serif_font(double size, bool bold = false, bool italic = false);

// Throws RunError where the font is not installed: another one would not fit.
void demand_serif(PangoFontMap* fonts, PangoContext* context);

// Appends to the std::string that `text` points to.
cairo_status_t append_bytes(void* text, const unsigned char* bytes, unsigned int count);

// Gives a PDF its title and a fixed date, so that the same page is the same file.
void entitle_pdf(cairo_surface_t* surface, const std::string& title);

// Throws RunError for what is no success: "cannot draw the <what>: ...".
void demand_drawn(cairo_status_t status, const char* what);

// Ends the drawing. Throws RunError where the library failed: "cannot draw the <what>: ...".
void finish_drawing(cairo_surface_t* surface, const char* what);

}  // namespace plunge
