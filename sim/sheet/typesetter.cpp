#include "sim/sheet/typesetter.hpp"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <fmt/core.h>
#include <pango/pangocairo.h>

#include <array>
#include <cmath>
#include <regex>

#include "models/setup/fault.hpp"

namespace plunge {
namespace {

// What the libraries hand out, given back where its owner ends.
template <auto give_back>
struct GiveBack {
  template <class Thing>
  void operator()(Thing* thing) const {
    give_back(thing);
  }
};
using Surface = std::unique_ptr<cairo_surface_t, GiveBack<cairo_surface_destroy>>;
using Drawing = std::unique_ptr<cairo_t, GiveBack<cairo_destroy>>;
using Options = std::unique_ptr<cairo_font_options_t, GiveBack<cairo_font_options_destroy>>;
using FontMap = std::unique_ptr<PangoFontMap, GiveBack<g_object_unref>>;
using Context = std::unique_ptr<PangoContext, GiveBack<g_object_unref>>;
using Font = std::unique_ptr<PangoFont, GiveBack<g_object_unref>>;
using Lines = std::unique_ptr<PangoLayout, GiveBack<g_object_unref>>;
using Description = std::unique_ptr<PangoFontDescription, GiveBack<pango_font_description_free>>;

constexpr double kPointsOfMm = 1.0 / kMmOfPoint;

double mm_of(int units) { return kMmOfPoint * units / PANGO_SCALE; }

std::array<double, 3> rgb(Ink ink) {
  switch (ink) {
    case Ink::grey:
      return {0.33, 0.33, 0.32};
    case Ink::pale:
      return {0.72, 0.71, 0.68};
    case Ink::red:
      return {0.60, 0.16, 0.10};
    case Ink::black:
      break;
  }
  return {0.08, 0.08, 0.09};
}

constexpr std::array<double, 3> kShade = {0.965, 0.955, 0.93};

// Letters without hinting, so that they measure the same whatever the desktop's settings are.
void demand_plain_letters(PangoContext* context) {
  const Options options(cairo_font_options_create());
  cairo_font_options_set_hint_style(options.get(), CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options.get(), CAIRO_HINT_METRICS_OFF);
  cairo_font_options_set_antialias(options.get(), CAIRO_ANTIALIAS_GRAY);
  pango_cairo_context_set_font_options(context, options.get());
  pango_cairo_context_set_resolution(context, 72.0);
  pango_context_set_round_glyph_positions(context, FALSE);
  pango_context_set_base_dir(context, PANGO_DIRECTION_LTR);
  pango_context_set_language(context, pango_language_from_string("en"));
}

Description font_of(const TextStyle& style) {
  Description font(pango_font_description_new());
  pango_font_description_set_family_static(font.get(), "DejaVu Serif");
  pango_font_description_set_stretch(font.get(), PANGO_STRETCH_SEMI_CONDENSED);
  pango_font_description_set_weight(font.get(),
                                    style.bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
  pango_font_description_set_style(font.get(),
                                   style.italic ? PANGO_STYLE_ITALIC : PANGO_STYLE_NORMAL);
  pango_font_description_set_absolute_size(font.get(), style.size * PANGO_SCALE);
  return font;
}

Lines lines_of(PangoContext* context, const ColumnText& text) {
  Lines lines(pango_layout_new(context));
  pango_layout_set_font_description(lines.get(), font_of(text.style).get());
  pango_layout_set_auto_dir(lines.get(), FALSE);
  pango_layout_set_text(lines.get(), text.text.data(), static_cast<int>(text.text.size()));
  pango_layout_set_width(lines.get(),
                         static_cast<int>(std::lround(text.width * kPointsOfMm * PANGO_SCALE)));
  pango_layout_set_wrap(lines.get(), PANGO_WRAP_WORD_CHAR);
  pango_layout_set_height(lines.get(), -text.lines);
  pango_layout_set_ellipsize(lines.get(), PANGO_ELLIPSIZE_END);
  constexpr PangoAlignment kAlignments[] = {PANGO_ALIGN_LEFT, PANGO_ALIGN_RIGHT,
                                            PANGO_ALIGN_CENTER};
  pango_layout_set_alignment(lines.get(), kAlignments[static_cast<int>(text.style.align)]);
  return lines;
}

void set_ink(cairo_t* drawing, Ink ink) {
  const auto [red, green, blue] = rgb(ink);
  cairo_set_source_rgb(drawing, red, green, blue);
}

void draw_frame(cairo_t* drawing, const Frame& frame) {
  cairo_rectangle(drawing, frame.box.x, frame.box.y, frame.box.width, frame.box.height);
  if (frame.shaded) {
    cairo_set_source_rgb(drawing, kShade[0], kShade[1], kShade[2]);
    cairo_fill_preserve(drawing);
  }
  if (frame.width > 0.0) {
    set_ink(drawing, frame.ink);
    cairo_set_line_width(drawing, frame.width);
    cairo_stroke(drawing);
  }
  cairo_new_path(drawing);
}

void draw_stroke(cairo_t* drawing, const Stroke& stroke) {
  constexpr double kDashes[] = {1.6, 1.1};  // [mm]
  set_ink(drawing, stroke.ink);
  cairo_set_line_width(drawing, stroke.width);
  cairo_set_dash(drawing, kDashes, stroke.dashed ? 2 : 0, 0.0);
  for (const Place2& place : stroke.places) cairo_line_to(drawing, place.x, place.y);
  cairo_stroke(drawing);
}

void draw(cairo_surface_t* surface, const SheetPage& page) {
  const Drawing drawing(cairo_create(surface));
  const Context context(pango_cairo_create_context(drawing.get()));
  demand_plain_letters(context.get());
  cairo_save(drawing.get());
  cairo_scale(drawing.get(), kPointsOfMm, kPointsOfMm);
  cairo_set_line_join(drawing.get(), CAIRO_LINE_JOIN_ROUND);
  for (const Frame& frame : page.frames) draw_frame(drawing.get(), frame);
  for (const Stroke& stroke : page.strokes) draw_stroke(drawing.get(), stroke);
  cairo_restore(drawing.get());
  for (const PlacedText& text : page.texts) {
    const Lines lines = lines_of(context.get(), text.column);
    set_ink(drawing.get(), text.column.style.ink);
    cairo_move_to(drawing.get(), text.x * kPointsOfMm, text.y * kPointsOfMm);
    pango_cairo_show_layout(drawing.get(), lines.get());
  }
  cairo_show_page(drawing.get());
  cairo_surface_finish(surface);
  const cairo_status_t status = cairo_surface_status(surface);
  if (status != CAIRO_STATUS_SUCCESS) {
    throw RunError(fmt::format("cannot draw the sheet: {}", cairo_status_to_string(status)));
  }
}

cairo_status_t take_bytes(void* closure, const unsigned char* bytes, unsigned int count) {
  static_cast<std::string*>(closure)->append(reinterpret_cast<const char*>(bytes), count);
  return CAIRO_STATUS_SUCCESS;
}

}  // namespace

struct Typesetter::Parts {
  FontMap fonts{pango_cairo_font_map_new()};
  Context context{pango_font_map_create_context(fonts.get())};
};

Typesetter::Typesetter() : parts_(std::make_unique<Parts>()) {
  demand_plain_letters(parts_->context.get());
  const Font font(pango_font_map_load_font(parts_->fonts.get(), parts_->context.get(),
                                           font_of(TextStyle{}).get()));
  const Description found(font ? pango_font_describe(font.get()) : pango_font_description_new());
  const char* const family = pango_font_description_get_family(found.get());
  const bool condensed = pango_font_description_get_stretch(found.get()) < PANGO_STRETCH_NORMAL;
  if (family != nullptr && std::string(family).starts_with("DejaVu Serif") && condensed) return;
  throw RunError(fmt::format("the font {} is not installed (on Debian: apt-get install {})",
                             kSheetFont, kSheetFontPackage));
}

Typesetter::~Typesetter() = default;

PageBox Typesetter::measured(const ColumnText& text) const {
  const Lines lines = lines_of(parts_->context.get(), text);
  PangoRectangle box;
  pango_layout_get_extents(lines.get(), nullptr, &box);
  return {mm_of(box.x), mm_of(box.y), mm_of(box.width), mm_of(box.height)};
}

std::string page_pdf(const SheetPage& page) {
  std::string bytes;
  const Surface surface(cairo_pdf_surface_create_for_stream(
      take_bytes, &bytes, page.paper.width * kPointsOfMm, page.paper.height * kPointsOfMm));
  // A fixed date, so that the same page is the same file.
  constexpr char kNoDate[] = "2000-01-01T00:00:00Z";
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_TITLE, page.title.c_str());
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_CREATE_DATE, kNoDate);
  cairo_pdf_surface_set_metadata(surface.get(), CAIRO_PDF_METADATA_MOD_DATE, kNoDate);
  draw(surface.get(), page);
  return bytes;
}

std::string page_svg(const SheetPage& page) {
  std::string bytes;
  const Surface surface(cairo_svg_surface_create_for_stream(
      take_bytes, &bytes, page.paper.width * kPointsOfMm, page.paper.height * kPointsOfMm));
  draw(surface.get(), page);  // letters become outlines that are used again
  // The library counts the surfaces of the process in a name that nothing refers to.
  bytes = std::regex_replace(bytes, std::regex(" id=\"surface[0-9]+\""), "");
  return bytes.substr(bytes.find("<svg"));
}

}  // namespace plunge
