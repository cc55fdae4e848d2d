#include "sim/report/pango_cairo.hpp"

#include <fmt/core.h>

#include "models/setup/fault.hpp"

namespace plunge {
namespace {

using FontOptions = std::unique_ptr<cairo_font_options_t, GiveBack<cairo_font_options_destroy>>;
using Font = std::unique_ptr<PangoFont, GiveBack<g_object_unref>>;

constexpr char kFamily[] = "DejaVu Serif";
constexpr char kFontPackage[] = "fonts-dejavu-extra";  // of Debian

}  // namespace

void set_plain_letters(PangoContext* context) {
  const FontOptions options(cairo_font_options_create());
  cairo_font_options_set_hint_style(options.get(), CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options.get(), CAIRO_HINT_METRICS_OFF);
  cairo_font_options_set_antialias(options.get(), CAIRO_ANTIALIAS_GRAY);
  pango_cairo_context_set_font_options(context, options.get());
  pango_cairo_context_set_resolution(context, 72.0);
  pango_context_set_round_glyph_positions(context, FALSE);
  pango_context_set_base_dir(context, PANGO_DIRECTION_LTR);
  pango_context_set_language(context, pango_language_from_string("en"));
}

FontDescription serif_font(double size, bool bold, bool italic) {
  FontDescription font(pango_font_description_new());
  pango_font_description_set_family_static(font.get(), kFamily);
  pango_font_description_set_stretch(font.get(), PANGO_STRETCH_SEMI_CONDENSED);
  pango_font_description_set_weight(font.get(), bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
  pango_font_description_set_style(font.get(), italic ? PANGO_STYLE_ITALIC : PANGO_STYLE_NORMAL);
  pango_font_description_set_absolute_size(font.get(), size * PANGO_SCALE);
  return font;
}

void demand_serif(PangoFontMap* fonts, PangoContext* context) {
  const Font font(pango_font_map_load_font(fonts, context, serif_font(10.0).get()));
  const FontDescription found(font ? pango_font_describe(font.get())
                                   : pango_font_description_new());
  const char* const family = pango_font_description_get_family(found.get());
  const bool condensed = pango_font_description_get_stretch(found.get()) < PANGO_STRETCH_NORMAL;
  if (family != nullptr && std::string(family).starts_with(kFamily) && condensed) return;
  throw RunError(
      fmt::format("the font {} Condensed is not installed (on Debian: apt-get install {})", kFamily,
                  kFontPackage));
}

cairo_status_t append_bytes(void* text, const unsigned char* bytes, unsigned int count) {
  static_cast<std::string*>(text)->append(reinterpret_cast<const char*>(bytes), count);
  return CAIRO_STATUS_SUCCESS;
}

void entitle_pdf(cairo_surface_t* surface, const std::string& title) {
  constexpr char kNoDate[] = "2000-01-01T00:00:00Z";
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, title.c_str());
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, kNoDate);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_MOD_DATE, kNoDate);
}

void demand_drawn(cairo_status_t status, const char* what) {
  if (status == CAIRO_STATUS_SUCCESS) return;
  throw RunError(fmt::format("cannot draw the {}: {}", what, cairo_status_to_string(status)));
}

void finish_drawing(cairo_surface_t* surface, const char* what) {
  cairo_surface_finish(surface);
  demand_drawn(cairo_surface_status(surface), what);
}

}  // namespace plunge
