#include "sim/figure/drawing.hpp"

#include <array>

#include "sim/figure/letters.hpp"

namespace plunge {

std::span<const double> lengths_of(Dash dash) {
  static constexpr std::array<double, 2> kDashes = {7.0, 4.0};
  static constexpr std::array<double, 2> kDots = {1.0, 3.5};
  static constexpr std::array<double, 4> kDashAndDot = {9.0, 3.5, 1.0, 3.5};
  switch (dash) {
    case Dash::dashes:
      return kDashes;
    case Dash::dots:
      return kDots;
    case Dash::dash_dots:
      return kDashAndDot;
    case Dash::none:
      break;
  }
  return {};
}

double before_anchor(Anchor anchor, double width) {
  switch (anchor) {
    case Anchor::start:
      return 0.0;
    case Anchor::middle:
      return 0.5 * width;
    case Anchor::end:
      break;
  }
  return width;
}

TextBox box_of(const DrawnText& text) {
  constexpr double kAbove = 0.76;  // of the base line: capitals are 0.73 high
  constexpr double kBelow = 0.24;
  const double width = text_width(text.text, text.size, text.bold);
  const double before = before_anchor(text.anchor, width);
  const DrawnPlace& at = text.at;
  if (text.upwards) {
    return {at.x - kAbove * text.size, at.y + before - width, at.x + kBelow * text.size,
            at.y + before};
  }
  return {at.x - before, at.y - kAbove * text.size, at.x - before + width,
          at.y + kBelow * text.size};
}

bool meet(const TextBox& a, const TextBox& b) {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

}  // namespace plunge
