#include "sim/report/picture.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "sim/figure/palette.hpp"
#include "sim/report/pango_cairo.hpp"

namespace plunge {
namespace {

constexpr double kPngScale = 2.0;
constexpr double kMostPixels = 32767.0;         // of an image in cairo, each way
constexpr double kPointsOfPixel = 72.0 / 96.0;  // by definition

void set_colour(cairo_t* cairo, const Colour& colour, double opacity = 1.0) {
  const Rgb rgb = rgb_of(colour);
  cairo_set_source_rgba(cairo, rgb[0] / 255.0, rgb[1] / 255.0, rgb[2] / 255.0, opacity);
}

void draw_shape(cairo_t* cairo, const DrawnShape& shape) {
  for (const std::vector<DrawnPlace>& places : shape.lines) {
    if (places.empty()) continue;
    cairo_move_to(cairo, places.front().x, places.front().y);
    if (places.size() == 1) cairo_line_to(cairo, places.front().x, places.front().y);
    for (std::size_t i = 1; i < places.size(); ++i) cairo_line_to(cairo, places[i].x, places[i].y);
    if (shape.filled) cairo_close_path(cairo);
  }
  set_colour(cairo, shape.colour, shape.opacity);
  if (shape.filled) {
    cairo_fill(cairo);
    return;
  }
  const std::span<const double> dashes = lengths_of(shape.dash);
  cairo_set_dash(cairo, dashes.data(), static_cast<int>(dashes.size()), 0.0);
  cairo_set_line_width(cairo, shape.width);
  cairo_stroke(cairo);
}

TextLines lines_of(PangoContext* context, const DrawnText& text) {
  TextLines lines(pango_layout_new(context));
  pango_layout_set_font_description(lines.get(), serif_font(text.size, text.bold).get());
  pango_layout_set_auto_dir(lines.get(), FALSE);
  pango_layout_set_single_paragraph_mode(lines.get(), TRUE);
  pango_layout_set_text(lines.get(), text.text.data(), static_cast<int>(text.text.size()));
  return lines;
}

double width_of(PangoLayout* lines) {
  PangoRectangle box;
  pango_layout_get_extents(lines, nullptr, &box);
  return static_cast<double>(box.width) / PANGO_SCALE;
}

void draw_text(cairo_t* cairo, PangoContext* context, const DrawnText& text) {
  const TextLines lines = lines_of(context, text);
  PangoLayoutLine* const line = pango_layout_get_line_readonly(lines.get(), 0);
  const double width = width_of(lines.get());
  const double before = before_anchor(text.anchor, width);
  cairo_save(cairo);
  cairo_translate(cairo, text.at.x, text.at.y);
  if (text.upwards) cairo_rotate(cairo, -0.5 * std::numbers::pi);
  set_colour(cairo, text.colour);
  cairo_move_to(cairo, -before, 0.0);
  pango_cairo_show_layout_line(cairo, line);
  cairo_restore(cairo);
}

// Everything, with so many units of the surface to a pixel of the drawing.
void draw(cairo_surface_t* surface, const Drawing& drawing, double scale) {
  const CairoContext cairo(cairo_create(surface));
  cairo_scale(cairo.get(), scale, scale);
  cairo_set_line_join(cairo.get(), CAIRO_LINE_JOIN_ROUND);
  cairo_set_line_cap(cairo.get(), CAIRO_LINE_CAP_ROUND);
  const TextContext context(pango_cairo_create_context(cairo.get()));
  set_plain_letters(context.get());
  demand_serif(pango_context_get_font_map(context.get()), context.get());
  for (const DrawnShape& shape : drawing.shapes) draw_shape(cairo.get(), shape);
  for (const DrawnText& text : drawing.texts) draw_text(cairo.get(), context.get(), text);
  cairo_show_page(cairo.get());
  demand_drawn(cairo_status(cairo.get()), "figure");
}

}  // namespace

std::string drawing_png(const Drawing& drawing) {
  const double largest = std::max(drawing.width, drawing.height);
  const double scale = std::min(kPngScale, kMostPixels / largest);
  const auto pixels = [&](double length) { return static_cast<int>(std::floor(length * scale)); };
  const Surface surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24, pixels(drawing.width),
                                                   pixels(drawing.height)));
  draw(surface.get(), drawing, scale);
  std::string bytes;
  demand_drawn(cairo_surface_write_to_png_stream(surface.get(), append_bytes, &bytes), "figure");
  return bytes;
}

std::string drawing_pdf(const Drawing& drawing) {
  std::string bytes;
  const Surface surface(cairo_pdf_surface_create_for_stream(
      append_bytes, &bytes, drawing.width * kPointsOfPixel, drawing.height * kPointsOfPixel));
  entitle_pdf(surface.get(), drawing.title);
  draw(surface.get(), drawing, kPointsOfPixel);
  finish_drawing(surface.get(), "figure");
  return bytes;
}

double drawn_width(const DrawnText& text) {
  const FontMap fonts(pango_cairo_font_map_new());
  const TextContext context(pango_font_map_create_context(fonts.get()));
  set_plain_letters(context.get());
  demand_serif(fonts.get(), context.get());
  return width_of(lines_of(context.get(), text).get());
}

}  // namespace plunge
