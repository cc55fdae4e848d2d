#include "sim/figure/figure_drawing.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <initializer_list>
#include <numbers>
#include <utility>

#include "sim/figure/curves.hpp"
#include "sim/figure/letters.hpp"
#include "sim/figure/palette.hpp"

namespace plunge {
namespace {

// [pixels]
constexpr double kAxisWidth = 0.8;
constexpr double kTickLength = 4.0;
constexpr double kFineLine = 0.55;  // of other lines: a share
constexpr double kLeaderWidth = 0.7;
constexpr double kUnseen = 0.12;   // by which a curve may be off
constexpr double kPoint = 3.6;     // half the width of a point
constexpr double kRing = 4.0;      // radius of the ring around a spot
constexpr double kFromLine = 4.0;  // between a reference and its label
constexpr double kBandOpacity = 0.28;
constexpr double kPaling = 0.75;  // of what lies under a label: a share
// From the middle of letters down to their base line, of their size.
constexpr double kDown = 0.27;

std::vector<DrawnPlace> rectangle(double left, double top, double right, double bottom) {
  return {{left, top}, {right, top}, {right, bottom}, {left, bottom}};
}

DrawnShape area(std::vector<DrawnPlace> outline, const Colour& colour) {
  DrawnShape shape;
  shape.lines.push_back(std::move(outline));
  shape.colour = colour;
  shape.filled = true;
  return shape;
}

DrawnShape line(std::vector<DrawnPlace> places, const Colour& colour, double width,
                Dash dash = Dash::none) {
  DrawnShape shape;
  shape.lines.push_back(std::move(places));
  shape.colour = colour;
  shape.width = width;
  shape.dash = dash;
  return shape;
}

Dash dash_of(Mark mark, const Paint& paint) {
  if (mark == Mark::dashed) return Dash::dashes;
  return comes_again(paint) ? Dash::dash_dots : Dash::none;
}

// The corners of a point's shape: shapes tell apart what colours may not.
std::vector<DrawnPlace> point_outline(const DrawnPlace& at, std::size_t number) {
  constexpr std::array<std::pair<int, double>, 5> kShapes = {
      {{16, 0.0}, {4, 45.0}, {3, -90.0}, {3, 90.0}, {4, 0.0}}};  // corners, turn [deg]
  const auto [corners, turn] = kShapes[number % kShapes.size()];
  std::vector<DrawnPlace> outline;
  for (int i = 0; i < corners; ++i) {
    const double angle = (turn + 360.0 * i / corners) * std::numbers::pi / 180.0;
    outline.push_back({at.x + kPoint * std::cos(angle), at.y + kPoint * std::sin(angle)});
  }
  return outline;
}

// Draws one panel after the other.
class Pen {
 public:
  Pen(Drawing& drawing, double curve) : drawing_(drawing), curve_(curve) {}

  void draw(const PanelLayout& panel) {
    panel_ = &panel;
    const Box& data = panel.data;
    box_ = {data.left, data.top, data.left + data.width, data.top + data.height};
    texts_before_ = drawing_.texts.size();
    add_headings();
    if (panel.kind == PanelKind::strip) {
      add_strip();
      return;
    }
    add_legend();
    for (const Zone& zone : panel.zones) add_zone(zone);
    if (panel.kind == PanelKind::map) {
      add_map();
    } else {
      add_grid();
    }
    add_axes();
    add_reference_lines();
    for (const SeriesLayout& series : panel.series) add_series(series);
    if (panel.has_end_labels) add_end_labels();
    add_spots();
    add_reference_labels();
    for (const Zone& zone : panel.zones) add_zone_label(zone);
  }

 private:
  // ---- places ----

  double x_of(double value) const {
    const AxisLayout& axis = panel_->x;
    return box_.left + panel_->data.width * position_on(axis.range, value, axis.logarithmic);
  }
  double y_of(double value) const {
    const AxisLayout& axis = panel_->y;
    return box_.bottom - panel_->data.height * position_on(axis.range, value, axis.logarithmic);
  }
  DrawnPlace place_of(const DataPoint& point) const { return {x_of(point.x), y_of(point.y)}; }
  DrawnPlace inside(const DrawnPlace& place) const {
    return {std::clamp(place.x, box_.left, box_.right), std::clamp(place.y, box_.top, box_.bottom)};
  }

  // ---- texts ----

  DrawnText text(std::string words, DrawnPlace at, double size, Anchor anchor,
                 const Colour& colour) const {
    DrawnText drawn;
    drawn.text = std::move(words);
    drawn.at = at;
    drawn.size = size;
    drawn.anchor = anchor;
    drawn.colour = colour;
    return drawn;
  }
  void add(DrawnText drawn) {
    if (!drawn.text.empty()) drawing_.texts.push_back(std::move(drawn));
  }
  void add(std::string words, DrawnPlace at, double size, Anchor anchor, const Colour& colour) {
    add(text(std::move(words), at, size, anchor, colour));
  }

  // Whether a text stands within the panel's data and meets no other.
  bool is_free(const DrawnText& drawn) const {
    const TextBox box = box_of(drawn);
    if (box.left < box_.left || box.right > box_.right || box.top < box_.top ||
        box.bottom > box_.bottom) {
      return false;
    }
    for (std::size_t i = texts_before_; i < drawing_.texts.size(); ++i) {
      if (meet(box, box_of(drawing_.texts[i]))) return false;
    }
    return true;
  }

  // How long the curves are within a text's room [pixels].
  double crossed(const DrawnText& drawn) const {
    const TextBox box = box_of(drawn);
    double length = 0.0;
    for (const DrawnShape& curve : curves_) {
      for (const std::vector<DrawnPlace>& places : curve.lines) {
        for (const std::vector<DrawnPlace>& part : clipped(places, box)) {
          for (std::size_t i = 1; i < part.size(); ++i) {
            length += std::hypot(part[i].x - part[i - 1].x, part[i].y - part[i - 1].y);
          }
        }
      }
    }
    return length;
  }

  // Adds the one of the places for a text that is free and least crossed, with what it crosses
  // paled; nothing where none is free.
  void add_where_free(const std::vector<DrawnText>& places) {
    const DrawnText* best = nullptr;
    double least = HUGE_VAL;
    for (const DrawnText& place : places) {
      if (!is_free(place)) continue;
      const double length = crossed(place);
      if (length >= least) continue;
      least = length;
      best = &place;
    }
    if (best == nullptr || best->text.empty()) return;
    const TextBox box = box_of(*best);
    drawing_.shapes.push_back(area(rectangle(box.left, box.top, box.right, box.bottom), kPaper));
    drawing_.shapes.back().opacity = kPaling;
    add(*best);
  }

  // ---- frame ----

  void add_headings() {
    DrawnText title =
        text(panel_->title, {box_.left, panel_->title_line}, kHeadingText, Anchor::start, kInk);
    title.bold = true;
    add(std::move(title));
    add(panel_->y_label, {box_.left, panel_->label_line}, kLabelText, Anchor::start, kQuiet);
  }

  void add_legend() {
    for (const LegendEntry& entry : panel_->legend) {
      const double end = entry.at.x + kLegendSample;
      const Colour colour = colour_of(entry.paint);
      switch (entry.mark) {
        case Mark::line:
        case Mark::dashed:
          drawing_.shapes.push_back(line({entry.at, {end, entry.at.y}}, colour, curve_,
                                         dash_of(entry.mark, entry.paint)));
          break;
        case Mark::points:
          drawing_.shapes.push_back(
              area(point_outline({end - 8.0, entry.at.y}, palette_number(entry.paint)), colour));
          break;
        case Mark::dots:
          drawing_.shapes.push_back(line({{end - 8.0, entry.at.y}}, colour, 4.0));
          break;
        case Mark::bars:
        case Mark::band:
        case Mark::area:
          drawing_.shapes.push_back(
              area(rectangle(entry.at.x + 6.0, entry.at.y - 5.0, end, entry.at.y + 5.0), colour));
          if (entry.mark != Mark::bars) drawing_.shapes.back().opacity = kBandOpacity;
          break;
      }
      add(entry.label, {end + 8.0, entry.at.y + kDown * kLabelText}, kLabelText, Anchor::start,
          kInk);
    }
  }

  void add_grid() {
    DrawnShape grid;
    grid.colour = kGrid;
    grid.width = kAxisWidth;
    for (const Tick& tick : panel_->x.ticks) {
      const double x = x_of(tick.at);
      grid.lines.push_back({{x, box_.top}, {x, box_.bottom}});
    }
    if (!panel_->y.named) {
      for (const Tick& tick : panel_->y.ticks) {
        const double y = y_of(tick.at);
        grid.lines.push_back({{box_.left, y}, {box_.right, y}});
      }
    }
    if (!grid.lines.empty()) drawing_.shapes.push_back(std::move(grid));
    const AxisLayout& y = panel_->y;
    if (!y.named && !y.logarithmic && y.range.low < 0.0 && y.range.high > 0.0) {
      drawing_.shapes.push_back(
          line({{box_.left, y_of(0.0)}, {box_.right, y_of(0.0)}}, kAxis, kAxisWidth));
    }
  }

  void add_axes() {
    DrawnShape axes;
    axes.colour = kAxis;
    axes.width = kAxisWidth;
    const bool map = panel_->kind == PanelKind::map;
    if (!map) {
      axes.lines.push_back(
          {{box_.left, box_.top}, {box_.left, box_.bottom}, {box_.right, box_.bottom}});
    }
    for (const Tick& tick : panel_->y.ticks) {
      const double y = y_of(tick.at);
      if (!panel_->y.named) axes.lines.push_back({{box_.left - kTickLength, y}, {box_.left, y}});
      add(tick.label, {box_.left - kTickLength - 3.0, y + kDown * kNumberText}, kNumberText,
          Anchor::end, kInk);
    }
    for (const Tick& tick : panel_->x.ticks) {
      const double x = x_of(tick.at);
      if (!panel_->x.named) {
        axes.lines.push_back({{x, box_.bottom}, {x, box_.bottom + kTickLength}});
      }
      if (!panel_->has_x_labels) continue;
      add(tick.label, {x, box_.bottom + 17.0}, kNumberText, Anchor::middle, kInk);
    }
    if (!axes.lines.empty()) drawing_.shapes.push_back(std::move(axes));
    if (panel_->has_x_labels) {
      add(panel_->x_label, {0.5 * (box_.left + box_.right), box_.bottom + 36.0}, kLabelText,
          Anchor::middle, kQuiet);
    }
  }

  // ---- values ----

  void add_series(const SeriesLayout& series) {
    switch (series.mark) {
      case Mark::line:
      case Mark::dashed:
        add_lines(series);
        return;
      case Mark::points:
      case Mark::dots:
        add_points(series);
        return;
      case Mark::bars:
        add_bars(series);
        return;
      case Mark::band:
      case Mark::area:
        break;
    }
    DrawnShape band;
    band.colour = colour_of(series.paint);
    band.filled = true;
    band.opacity = kBandOpacity;
    for (const std::vector<DataPoint>& stroke : series.strokes) {
      std::vector<DrawnPlace> outline;
      for (const DataPoint& point : stroke) outline.push_back(inside(place_of(point)));
      band.lines.push_back(simplified(outline, kUnseen));
    }
    if (!band.lines.empty()) drawing_.shapes.push_back(std::move(band));
  }

  void add_lines(const SeriesLayout& series) {
    DrawnShape curve;
    curve.colour = colour_of(series.paint);
    curve.width = series.fine ? kFineLine * curve_ : curve_;
    curve.dash = dash_of(series.mark, series.paint);
    for (const std::vector<DataPoint>& stroke : series.strokes) {
      std::vector<DrawnPlace> places;
      for (const DataPoint& point : stroke) places.push_back(place_of(point));
      for (const std::vector<DrawnPlace>& part : clipped(places, box_)) {
        curve.lines.push_back(simplified(part, kUnseen));
      }
    }
    if (curve.lines.empty()) return;
    curves_.push_back(curve);
    drawing_.shapes.push_back(std::move(curve));
  }

  void add_points(const SeriesLayout& series) {
    DrawnShape points;
    points.colour = colour_of(series.paint);
    points.filled = series.mark == Mark::points;
    points.width = 2.4;
    for (const std::vector<DataPoint>& stroke : series.strokes) {
      for (const DataPoint& point : stroke) {
        const DrawnPlace at = inside(place_of(point));
        points.lines.push_back(points.filled ? point_outline(at, palette_number(series.paint))
                                             : std::vector<DrawnPlace>{at});
      }
    }
    if (!points.lines.empty()) drawing_.shapes.push_back(std::move(points));
  }

  void add_bars(const SeriesLayout& series) {
    constexpr double kWhisker = 3.0;
    const double zero = x_of(0.0);
    DrawnShape intervals;
    intervals.colour = kInk;
    intervals.width = 1.1;
    for (const Bar& bar : series.bars) {
      const double end = x_of(bar.value);
      drawing_.shapes.push_back(area(rectangle(std::min(zero, end), y_of(bar.y + bar.half_height),
                                               std::max(zero, end), y_of(bar.y - bar.half_height)),
                                     colour_of(series.paint)));
      if (std::isnan(bar.low)) continue;
      const double y = y_of(bar.y);
      intervals.lines.push_back({{x_of(bar.low), y}, {x_of(bar.high), y}});
      for (const double x : {x_of(bar.low), x_of(bar.high)}) {
        intervals.lines.push_back({{x, y - kWhisker}, {x, y + kWhisker}});
      }
    }
    if (!intervals.lines.empty()) drawing_.shapes.push_back(std::move(intervals));
  }

  // ---- what marks values ----

  void add_reference_lines() {
    for (const Reference& reference : panel_->references) {
      const double x = x_of(reference.at);
      const double y = y_of(reference.at);
      std::vector<DrawnPlace> places = {{box_.left, y}, {box_.right, y}};
      if (reference.vertical) places = {{x, box_.top}, {x, box_.bottom}};
      drawing_.shapes.push_back(line(std::move(places), kQuiet, 1.0, Dash::dashes));
    }
  }

  void add_reference_labels() {
    for (const Reference& reference : panel_->references) {
      std::vector<DrawnText> places;
      const auto offer = [&](DrawnPlace at, Anchor anchor) {
        places.push_back(text(reference.label, at, kNoteText, anchor, kQuiet));
        places.back().upwards = reference.vertical;
      };
      if (reference.vertical) {
        const double x = x_of(reference.at);
        for (const double side : {x - kFromLine, x + 0.76 * kNoteText + kFromLine}) {
          offer({side, box_.top + 4.0}, Anchor::end);
          offer({side, box_.bottom - 4.0}, Anchor::start);
        }
      } else {
        const double y = y_of(reference.at);
        for (const double side : {y - kFromLine, y + 0.76 * kNoteText + kFromLine}) {
          offer({box_.right - 4.0, side}, Anchor::end);
          offer({box_.left + 4.0, side}, Anchor::start);
          offer({0.5 * (box_.left + box_.right), side}, Anchor::middle);
        }
      }
      add_where_free(places);
    }
  }

  void add_spots() {
    for (const Spot& spot : panel_->spots) {
      const DrawnPlace at = place_of({spot.x, spot.y});
      if (at.x < box_.left || at.x > box_.right || at.y < box_.top || at.y > box_.bottom) continue;
      const Colour colour = colour_of(spot.paint);
      drawing_.shapes.push_back(line({at}, kPaper, 2.0 * kRing));
      drawing_.shapes.push_back(line(ring_around(at), colour, 1.3));
      std::vector<DrawnText> places;
      const auto offer = [&](double dx, double dy, Anchor anchor) {
        places.push_back(text(spot.label, {at.x + dx, at.y + dy}, kNoteText, anchor, colour));
        places.back().bold = true;
      };
      const double middle = kDown * kNoteText;
      for (const double away : {8.0, 16.0}) {
        offer(away, middle, Anchor::start);
        offer(-away, middle, Anchor::end);
        offer(away - 2.0, -away + 4.0, Anchor::start);
        offer(2.0 - away, -away + 4.0, Anchor::end);
        offer(away - 2.0, away + 6.0, Anchor::start);
        offer(2.0 - away, away + 6.0, Anchor::end);
      }
      if (!spot.label.empty()) add_where_free(places);
    }
  }

  std::vector<DrawnPlace> ring_around(const DrawnPlace& at) const {
    constexpr int kCorners = 24;
    std::vector<DrawnPlace> ring;
    for (int i = 0; i <= kCorners; ++i) {
      const double angle = 2.0 * std::numbers::pi * i / kCorners;
      ring.push_back({at.x + kRing * std::cos(angle), at.y + kRing * std::sin(angle)});
    }
    return ring;
  }

  void add_zone(const Zone& zone) {
    if (!zone.shaded) return;
    drawing_.shapes.push_back(
        area(rectangle(x_of(zone.from), box_.top, x_of(zone.to), box_.bottom), kZone));
  }

  void add_zone_label(const Zone& zone) {
    const double left = x_of(zone.from);
    const double right = x_of(zone.to);
    if (zone.label.empty() || text_width(zone.label, kNoteText) > right - left - 4.0) {
      return;
    }
    std::vector<DrawnText> places;
    for (const double y : {box_.top + 13.0, box_.bottom - 6.0}) {
      places.push_back(
          text(zone.label, {0.5 * (left + right), y}, kNoteText, Anchor::middle, kQuiet));
    }
    add_where_free(places);
  }

  // The names of lines at their right ends, moved apart, with leaders.
  void add_end_labels() {
    std::vector<const SeriesLayout*> named;
    std::vector<double> wanted;
    std::vector<DrawnPlace> ends;
    for (const SeriesLayout& series : panel_->series) {
      if (series.label.empty()) continue;
      DrawnPlace end{box_.right, box_.bottom};
      if (!series.strokes.empty()) end = inside(place_of(series.strokes.back().back()));
      named.push_back(&series);
      ends.push_back(end);
      wanted.push_back(end.y);
    }
    // Ends that are one to the eye keep the order of the lines.
    const auto [top, bottom] = std::ranges::minmax(wanted);
    constexpr double kOne = 3.0;
    if (bottom - top < kOne) std::ranges::fill(wanted, 0.5 * (top + bottom));
    const double half = 0.5 * kLineHeight;
    const std::vector<double> heights =
        spread(wanted, kLineHeight, box_.top + half, box_.bottom - half);
    for (std::size_t i = 0; i < named.size(); ++i) {
      const Colour colour = colour_of(named[i]->paint);
      const double x = box_.right + kEndGap;
      std::vector<DrawnPlace> leader = {ends[i]};
      if (ends[i].x < box_.right) leader.push_back({box_.right, ends[i].y});
      leader.push_back({x - 3.0, heights[i]});
      if (!named[i]->strokes.empty()) {
        drawing_.shapes.push_back(line(std::move(leader), colour, kLeaderWidth));
      }
      add(named[i]->label, {x, heights[i] + kDown * kLabelText}, kLabelText, Anchor::start, colour);
    }
  }
  static constexpr double kEndGap = 14.0;

  // ---- maps ----

  void add_map() {
    const MapLayout& map = panel_->map;
    for (const Cell& cell : map.cells) {
      constexpr double kJoint = 0.5;  // left white around a cell
      drawing_.shapes.push_back(
          area(rectangle(x_of(cell.x - 0.5) + kJoint, y_of(cell.y + 0.5) + kJoint,
                         x_of(cell.x + 0.5) - kJoint, y_of(cell.y - 0.5) - kJoint),
               ramp(cell.share)));
      const double width = x_of(cell.x + 0.5) - x_of(cell.x - 0.5);
      if (text_width(cell.text, kNumberText) > width - 4.0) continue;
      add(cell.text, {x_of(cell.x), y_of(cell.y) + kDown * kNumberText}, kNumberText,
          Anchor::middle, letters_on_ramp(cell.share));
    }
    if (map.scale.empty()) return;
    constexpr int kSteps = 64;
    const double left = box_.right + 14.0;
    const auto height_of = [&](double share) { return box_.bottom - panel_->data.height * share; };
    for (int i = 0; i < kSteps; ++i) {
      // Each reaches a little under the next, so that no gap shows between them.
      const double under = i + 1 < kSteps ? 1.0 : 0.0;
      drawing_.shapes.push_back(
          area(rectangle(left, height_of(static_cast<double>(i + 1) / kSteps) - under, left + 14.0,
                         height_of(static_cast<double>(i) / kSteps)),
               ramp((i + 0.5) / kSteps)));
    }
    for (const Tick& number : map.scale) {
      add(number.label, {left + 20.0, height_of(number.at) + kDown * kNumberText}, kNumberText,
          Anchor::start, kInk);
    }
    add(map.label, {panel_->room.left + panel_->room.width, panel_->label_line}, kLabelText,
        Anchor::end, kQuiet);
  }

  // ---- strips ----

  void add_strip() {
    const double first = box_.top + kStripHead;
    const Strip& strip = panel_->strip;
    drawing_.shapes.push_back(
        line({{box_.left, first - 5.0}, {box_.right, first - 5.0}}, kAxis, kAxisWidth));
    const auto middle = [&](std::size_t row) {
      return first + kStripRow * (static_cast<double>(row) + 0.5);
    };
    for (std::size_t i = 0; i < strip.rows.size(); ++i) {
      const Paint& paint = strip.paints[i];
      drawing_.shapes.push_back(line({{box_.left + 1.0, middle(i)}, {box_.left + 20.0, middle(i)}},
                                     colour_of(paint), 2.4, dash_of(Mark::line, paint)));
      add(strip.rows[i], {box_.left + 30.0, middle(i) + kDown * kLabelText}, kLabelText,
          Anchor::start, kInk);
    }
    for (const ColumnLayout& column : panel_->columns) {
      add_column(column, first);
    }
  }

  void add_column(const ColumnLayout& place, double first) {
    const StripColumn& column = place.column;
    const bool bars = place.bar > 0.0;
    const Anchor anchor = bars ? Anchor::start : Anchor::end;
    const double x = bars ? place.left : place.left + place.width;
    add(column.label, {x, box_.top + 11.0}, kNoteText, anchor, kQuiet);
    add(column.unit, {x, box_.top + 24.0}, kNoteText, anchor, kQuiet);
    const double limit = place.left + place.bar * column.limit / place.largest;
    for (std::size_t i = 0; i < column.texts.size(); ++i) {
      const double y = first + kStripRow * (static_cast<double>(i) + 0.5);
      double at = x;
      if (bars) {
        const double value = column.values[i];
        const double end = place.left + place.bar * std::max(0.0, value) / place.largest;
        at = place.left + 6.0;
        if (std::isfinite(value)) {
          drawing_.shapes.push_back(area(rectangle(place.left, y - 6.0, end, y + 6.0),
                                         colour_of(panel_->strip.paints[i])));
          at = std::fmax(end, limit) + 6.0;  // fmax: no limit is NaN
        }
      }
      add(column.texts[i], {at, y + kDown * kLabelText}, kLabelText, anchor, kInk);
      if (i < column.warnings.size() && !column.warnings[i].empty()) {
        DrawnText warning =
            text(column.warnings[i],
                 {at + text_width(column.texts[i], kLabelText) + 6.0, y + kDown * kNoteText},
                 kNoteText, Anchor::start, kWarning);
        warning.bold = true;
        add(std::move(warning));
      }
    }
    if (bars && std::isfinite(limit)) {
      const double end = first + kStripRow * static_cast<double>(column.texts.size());
      drawing_.shapes.push_back(line({{limit, first}, {limit, end}}, kInk, 1.0, Dash::dots));
    }
  }

  Drawing& drawing_;
  double curve_ = 0.0;  // width of lines
  const PanelLayout* panel_ = nullptr;
  TextBox box_;                     // of the data
  std::vector<DrawnShape> curves_;  // of the panel
  std::size_t texts_before_ = 0;    // texts of other panels
};

// What a reader who can't see the picture is told.
std::string description_of(const FigureLayout& figure) {
  std::string words;
  for (const PanelLayout& panel : figure.panels) {
    std::string part = panel.title;
    const auto say = [&](const std::string& text) {
      if (!text.empty()) part += part.empty() ? text : ": " + text;
    };
    say(panel.y_label);
    if (!panel.x_label.empty()) part += (part.empty() ? "" : " over ") + panel.x_label;
    std::string names;
    for (const SeriesLayout& series : panel.series) {
      if (!series.label.empty()) names += (names.empty() ? "" : ", ") + series.label;
    }
    for (const std::string& row : panel.strip.rows) names += (names.empty() ? "" : ", ") + row;
    if (!names.empty()) part += (part.empty() ? "" : ", of ") + names;
    if (!part.empty()) words += part + ". ";
  }
  if (!words.empty()) words.pop_back();
  return words;
}

}  // namespace

Drawing drawing_of(const FigureLayout& figure) {
  Drawing drawing;
  drawing.width = figure.width;
  drawing.height = figure.height;
  drawing.title = figure.title;
  drawing.description = description_of(figure);
  drawing.shapes.push_back(area(rectangle(0.0, 0.0, figure.width, figure.height), kPaper));
  DrawnText title;
  title.text = figure.title;
  title.at = figure.title_at;
  title.size = kTitleText;
  title.bold = true;
  title.colour = kInk;
  if (!title.text.empty()) drawing.texts.push_back(std::move(title));
  for (const PanelLayout& panel : figure.panels) Pen(drawing, figure.curve).draw(panel);
  return drawing;
}

}  // namespace plunge
