#include "sim/sheet/typesetter.hpp"

#include <array>
#include <cmath>
#include <regex>

#include "sim/report/pango_cairo.hpp"

namespace plunge {
namespace {

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

TextLines lines_of(PangoContext* context, const ColumnText& text) {
  TextLines lines(pango_layout_new(context));
  pango_layout_set_font_description(
      lines.get(), serif_font(text.style.size, text.style.bold, text.style.italic).get());
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
  const CairoContext drawing(cairo_create(surface));
  const TextContext context(pango_cairo_create_context(drawing.get()));
  set_plain_letters(context.get());
  cairo_save(drawing.get());
  cairo_scale(drawing.get(), kPointsOfMm, kPointsOfMm);
  cairo_set_line_join(drawing.get(), CAIRO_LINE_JOIN_ROUND);
  for (const Frame& frame : page.frames) draw_frame(drawing.get(), frame);
  for (const Stroke& stroke : page.strokes) draw_stroke(drawing.get(), stroke);
  cairo_restore(drawing.get());
  for (const PlacedText& text : page.texts) {
    const TextLines lines = lines_of(context.get(), text.column);
    set_ink(drawing.get(), text.column.style.ink);
    cairo_move_to(drawing.get(), text.x * kPointsOfMm, text.y * kPointsOfMm);
    pango_cairo_show_layout(drawing.get(), lines.get());
  }
  cairo_show_page(drawing.get());
  finish_drawing(surface, "sheet");
}

}  // namespace

struct Typesetter::Parts {
  FontMap fonts{pango_cairo_font_map_new()};
  TextContext context{pango_font_map_create_context(fonts.get())};
};

Typesetter::Typesetter() : parts_(std::make_unique<Parts>()) {
  set_plain_letters(parts_->context.get());
  demand_serif(parts_->fonts.get(), parts_->context.get());
}

Typesetter::~Typesetter() = default;

PageBox Typesetter::measured(const ColumnText& text) const {
  const TextLines lines = lines_of(parts_->context.get(), text);
  PangoRectangle box;
  pango_layout_get_extents(lines.get(), nullptr, &box);
  return {mm_of(box.x), mm_of(box.y), mm_of(box.width), mm_of(box.height)};
}

std::string page_pdf(const SheetPage& page) {
  std::string bytes;
  const Surface surface(cairo_pdf_surface_create_for_stream(
      append_bytes, &bytes, page.paper.width * kPointsOfMm, page.paper.height * kPointsOfMm));
  entitle_pdf(surface.get(), page.title);
  draw(surface.get(), page);
  return bytes;
}

std::string page_svg(const SheetPage& page) {
  std::string bytes;
  const Surface surface(cairo_svg_surface_create_for_stream(
      append_bytes, &bytes, page.paper.width * kPointsOfMm, page.paper.height * kPointsOfMm));
  draw(surface.get(), page);  // letters become outlines that are used again
  // The library counts the surfaces of the process in a name that nothing refers to.
  bytes = std::regex_replace(bytes, std::regex(" id=\"surface[0-9]+\""), "");
  return bytes.substr(bytes.find("<svg"));
}

}  // namespace plunge
