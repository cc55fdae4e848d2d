#include "sim/figure/drawing_svg.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "sim/figure/letters.hpp"
#include "sim/figure/palette.hpp"
#include "sim/text/words.hpp"

namespace plunge {
namespace {

// A length in hundredths of a pixel, as short as it can be written.
std::string length(double value) {
  std::string text = fmt::format("{:.2f}", value);
  while (text.back() == '0') text.pop_back();
  if (text.back() == '.') text.pop_back();
  return text == "-0" ? "0" : text;
}

// A place in tenths of a pixel.
long tenths(double value) { return std::lround(10.0 * value); }

std::string tenths_text(long value) {
  const char* const sign = value < 0 ? "-" : "";
  const long size = std::labs(value);
  if (size % 10 == 0) return fmt::format("{}{}", sign, size / 10);
  return fmt::format("{}{}.{}", sign, size / 10 == 0 ? "" : std::to_string(size / 10), size % 10);
}

// Whether an SVG stands alone, with the colours of files, or in a page whose style sheet has them.
enum class Place { file, page };

std::string hex(const Colour& colour) {
  const Rgb rgb = rgb_of(colour);
  return fmt::format("#{:02x}{:02x}{:02x}", rgb[0], rgb[1], rgb[2]);
}

// A colour by its name, for a style sheet: a class, and where it is a share of a ramp that share.
std::string named(const Colour& colour) {
  const auto one = [](const char* name) { return fmt::format("class=\"{}\"", name); };
  const auto mixed = [&](const char* name) {
    const long share = std::lround(100.0 * std::clamp(colour.share, 0.0, 1.0));
    return fmt::format("class=\"{}\" style=\"--share:{}%\"", name, share);
  };
  switch (colour.hue) {
    case Hue::ink:
      return one("ink");
    case Hue::quiet:
      return one("quiet");
    case Hue::axis:
      return one("axis");
    case Hue::grid:
      return one("grid");
    case Hue::zone:
      return one("zone");
    case Hue::paper:
      return one("paper");
    case Hue::warning:
      return one("warning");
    case Hue::palette:
      return fmt::format("class=\"colour-{}\"", colour.number);
    case Hue::shade:
      return mixed("shade");
    case Hue::ramp:
      return mixed("ramp");
    case Hue::on_ramp:
      break;
  }
  return one(are_light(colour) ? "on-dark" : "on-pale");
}

// Places as a path: where it begins, then steps.
std::string path(const DrawnShape& shape) {
  std::string data;
  for (const std::vector<DrawnPlace>& places : shape.lines) {
    if (places.empty()) continue;
    long x = tenths(places.front().x);
    long y = tenths(places.front().y);
    data += fmt::format("M{} {}", tenths_text(x), tenths_text(y));
    if (places.size() == 1) data += "h0";
    bool first = true;
    for (std::size_t i = 1; i < places.size(); ++i) {
      const long next_x = tenths(places[i].x);
      const long next_y = tenths(places[i].y);
      data += fmt::format("{}{} {}", first ? "l" : " ", tenths_text(next_x - x),
                          tenths_text(next_y - y));
      first = false;
      x = next_x;
      y = next_y;
    }
    if (shape.filled) data += "z";
  }
  return data;
}

std::string shape_tag(const DrawnShape& shape, Place place) {
  const bool alone = place == Place::file;
  std::string tag = "<path ";
  if (shape.filled) {
    tag += alone ? fmt::format("fill=\"{}\" stroke=\"none\"", hex(shape.colour))
                 : named(shape.colour) + " fill=\"currentColor\" stroke=\"none\"";
  } else {
    tag += alone ? fmt::format("stroke=\"{}\"", hex(shape.colour)) : named(shape.colour);
    tag += fmt::format(" stroke-width=\"{}\"", length(shape.width));
    std::string dashes;
    for (const double part : lengths_of(shape.dash)) {
      dashes += (dashes.empty() ? "" : " ") + length(part);
    }
    if (!dashes.empty()) tag += fmt::format(" stroke-dasharray=\"{}\"", dashes);
  }
  if (shape.opacity < 1.0) tag += fmt::format(" opacity=\"{}\"", length(shape.opacity));
  return tag + fmt::format(" d=\"{}\"/>\n", path(shape));
}

std::string text_tag(const DrawnText& text, Place place) {
  const std::string x = length(text.at.x);
  const std::string y = length(text.at.y);
  const bool alone = place == Place::file;
  std::string tag =
      fmt::format("<text x=\"{}\" y=\"{}\" font-size=\"{}\" {}", x, y, length(text.size),
                  alone ? fmt::format("fill=\"{}\"", hex(text.colour)) : named(text.colour));
  if (text.anchor == Anchor::middle) tag += " text-anchor=\"middle\"";
  if (text.anchor == Anchor::end) tag += " text-anchor=\"end\"";
  if (text.bold) tag += " font-weight=\"bold\"";
  if (text.upwards) tag += fmt::format(" transform=\"rotate(-90 {} {})\"", x, y);
  return tag + ">" + markup_of(text.text) + "</text>\n";
}

}  // namespace

std::string drawing_element(const Drawing& drawing) {
  std::string svg = fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0}\" height=\"{1}\" "
      "viewBox=\"0 0 {0} {1}\" role=\"img\">\n",
      length(drawing.width), length(drawing.height));
  if (!drawing.title.empty()) svg += "<title>" + markup_of(drawing.title) + "</title>\n";
  if (!drawing.description.empty()) svg += "<desc>" + markup_of(drawing.description) + "</desc>\n";
  svg += "<g fill=\"none\" stroke-linecap=\"round\" stroke-linejoin=\"round\">\n";
  for (const DrawnShape& shape : drawing.shapes) svg += shape_tag(shape, Place::file);
  svg += fmt::format("</g>\n<g font-family=\"'{}', 'DejaVu Serif', serif\" ", kFigureFont) +
         "style=\"font-variant-numeric:lining-nums tabular-nums\" xml:space=\"preserve\">\n";
  for (const DrawnText& text : drawing.texts) svg += text_tag(text, Place::file);
  return svg + "</g>\n</svg>\n";
}

std::string drawing_svg(const Drawing& drawing) {
  return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n" + drawing_element(drawing);
}

std::string drawing_markup(const Drawing& drawing) {
  std::string svg =
      "<g fill=\"none\" stroke=\"currentColor\" stroke-linecap=\"round\" "
      "stroke-linejoin=\"round\">\n";
  for (const DrawnShape& shape : drawing.shapes) svg += shape_tag(shape, Place::page);
  svg += "</g>\n<g fill=\"currentColor\" xml:space=\"preserve\">\n";
  for (const DrawnText& text : drawing.texts) svg += text_tag(text, Place::page);
  return svg + "</g>\n";
}

}  // namespace plunge
