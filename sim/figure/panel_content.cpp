#include "sim/figure/panel_content.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "sim/text/utf8.hpp"

namespace plunge {
namespace {

constexpr std::size_t kThinnedTo = 1200;  // runs of samples in a thinned trace
constexpr double kLargest = 1e300;        // so that differences stay finite,
constexpr double kLargestRatio = 1e140;   // and on a logarithmic axis ratios
constexpr int kScaleNumbers = 5;          // beside the colours of a map

bool shows(double value, bool log_axis) {
  if (log_axis) return value > 1.0 / kLargestRatio && value < kLargestRatio;
  return std::abs(value) < kLargest;
}

bool is_points(Mark mark) { return mark == Mark::points || mark == Mark::dots; }

// The range of the values that it has been shown; empty as long as low > high.
struct Extent {
  double low = std::numeric_limits<double>::infinity();
  double high = -std::numeric_limits<double>::infinity();

  void include(double value, bool log_axis) {
    if (!shows(value, log_axis)) return;
    low = std::min(low, value);
    high = std::max(high, value);
  }
  // A range that can be drawn, with `room` times its width left at both ends.
  Range with_room(double room, bool log_axis) const {
    if (low > high) return log_axis ? Range{1.0, 10.0} : Range{0.0, 1.0};
    if (log_axis) {
      const double factor = high / low < 1.01 ? 2.0 : std::pow(high / low, room);
      return {low / factor, high * factor};
    }
    const double width = high - low;
    if (width <= 1e-12 * std::max(std::abs(low), std::abs(high)) || width == 0.0) {
      const double half = std::abs(low) < 1e-290 ? 1.0 : 0.1 * std::abs(low);
      return {low - half, high + half};
    }
    return {low - room * width, high + room * width};
  }
};

// Range of a bar panel: contains 0, and ends at 0 unless an interval visibly crosses it.
Range bar_range(const Panel& panel) {
  Extent extent{0.0, 0.0};
  for (const Series& series : panel.series) {
    for (const auto* values : {&series.x, &series.low, &series.high}) {
      for (const double value : *values) extent.include(value, false);
    }
  }
  Range roomy = extent.with_room(0.03, false);
  if (extent.low >= -0.005 * extent.high) roomy.low = 0.0;
  return roomy;
}

// With the ends that a panel sets, where they are such as can be drawn.
Range ended(Range range, const AxisEnds& ends, bool log_axis) {
  if (shows(ends.low, log_axis)) range.low = ends.low;
  if (shows(ends.high, log_axis)) range.high = ends.high;
  if (range.low < range.high) return range;
  Extent both;
  both.include(range.low, log_axis);
  both.include(range.high, log_axis);
  return both.with_room(0.06, log_axis);
}

Range cells_range(std::size_t cells) { return {-0.5, static_cast<double>(cells) - 0.5}; }

// The values of a series over its x: y, or the ends of a band.
std::vector<const std::vector<double>*> heights_of(const Series& series) {
  if (series.mark == Mark::band) return {&series.low, &series.high};
  return {&series.y};
}

// The indices to draw: all of a short series, else the ends and the extremes of each run.
std::vector<std::size_t> thinned(const Series& series, const Panel& panel) {
  const std::vector<double>& x = series.x;
  const std::vector<double>& y = series.y;
  std::vector<std::size_t> kept;
  const std::size_t run = y.size() / kThinnedTo + 1;
  for (std::size_t begin = 0; begin < y.size(); begin += run) {
    const std::size_t end = std::min(begin + run, y.size());
    std::array<std::size_t, 6> pick = {begin, begin, begin, begin, begin, end - 1};
    bool gap = false;
    for (std::size_t i = begin; i < end; ++i) {
      gap = gap || !shows(x[i], panel.log_x) || !shows(y[i], panel.log_y);
      if (y[i] < y[pick[1]]) pick[1] = i;
      if (y[i] > y[pick[2]]) pick[2] = i;
      if (x[i] < x[pick[3]]) pick[3] = i;
      if (x[i] > x[pick[4]]) pick[4] = i;
    }
    if (gap || run <= pick.size()) {
      for (std::size_t i = begin; i < end; ++i) kept.push_back(i);
      continue;
    }
    std::sort(pick.begin(), pick.end());
    kept.insert(kept.end(), pick.begin(), std::unique(pick.begin(), pick.end()));
  }
  return kept;
}

std::vector<std::vector<DataPoint>> strokes_of(const Series& series, const Panel& panel) {
  std::vector<std::size_t> kept(series.y.size());
  if (is_points(series.mark)) {
    for (std::size_t i = 0; i < kept.size(); ++i) kept[i] = i;
  } else {
    kept = thinned(series, panel);
  }
  std::vector<std::vector<DataPoint>> strokes;
  bool in_gap = true;
  for (const std::size_t i : kept) {
    const bool visible = shows(series.x[i], panel.log_x) && shows(series.y[i], panel.log_y);
    if (visible && in_gap) strokes.emplace_back();
    if (visible) strokes.back().push_back({series.x[i], series.y[i]});
    in_gap = !visible;
  }
  return strokes;
}

// Outlines of a band: along its low end and back along the high one.
std::vector<std::vector<DataPoint>> outlines_of(const Series& series, const Panel& panel) {
  std::vector<std::vector<DataPoint>> outlines;
  std::vector<DataPoint> back;
  const auto close = [&] {
    if (!back.empty()) outlines.back().insert(outlines.back().end(), back.rbegin(), back.rend());
    back.clear();
  };
  for (std::size_t i = 0; i < series.x.size(); ++i) {
    const bool visible = shows(series.x[i], panel.log_x) && shows(series.low[i], panel.log_y) &&
                         shows(series.high[i], panel.log_y);
    if (!visible) {
      close();
      continue;
    }
    if (back.empty()) outlines.emplace_back();
    outlines.back().push_back({series.x[i], series.low[i]});
    back.push_back({series.x[i], series.high[i]});
  }
  close();
  return outlines;
}

std::vector<Bar> bars_of(const Panel& panel, std::size_t index) {
  const Series& series = panel.series[index];
  const auto bars = static_cast<double>(bars_of_row(panel));
  const double bar = kBar / (kBetweenRows + kBar * bars);  // in rows
  double before = 0.0;
  for (std::size_t i = 0; i < index; ++i) before += panel.series[i].mark == Mark::bars ? 1.0 : 0.0;
  std::vector<Bar> placed;
  for (std::size_t i = 0; i < series.x.size(); ++i) {
    if (!shows(series.x[i], false) || !shows(series.y[i], false)) continue;
    const double row = static_cast<double>(panel.rows.size()) - 1.0 - series.y[i];
    Bar place{series.x[i], row + (0.5 * (bars - 1.0) - before) * bar, 0.46 * bar};
    const bool has_interval = i < series.low.size() && i < series.high.size() &&
                              shows(series.low[i], false) && shows(series.high[i], false);
    if (has_interval) {
      place.low = series.low[i];
      place.high = series.high[i];
    }
    placed.push_back(place);
  }
  return placed;
}

Paint paint_of(const Panel& panel, std::size_t index) {
  Paint paint = panel.series[index].paint;
  const auto takes_next = [](const Paint& wanted) {
    return wanted.colour < 0 && !std::isfinite(wanted.shade) && !wanted.quiet;
  };
  if (!takes_next(paint)) return paint;
  paint.colour = 0;
  for (std::size_t i = 0; i < index; ++i) paint.colour += takes_next(panel.series[i].paint) ? 1 : 0;
  return paint;
}

}  // namespace

PanelKind kind_of(const Panel& panel) {
  if (!panel.map.values.empty()) return PanelKind::map;
  if (!panel.strip.rows.empty()) return PanelKind::strip;
  return panel.rows.empty() ? PanelKind::curves : PanelKind::bars;
}

Range x_range(const Panel& panel) {
  const PanelKind kind = kind_of(panel);
  if (kind == PanelKind::map) return cells_range(panel.map.columns.size());
  if (kind == PanelKind::bars) return bar_range(panel);
  Extent extent;
  bool has_lines = false;
  for (const Series& series : panel.series) {
    has_lines = has_lines || !is_points(series.mark);
    for (const std::vector<double>* heights : heights_of(series)) {
      for (std::size_t i = 0; i < series.x.size(); ++i) {
        if (shows((*heights)[i], panel.log_y)) extent.include(series.x[i], panel.log_x);
      }
    }
  }
  for (const Reference& reference : panel.references) {
    if (reference.vertical) extent.include(reference.at, panel.log_x);
  }
  for (const Spot& spot : spots_of(panel)) extent.include(spot.x, panel.log_x);
  return ended(extent.with_room(has_lines ? 0.0 : 0.05, panel.log_x), panel.x_ends, panel.log_x);
}

Range y_range(const Panel& panel) {
  const PanelKind kind = kind_of(panel);
  if (kind == PanelKind::map) return cells_range(panel.map.rows.size());
  if (kind == PanelKind::bars) return cells_range(panel.rows.size());
  Extent extent;
  for (const Series& series : panel.series) {
    for (const std::vector<double>* heights : heights_of(series)) {
      for (std::size_t i = 0; i < series.x.size(); ++i) {
        if (shows(series.x[i], panel.log_x)) extent.include((*heights)[i], panel.log_y);
      }
    }
  }
  for (const Spot& spot : spots_of(panel)) extent.include(spot.y, panel.log_y);
  double top_reference = -std::numeric_limits<double>::infinity();
  for (const Reference& reference : panel.references) {
    if (reference.vertical) continue;
    extent.include(reference.at, panel.log_y);
    top_reference = std::max(top_reference, reference.at);
  }
  // A bound at 0 that no value passes stays the end of the axis. The label of a reference on top
  // stands above its line.
  Range roomy = extent.with_room(0.06, panel.log_y);
  if (!panel.log_y && extent.low == 0.0 && extent.high > 0.0) roomy.low = 0.0;
  if (!panel.log_y && top_reference == extent.high && extent.high > extent.low) {
    roomy.high = extent.high + 0.12 * (extent.high - extent.low);
  }
  return ended(roomy, panel.y_ends, panel.log_y);
}

SeriesLayout series_layout(const Panel& panel, std::size_t index) {
  const Series& series = panel.series[index];
  SeriesLayout layout;
  layout.fine = series.fine;
  layout.label = printable(series.label, kLongestName);
  layout.mark = series.mark;
  layout.paint = paint_of(panel, index);
  if (series.mark == Mark::bars) {
    layout.bars = bars_of(panel, index);
  } else {
    layout.strokes =
        series.mark == Mark::band ? outlines_of(series, panel) : strokes_of(series, panel);
  }
  return layout;
}

MapLayout map_layout(const CellMap& map, bool printed) {
  MapLayout layout;
  layout.label = printable(map.label, kLongestName);
  Extent extent;
  for (const double value : map.values) extent.include(value, false);
  if (extent.low > extent.high) return layout;
  const double width = extent.high - extent.low;
  const bool flat = width <= 1e-12 * std::abs(extent.high);
  const auto text = [&](double value) {
    return with_minus(fmt::format("{:.{}f}", value, map.decimals));
  };
  for (std::size_t i = 0; i < map.values.size(); ++i) {
    const double value = map.values[i];
    if (!shows(value, false)) continue;
    const std::size_t row = i / map.columns.size();
    layout.cells.push_back({static_cast<double>(i % map.columns.size()), static_cast<double>(row),
                            flat ? 0.5 : (value - extent.low) / width, printed ? text(value) : ""});
  }
  for (int i = 0; i < kScaleNumbers; ++i) {
    if (flat && i != kScaleNumbers / 2) continue;
    const double share = static_cast<double>(i) / (kScaleNumbers - 1);
    layout.scale.push_back({share, text(flat ? extent.low : extent.low + share * width)});
  }
  return layout;
}

std::size_t bars_of_row(const Panel& panel) {
  return std::max<std::size_t>(
      1, static_cast<std::size_t>(std::ranges::count(panel.series, Mark::bars, &Series::mark)));
}

std::vector<LegendEntry> legend_of(const Panel& panel) {
  std::vector<LegendEntry> legend;
  for (std::size_t i = 0; i < panel.series.size(); ++i) {
    const Series& series = panel.series[i];
    if (series.label.empty()) continue;
    legend.push_back({printable(series.label, kLongestName), series.mark, paint_of(panel, i), {}});
  }
  return legend;
}

std::vector<Spot> spots_of(const Panel& panel) {
  std::vector<Spot> spots;
  for (const Spot& spot : panel.spots) {
    if (!shows(spot.x, panel.log_x) || !shows(spot.y, panel.log_y)) continue;
    spots.push_back(spot);
    spots.back().label = printable(spot.label, kLongestName);
  }
  return spots;
}

std::vector<Reference> references_of(const Panel& panel) {
  std::vector<Reference> references;
  for (const Reference& reference : panel.references) {
    if (!shows(reference.at, reference.vertical ? panel.log_x : panel.log_y)) continue;
    references.push_back(reference);
    references.back().label = printable(reference.label, kLongestName);
  }
  return references;
}

}  // namespace plunge
