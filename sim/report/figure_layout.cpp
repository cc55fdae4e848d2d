#include "sim/report/figure_layout.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "sim/text/utf8.hpp"

namespace plunge {
namespace {

// [pixels]
constexpr double kLetter = 0.57 * kFigureFont;  // mean width of a letter, on the wide side
constexpr double kLeft = 84.0;                  // tick labels and the label of the y axis
constexpr double kRight = 24.0;
constexpr double kBottom = 58.0;
constexpr double kTop = 34.0;  // title of a panel
constexpr double kFigureTitle = 34.0;
constexpr double kWidth = 720.0;  // of the data of one panel
constexpr double kNarrow = 440.0;
constexpr double kHeight = 250.0;
constexpr double kLegendRow = 24.0;
constexpr double kLegendSample = 50.0;
constexpr double kBar = 15.0;  // a bar in its row
constexpr double kBetweenRows = 12.0;
constexpr double kCell = 34.0;  // height of a cell of a map, at most
constexpr double kLeastMap = 170.0;
constexpr double kLargestMap = 560.0;
constexpr double kScale = 120.0;       // the colours of a map, their numbers and label
constexpr double kTickWidth = 46.0;    // least distance of the names of columns
constexpr double kTickHeight = 18.0;   // least distance of the names of a map's rows
constexpr double kPrintedCell = 18.0;  // least height of a cell that shows its value
constexpr double kBottomInside = 6.0;  // under a panel without numbers

constexpr std::size_t kPrintedColumns = 12;  // up to which the cells of a map show their values
constexpr std::size_t kLongestRowName = 34;  // letters
constexpr std::size_t kLongestLabel = 60;    // letters
constexpr std::size_t kLongestTitle = 90;    // of a figure
constexpr std::size_t kThinnedTo = 1200;     // runs of samples in a thinned trace
constexpr int kScaleNumbers = 5;             // beside the colours of a map

bool shows(double value, bool log_axis) {
  return std::isfinite(value) && (!log_axis || value > 0.0);
}

bool is_points(Mark mark) { return mark == Mark::points || mark == Mark::dots; }

PanelKind kind_of(const Panel& panel) {
  if (!panel.map.values.empty()) return PanelKind::map;
  return panel.rows.empty() ? PanelKind::curves : PanelKind::bars;
}

// ---- ranges ----

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
      const double half = low == 0.0 ? 1.0 : 0.1 * std::abs(low);
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

Range cells_range(std::size_t cells) { return {-0.5, static_cast<double>(cells) - 0.5}; }

Range x_range(const Panel& panel) {
  const PanelKind kind = kind_of(panel);
  if (kind == PanelKind::map) return cells_range(panel.map.columns.size());
  if (kind == PanelKind::bars) return bar_range(panel);
  Extent extent;
  bool has_lines = false;
  for (const Series& series : panel.series) {
    has_lines = has_lines || !is_points(series.mark);
    for (std::size_t i = 0; i < series.x.size(); ++i) {
      if (shows(series.y[i], panel.log_y)) extent.include(series.x[i], panel.log_x);
    }
  }
  for (const Reference& reference : panel.references) {
    if (reference.vertical) extent.include(reference.at, panel.log_x);
  }
  return extent.with_room(has_lines ? 0.0 : 0.05, panel.log_x);
}

Range y_range(const Panel& panel) {
  const PanelKind kind = kind_of(panel);
  if (kind == PanelKind::map) return cells_range(panel.map.rows.size());
  if (kind == PanelKind::bars) return cells_range(panel.rows.size());
  Extent extent;
  for (const Series& series : panel.series) {
    for (std::size_t i = 0; i < series.y.size(); ++i) {
      if (shows(series.x[i], panel.log_x)) extent.include(series.y[i], panel.log_y);
    }
  }
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
  return roomy;
}

// Where a value stands on its axis: 0 at the low end, 1 at the high end.
double position_on(const Range& range, double value, bool log_axis) {
  return log_axis ? std::log(value / range.low) / std::log(range.high / range.low)
                  : (value - range.low) / (range.high - range.low);
}

// ---- ticks ----

// 1, 2 and 5 of each decade of a logarithmic axis that spans few; else none.
std::vector<Tick> log_ticks(const Range& range) {
  constexpr double kFewDecades = 3.0;
  std::vector<Tick> ticks;
  if (std::log10(range.high / range.low) > kFewDecades) return ticks;
  for (double decade = std::floor(std::log10(range.low)); decade <= std::log10(range.high);
       decade += 1.0) {
    for (const double digit : {1.0, 2.0, 5.0}) {
      const double tick = digit * std::pow(10.0, decade);
      if (tick >= range.low && tick <= range.high)
        ticks.push_back({tick, fmt::format("{:g}", tick)});
    }
  }
  return ticks;
}

// Names in place of the numbers 0, 1, 2, ... of an axis, some left out where they come too close.
std::vector<Tick> named_ticks(const std::vector<std::string>& names, double length,
                              double least_distance, bool downwards) {
  const auto count = static_cast<double>(names.size());
  const auto step = static_cast<std::size_t>(std::ceil(least_distance * count / length));
  std::vector<Tick> ticks;
  for (std::size_t i = 0; i < names.size(); i += std::max<std::size_t>(step, 1)) {
    const std::size_t at = downwards ? names.size() - 1 - i : i;
    ticks.push_back({static_cast<double>(at), printable(names[i], kLongestRowName)});
  }
  return ticks;
}

// ---- what is in a panel ----

// The indices to draw: all of a short series, else the ends and extremes of each run.
std::vector<std::size_t> thinned(const std::vector<double>& y) {
  std::vector<std::size_t> kept;
  const std::size_t run = y.size() / kThinnedTo + 1;
  for (std::size_t begin = 0; begin < y.size(); begin += run) {
    const std::size_t end = std::min(begin + run, y.size());
    std::array<std::size_t, 4> pick = {begin, begin, begin, end - 1};
    bool gap = false;
    for (std::size_t i = begin; i < end; ++i) {
      gap = gap || !std::isfinite(y[i]);
      if (y[i] < y[pick[1]]) pick[1] = i;
      if (y[i] > y[pick[2]]) pick[2] = i;
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

std::vector<std::vector<Point>> strokes_of(const Series& series, const Panel& panel) {
  std::vector<std::size_t> kept(series.y.size());
  if (is_points(series.mark)) {
    for (std::size_t i = 0; i < kept.size(); ++i) kept[i] = i;
  } else {
    kept = thinned(series.y);
  }
  std::vector<std::vector<Point>> strokes;
  bool in_gap = true;
  for (const std::size_t i : kept) {
    const bool visible = shows(series.x[i], panel.log_x) && shows(series.y[i], panel.log_y);
    if (visible && in_gap) strokes.emplace_back();
    if (visible) strokes.back().push_back({series.x[i], series.y[i]});
    in_gap = !visible;
  }
  return strokes;
}

// Bars of one row, side by side.
std::size_t bars_of_row(const Panel& panel) {
  return std::max<std::size_t>(
      1, static_cast<std::size_t>(std::ranges::count(panel.series, Mark::bars, &Series::mark)));
}

std::vector<Bar> bars_of(const Panel& panel, std::size_t index) {
  const Series& series = panel.series[index];
  const auto bars = static_cast<double>(bars_of_row(panel));
  const double bar = kBar / (kBetweenRows + kBar * bars);  // in rows
  double before = 0.0;
  for (std::size_t i = 0; i < index; ++i) before += panel.series[i].mark == Mark::bars ? 1.0 : 0.0;
  std::vector<Bar> placed;
  for (std::size_t i = 0; i < series.x.size(); ++i) {
    if (!std::isfinite(series.x[i]) || !std::isfinite(series.y[i])) continue;
    const double row = static_cast<double>(panel.rows.size()) - 1.0 - series.y[i];
    Bar place{series.x[i], row + (0.5 * (bars - 1.0) - before) * bar, 0.46 * bar};
    const bool has_interval = i < series.low.size() && i < series.high.size() &&
                              std::isfinite(series.low[i]) && std::isfinite(series.high[i]);
    if (has_interval) {
      place.low = series.low[i];
      place.high = series.high[i];
    }
    placed.push_back(place);
  }
  return placed;
}

int colour_of(const Panel& panel, std::size_t index) {
  int next = 0;
  for (std::size_t i = 0; i < index; ++i) next += panel.series[i].colour < 0 ? 1 : 0;
  return panel.series[index].colour < 0 ? next : panel.series[index].colour;
}

SeriesLayout series_layout(const Panel& panel, std::size_t index) {
  const Series& series = panel.series[index];
  SeriesLayout layout;
  layout.label = printable(series.label, kLongestLabel);
  layout.mark = series.mark;
  layout.colour = colour_of(panel, index);
  if (series.mark == Mark::bars) {
    layout.bars = bars_of(panel, index);
  } else {
    layout.strokes = strokes_of(series, panel);
  }
  return layout;
}

// True if there is more room above the data than below them where a vertical label would stand.
bool more_room_above(const Panel& panel, double at, const Range& x, const Range& y) {
  double room_below = 1.0;
  double room_above = 1.0;
  for (const Series& series : panel.series) {
    for (std::size_t i = 0; i < series.x.size(); ++i) {
      if (!shows(series.x[i], panel.log_x) || !shows(series.y[i], panel.log_y)) continue;
      const double away = position_on(x, series.x[i], panel.log_x) - at;
      if (std::abs(away) > 0.04) continue;
      const double height = position_on(y, series.y[i], panel.log_y);
      room_below = std::min(room_below, height);
      room_above = std::min(room_above, 1.0 - height);
    }
  }
  return room_above >= room_below;
}

std::vector<ReferenceLayout> references_of(const Panel& panel, const Range& x, const Range& y) {
  std::vector<ReferenceLayout> placed;
  for (const Reference& reference : panel.references) {
    if (!shows(reference.at, reference.vertical ? panel.log_x : panel.log_y)) continue;
    ReferenceLayout place{printable(reference.label, kLongestLabel), reference.at,
                          reference.vertical};
    if (reference.vertical) {
      place.position = position_on(x, reference.at, panel.log_x);
      place.label_at_top = more_room_above(panel, place.position, x, y);
    }
    placed.push_back(std::move(place));
  }
  return placed;
}

MapLayout map_layout(const CellMap& map, double height) {
  MapLayout layout;
  layout.label = printable(map.label, kLongestLabel);
  Extent extent;
  for (const double value : map.values) extent.include(value, false);
  if (extent.low > extent.high) return layout;
  const double width = extent.high - extent.low;
  const bool flat = width <= 1e-12 * std::abs(extent.high);
  const bool printed = map.columns.size() <= kPrintedColumns &&
                       height / static_cast<double>(map.rows.size()) >= kPrintedCell;
  const auto text = [&](double value) { return fmt::format("{:.{}f}", value, map.decimals); };
  for (std::size_t i = 0; i < map.values.size(); ++i) {
    const double value = map.values[i];
    if (!std::isfinite(value)) continue;
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

// ---- where panels stand ----

// What the legend of a panel shows, to tell whether two panels can share it.
struct LegendEntry {
  std::string label;
  Mark mark;
  int colour;
  bool operator==(const LegendEntry&) const = default;
};

std::vector<LegendEntry> legend_of(const Panel& panel) {
  std::vector<LegendEntry> legend;
  for (std::size_t i = 0; i < panel.series.size(); ++i) {
    const Series& series = panel.series[i];
    if (series.label.empty()) continue;
    legend.push_back({printable(series.label, kLongestLabel), series.mark, colour_of(panel, i)});
  }
  return legend;
}

// Room to the right of the data: the legend, or the scale of a map.
double beside(const Panel& panel) {
  if (kind_of(panel) == PanelKind::map) return kScale;
  std::size_t longest = 0;
  for (const LegendEntry& entry : legend_of(panel)) {
    longest = std::max(longest, count_letters(entry.label));
  }
  return longest == 0 ? 0.0 : kLegendSample + kLetter * static_cast<double>(longest);
}

// Row names and tick labels to the left of the data, and the label of the axis.
double left_of(const Panel& panel) {
  std::size_t longest = 0;
  for (const auto* names : {&panel.rows, &panel.map.rows}) {
    for (const std::string& name : *names) {
      longest = std::max(longest, count_letters(printable(name, kLongestRowName)));
    }
  }
  const double label = panel.y_label.empty() ? 14.0 : 38.0;
  return std::max(kLeft, label + kLetter * static_cast<double>(longest));
}

// Height of a panel sized by its rows (bars, map); 0 for any other.
double own_height(const Panel& panel) {
  if (kind_of(panel) == PanelKind::map) {
    return std::clamp(kCell * static_cast<double>(panel.map.rows.size()), kLeastMap, kLargestMap);
  }
  return static_cast<double>(panel.rows.size()) *
         (kBetweenRows + kBar * static_cast<double>(bars_of_row(panel)));
}

// What the panels of a figure have in common.
struct Common {
  bool stacked = true;
  bool legend = false;  // all panels have the same one, or none
  bool x_axis = false;
  double height = kHeight;
  double widest_beside = 0.0;
  double widest_left = kLeft;
};

Common common_of(const Figure& figure) {
  const std::vector<Panel>& panels = figure.panels;
  Common common;
  common.stacked = figure.arrangement == Arrangement::stacked;
  const std::vector<LegendEntry> first = legend_of(panels[0]);
  common.legend = std::ranges::all_of(panels, [&](const Panel& panel) {
    const std::vector<LegendEntry> legend = legend_of(panel);
    return legend == first || (common.stacked && legend.empty());
  });
  common.x_axis = common.stacked && std::ranges::all_of(panels, [&](const Panel& panel) {
                    return panel.x_label == panels[0].x_label && panel.log_x == panels[0].log_x &&
                           kind_of(panel) != PanelKind::map;
                  });
  for (const Panel& panel : panels) {
    common.height =
        std::max(common.height, kLegendRow * static_cast<double>(legend_of(panel).size()));
    common.widest_beside = std::max(common.widest_beside, beside(panel));
    common.widest_left = std::max(common.widest_left, left_of(panel));
  }
  return common;
}

// Places the panels, one below the other or side by side.
void place_panels(const Figure& figure, const Common& common, FigureLayout& layout) {
  const bool stacked = common.stacked;
  double x = 0.0;
  double y = figure.title.empty() ? 0.0 : kFigureTitle;
  for (std::size_t i = 0; i < figure.panels.size(); ++i) {
    const Panel& panel = figure.panels[i];
    const bool last = i + 1 == figure.panels.size();
    PanelLayout place;
    place.kind = kind_of(panel);
    place.room_left = stacked ? common.widest_left : left_of(panel);
    place.left = x + place.room_left;
    place.top = y + (panel.title.empty() ? kTop / 2.0 : kTop);
    place.width = stacked ? kWidth : kNarrow;
    const double own = own_height(panel);
    place.height = own > 0.0 ? own
                   : stacked ? common.height
                             : std::max(common.height, kNarrow * 0.75);
    place.has_x_labels = !common.x_axis || last;
    const bool room_for_legend = !common.legend || (stacked ? i == 0 : last);
    place.has_legend = room_for_legend && !legend_of(panel).empty();
    const double at_right = stacked                                           ? common.widest_beside
                            : room_for_legend || place.kind == PanelKind::map ? beside(panel)
                                                                              : 0.0;
    const double right = place.left + place.width + at_right + kRight;
    const double bottom = place.top + place.height + (place.has_x_labels ? kBottom : kBottomInside);
    layout.width = std::max(layout.width, right);
    layout.height = std::max(layout.height, bottom);
    (stacked ? y : x) = stacked ? bottom : right;
    layout.panels.push_back(std::move(place));
  }
  if (stacked) return;
  // Titles may be missing in some; the data still stand in one row.
  double top = 0.0;
  double tallest = 0.0;
  for (const PanelLayout& place : layout.panels) {
    top = std::max(top, place.top);
    tallest = std::max(tallest, place.height);
  }
  for (PanelLayout& place : layout.panels) place.top = top;
  layout.height = top + tallest + kBottom;
}

// Fills a panel that has its place.
void fill_panel(const Panel& panel, const Range& x, PanelLayout& layout) {
  layout.title = printable(panel.title, kLongestLabel);
  layout.x_label = printable(panel.x_label, kLongestLabel);
  layout.y_label = printable(panel.y_label, kLongestLabel);
  layout.x = {x, panel.log_x, panel.log_x ? log_ticks(x) : std::vector<Tick>(), false};
  const Range y = y_range(panel);
  layout.y = {y, panel.log_y, panel.log_y ? log_ticks(y) : std::vector<Tick>(), false};
  if (layout.kind == PanelKind::bars) {
    layout.y.ticks = named_ticks(panel.rows, layout.height, 0.0, true);
    layout.y.named = true;
  }
  if (layout.kind == PanelKind::map) {
    layout.x.ticks = named_ticks(panel.map.columns, layout.width, kTickWidth, false);
    layout.y.ticks = named_ticks(panel.map.rows, layout.height, kTickHeight, false);
    layout.x.named = layout.y.named = true;
    layout.map = map_layout(panel.map, layout.height);
  }
  for (std::size_t i = 0; i < panel.series.size(); ++i) {
    layout.series.push_back(series_layout(panel, i));
  }
  layout.references = references_of(panel, x, y);
}

void demand_sense(const Figure& figure) {
  if (figure.panels.empty()) throw std::invalid_argument("a figure needs a panel");
  for (const Panel& panel : figure.panels) {
    for (const Series& series : panel.series) {
      if (series.x.size() != series.y.size()) {
        throw std::invalid_argument("series " + series.label + ": x and y differ in length");
      }
    }
    if (panel.map.values.size() != panel.map.rows.size() * panel.map.columns.size()) {
      throw std::invalid_argument("the values of a map must fit its rows and columns");
    }
  }
}

}  // namespace

FigureLayout lay_out(const Figure& figure) {
  demand_sense(figure);
  FigureLayout layout;
  layout.title = printable(figure.title, kLongestTitle);
  const Common common = common_of(figure);
  place_panels(figure, common, layout);
  Extent all;
  for (const Panel& panel : figure.panels) {
    const Range range = x_range(panel);
    all.low = std::min(all.low, range.low);
    all.high = std::max(all.high, range.high);
  }
  for (std::size_t i = 0; i < figure.panels.size(); ++i) {
    const Panel& panel = figure.panels[i];
    fill_panel(panel, common.x_axis ? Range{all.low, all.high} : x_range(panel), layout.panels[i]);
  }
  return layout;
}

}  // namespace plunge
