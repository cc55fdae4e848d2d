#include "sim/figure/drawing_svg.hpp"

#include <fmt/core.h>

#include <cmath>

#include "sim/figure/letters.hpp"
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

std::string colour(const Rgb& rgb) {
  return fmt::format("#{:02x}{:02x}{:02x}", rgb[0], rgb[1], rgb[2]);
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

std::string shape_tag(const DrawnShape& shape) {
  std::string tag = "<path ";
  if (shape.filled) {
    tag += fmt::format("fill=\"{}\" stroke=\"none\"", colour(shape.colour));
  } else {
    tag +=
        fmt::format("stroke=\"{}\" stroke-width=\"{}\"", colour(shape.colour), length(shape.width));
    std::string dashes;
    for (const double part : lengths_of(shape.dash)) {
      dashes += (dashes.empty() ? "" : " ") + length(part);
    }
    if (!dashes.empty()) tag += fmt::format(" stroke-dasharray=\"{}\"", dashes);
  }
  if (shape.opacity < 1.0) tag += fmt::format(" opacity=\"{}\"", length(shape.opacity));
  return tag + fmt::format(" d=\"{}\"/>\n", path(shape));
}

std::string text_tag(const DrawnText& text) {
  const std::string x = length(text.at.x);
  const std::string y = length(text.at.y);
  std::string tag = fmt::format("<text x=\"{}\" y=\"{}\" font-size=\"{}\" fill=\"{}\"", x, y,
                                length(text.size), colour(text.colour));
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
  for (const DrawnShape& shape : drawing.shapes) svg += shape_tag(shape);
  svg += fmt::format("</g>\n<g font-family=\"'{}', 'DejaVu Serif', serif\" ", kFigureFont) +
         "style=\"font-variant-numeric:lining-nums tabular-nums\" xml:space=\"preserve\">\n";
  for (const DrawnText& text : drawing.texts) svg += text_tag(text);
  return svg + "</g>\n</svg>\n";
}

std::string drawing_svg(const Drawing& drawing) {
  return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n" + drawing_element(drawing);
}

}  // namespace plunge
