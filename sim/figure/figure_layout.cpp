#include "sim/figure/figure_layout.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <string>

#include "sim/figure/letters.hpp"
#include "sim/figure/panel_content.hpp"
#include "sim/text/utf8.hpp"

namespace plunge {
namespace {

// [pixels]
constexpr double kBetween = 26.0;  // panels side by side
constexpr double kFigureTitle = 30.0;
constexpr double kFirstLine = 12.0;      // from the top to where the title begins
constexpr double kHeight = 190.0;        // of the data of panels below one another
constexpr double kBesideHeight = 270.0;  // and of those side by side
constexpr double kTitleLine = 20.0;
constexpr double kLabelLine = 20.0;
constexpr double kLegendRow = 18.0;
constexpr double kNumbers = 22.0;    // under a panel, and
constexpr double kAxisLabel = 18.0;  // the label of its axis
constexpr double kUnder = 16.0;      // a panel with what stands under it
constexpr double kTickGap = 8.0;     // between an axis and its numbers
constexpr double kAtRight = 14.0;    // half a number at the end of an axis
constexpr double kLabelGap = 14.0;   // between the end of a line and its label
constexpr double kWidestEndLabel = 170.0;
constexpr double kMostOfWidth = 0.3;  // of a figure, that labels at the ends of lines take
constexpr double kMostOfNames = 0.4;  // and names of a strip's rows
constexpr double kMostOfRoom = 0.52;  // of a panel's share of it, that names of its rows take
constexpr double kWidestRowName = 230.0;
constexpr double kWidestColumnName = 110.0;
constexpr double kCell = 34.0;  // height of a cell of a map, at most
constexpr double kLeastMap = 170.0;
constexpr double kLargestMap = 560.0;
constexpr double kScale = 40.0;        // the colours of a map, without their numbers
constexpr double kPrintedCell = 18.0;  // least height of a cell that shows its value
constexpr double kMapTick = 16.0;      // least distance of the names of a map's rows
constexpr double kNumbersApart = 10.0;
constexpr double kColumnGap = 18.0;  // between the columns of a strip
constexpr double kLeastBar = 20.0;
constexpr double kWidestBar = 150.0;
constexpr double kWidestStripName = 190.0;
constexpr double kWidestStripText = 110.0;
constexpr double kSwatch = 30.0;

constexpr std::size_t kMostEndLabels = 12;
constexpr std::size_t kLongestTitle = 90;    // of a figure
constexpr std::size_t kPrintedColumns = 12;  // up to which the cells of a map show their values

// ---- ticks that do not meet ----

bool apart(const std::vector<Tick>& ticks, const AxisLayout& axis, double length, bool across) {
  double before = -HUGE_VAL;
  for (const Tick& tick : ticks) {
    const double middle = position_on(axis.range, tick.at, axis.logarithmic) * length;
    const double half = across ? 0.5 * text_width(tick.label, kNumberText) : 0.5 * kNumberText;
    if (middle - half < before + (across ? kNumbersApart : 2.0)) return false;
    before = middle + half;
  }
  return true;
}

// As many numbers as stand apart along an axis so long.
std::vector<Tick> numbers_along(const AxisLayout& axis, double length, bool across, bool clock) {
  constexpr double kDistance[] = {56.0, 30.0};  // across, upwards
  const auto most =
      static_cast<std::size_t>(std::clamp(length / kDistance[across ? 0 : 1], 2.0, 12.0));
  std::vector<Tick> ticks;
  for (std::size_t count = most; count >= 1; --count) {
    ticks = axis.logarithmic ? log_ticks(axis.range, std::max<std::size_t>(count, 2))
            : clock          ? clock_ticks(axis.range, std::max<std::size_t>(count, 2))
                             : linear_ticks(axis.range, count);
    if (apart(ticks, axis, length, across)) return ticks;
  }
  if (ticks.size() > 1) ticks.resize(1);
  return ticks;
}

// Names in place of the numbers 0, 1, 2, ... of an axis, some left out where they come too close.
std::vector<Tick> named_ticks(const std::vector<std::string>& names, double length,
                              double least_distance, double widest, bool downwards) {
  const auto count = static_cast<double>(names.size());
  const auto step = static_cast<std::size_t>(std::ceil(least_distance * count / length));
  std::vector<Tick> ticks;
  for (std::size_t i = 0; i < names.size(); i += std::max<std::size_t>(step, 1)) {
    const std::size_t at = downwards ? names.size() - 1 - i : i;
    ticks.push_back(
        {static_cast<double>(at), fitted(printable(names[i], kLongestName), widest, kNumberText)});
  }
  return ticks;
}

double widest_of(const std::vector<Tick>& ticks) {
  double widest = 0.0;
  for (const Tick& tick : ticks) widest = std::max(widest, text_width(tick.label, kNumberText));
  return widest;
}

double widest_of(const std::vector<std::string>& names, double size) {
  double widest = 0.0;
  for (const std::string& name : names) {
    widest = std::max(widest, text_width(printable(name, kLongestName), size));
  }
  return widest;
}

// ---- rows of panels ----

// A panel with what it needs around its data.
struct Part {
  const Panel* panel = nullptr;
  PanelLayout layout;
  std::vector<LegendEntry> legend;
  bool labelled = true;  // shows the legend itself
  bool end_labels = false;
  double height = 0.0;
  double left = 0.0;
  double right = 0.0;
};

// Panels that stand side by side. `joined`: shares its x axis with the row above.
struct Row {
  std::vector<Part> parts;
  bool joined = false;
};

bool same_entries(const std::vector<LegendEntry>& a, const std::vector<LegendEntry>& b) {
  return std::ranges::equal(a, b, [](const LegendEntry& one, const LegendEntry& other) {
    return one.label == other.label && one.mark == other.mark && one.paint == other.paint;
  });
}

bool share_x(const Panel& above, const Panel& below) {
  const auto has_axis = [](const Panel& panel) {
    return kind_of(panel) == PanelKind::curves || kind_of(panel) == PanelKind::bars;
  };
  return has_axis(above) && has_axis(below) && above.x_label == below.x_label &&
         above.log_x == below.log_x && above.clock == below.clock;
}

// Height of the data.
double height_of(const Panel& panel, bool alone, const FigureLook& look) {
  switch (kind_of(panel)) {
    case PanelKind::map:
      return std::clamp(kCell * static_cast<double>(panel.map.rows.size()), kLeastMap, kLargestMap);
    case PanelKind::bars:
      return static_cast<double>(panel.rows.size()) *
             (kBetweenRows + kBar * static_cast<double>(bars_of_row(panel)));
    case PanelKind::strip:
      return kStripHead + kStripRow * static_cast<double>(panel.strip.rows.size());
    case PanelKind::curves:
      break;
  }
  if (look.height > 0.0) return panel.height * look.height;
  return panel.height * (alone ? kHeight : kBesideHeight);
}

// Whether all labels can stand at the ends of lines.
bool labels_fit_ends(const Part& part, const FigureLook& look) {
  if (part.legend.empty() || part.legend.size() > kMostEndLabels) return false;
  if (kind_of(*part.panel) != PanelKind::curves) return false;
  if (kLineHeight * static_cast<double>(part.legend.size()) > part.height) return false;
  std::vector<std::string> names;
  for (const LegendEntry& entry : part.legend) {
    if (entry.mark != Mark::line && entry.mark != Mark::dashed) return false;
    names.push_back(entry.label);
  }
  return widest_of(names, kLabelText) <= std::min(kWidestEndLabel, kMostOfWidth * look.width);
}

std::vector<Row> rows_of(const Figure& figure, const FigureLook& look) {
  std::vector<Row> rows;
  for (const Panel& panel : figure.panels) {
    if (rows.empty() || !panel.beside || look.width < kLeastBeside) rows.emplace_back();
    Part part;
    part.panel = &panel;
    part.legend = legend_of(panel);
    rows.back().parts.push_back(std::move(part));
  }
  for (std::size_t i = 0; i < rows.size(); ++i) {
    Row& row = rows[i];
    const bool alone = row.parts.size() == 1;
    for (Part& part : row.parts) {
      part.height = height_of(*part.panel, alone, look);
      part.end_labels = labels_fit_ends(part, look);
    }
    row.joined = i > 0 && alone && rows[i - 1].parts.size() == 1 &&
                 share_x(*rows[i - 1].parts[0].panel, *row.parts[0].panel);
  }
  return rows;
}

// Panels that share an axis, or stand side by side, show what all of them have once. Below a strip,
// which tells lines apart by itself, names stand at the ends of lines or nowhere.
void share_legends(std::vector<Row>& rows) {
  const bool has_strip = std::ranges::any_of(rows, [](const Row& row) {
    return std::ranges::any_of(
        row.parts, [](const Part& part) { return kind_of(*part.panel) == PanelKind::strip; });
  });
  for (Row& row : rows) {
    for (Part& part : row.parts) {
      const bool lines = std::ranges::all_of(part.legend, [](const LegendEntry& entry) {
        return entry.mark == Mark::line || entry.mark == Mark::dashed;
      });
      if (has_strip && lines && !part.end_labels) part.legend.clear();
    }
  }
  const std::vector<LegendEntry>* above = nullptr;
  for (Row& row : rows) {
    if (!row.joined) above = nullptr;
    if (row.parts.size() > 1) {
      const bool same = std::ranges::all_of(row.parts, [&](const Part& part) {
        return same_entries(part.legend, row.parts[0].legend);
      });
      // At the right end of lines; a legend stands at the left.
      const std::size_t shown = row.parts.back().end_labels ? row.parts.size() - 1 : 0;
      for (std::size_t i = 0; i < row.parts.size(); ++i) {
        row.parts[i].labelled = !same || i == shown;
      }
      continue;
    }
    Part& part = row.parts[0];
    if (part.legend.empty()) continue;
    part.labelled = above == nullptr || !same_entries(*above, part.legend);
    above = &part.legend;
  }
}

void choose_axes(std::vector<Row>& rows) {
  for (std::size_t first = 0; first < rows.size();) {
    std::size_t end = first + 1;
    while (end < rows.size() && rows[end].joined) ++end;
    Range all{HUGE_VAL, -HUGE_VAL};
    for (std::size_t i = first; i < end; ++i) {
      for (Part& part : rows[i].parts) {
        PanelLayout& layout = part.layout;
        const Panel& panel = *part.panel;
        layout.kind = kind_of(panel);
        layout.x = {x_range(panel), panel.log_x, {}, layout.kind == PanelKind::map};
        layout.y = {y_range(panel),
                    panel.log_y,
                    {},
                    layout.kind == PanelKind::map || layout.kind == PanelKind::bars};
        layout.has_x_labels = i + 1 == end && layout.kind != PanelKind::strip;
        all.low = std::min(all.low, layout.x.range.low);
        all.high = std::max(all.high, layout.x.range.high);
      }
    }
    for (std::size_t i = first; end - first > 1 && i < end; ++i) {
      rows[i].parts[0].layout.x.range = all;
    }
    first = end;
  }
}

// Numbers and names of the y axes, and the room around the data.
void choose_sides(std::vector<Row>& rows, const FigureLook& look) {
  for (Row& row : rows) {
    const double room = look.width / static_cast<double>(row.parts.size());
    const double widest_name = std::min(kWidestRowName, kMostOfRoom * room);
    for (Part& part : row.parts) {
      const Panel& panel = *part.panel;
      AxisLayout& y = part.layout.y;
      switch (part.layout.kind) {
        case PanelKind::bars:
          y.ticks = named_ticks(panel.rows, part.height, 0.0, widest_name, true);
          break;
        case PanelKind::map:
          y.ticks = named_ticks(panel.map.rows, part.height, kMapTick, widest_name, false);
          break;
        case PanelKind::curves:
          y.ticks = numbers_along(y, part.height, false, false);
          break;
        case PanelKind::strip:
          continue;
      }
      part.left = widest_of(y.ticks) + kTickGap;
      part.right = kAtRight;
      if (part.labelled && part.end_labels) {
        std::vector<std::string> names;
        for (const LegendEntry& entry : part.legend) names.push_back(entry.label);
        part.right = kLabelGap + widest_of(names, kLabelText);
      }
      if (part.layout.kind == PanelKind::map) {
        const MapLayout map = map_layout(panel.map, false);
        part.right = kScale + widest_of(map.scale);
      }
    }
  }
  // The data of panels below one another begin and end together.
  double left = 0.0;
  double right = 0.0;
  for (const Row& row : rows) {
    if (row.parts.size() > 1) continue;
    left = std::max(left, row.parts[0].left);
    right = std::max(right, row.parts[0].right);
  }
  for (Row& row : rows) {
    if (row.parts.size() > 1 || row.parts[0].layout.kind == PanelKind::strip) continue;
    row.parts[0].left = left;
    row.parts[0].right = right;
  }
}

// ---- legends ----

// Places the entries in rows of so wide a room; the height that they take.
double place_legend(std::vector<LegendEntry>& legend, double left, double top, double width) {
  if (legend.empty()) return 0.0;
  double widest = 0.0;
  for (LegendEntry& entry : legend) {
    entry.label = fitted(entry.label, width - kLegendSample - 8.0, kLabelText);
    widest = std::max(widest, text_width(entry.label, kLabelText));
  }
  const double step = kLegendSample + 8.0 + widest + kColumnGap;
  const auto columns =
      std::max<std::size_t>(1, static_cast<std::size_t>((width + kColumnGap) / step));
  for (std::size_t i = 0; i < legend.size(); ++i) {
    const std::size_t line = i / columns;
    legend[i].at = {left + step * static_cast<double>(i % columns),
                    top + kLegendRow * (static_cast<double>(line) + 0.5)};
  }
  const std::size_t lines = (legend.size() + columns - 1) / columns;
  return kLegendRow * static_cast<double>(lines) + 6.0;
}

// ---- strips ----

// A column with its texts as they show.
StripColumn cut_column(const StripColumn& column) {
  const auto cut = [](const std::string& text, double size, bool bold) {
    return fitted(printable(text, kLongestName), kWidestStripText, size, bold);
  };
  StripColumn shown = column;
  shown.label = cut(column.label, kNoteText, false);
  shown.unit = cut(column.unit, kNoteText, false);
  for (std::string& text : shown.texts) text = cut(with_minus(text), kLabelText, false);
  for (std::string& warning : shown.warnings) warning = cut(warning, kNoteText, true);
  return shown;
}

// Columns between `left` and `right`, as many as there is room for; bars share what texts leave
// over.
std::vector<ColumnLayout> place_columns(const Strip& strip, double widest_name, double left,
                                        double right) {
  std::vector<ColumnLayout> columns;
  const double names = std::min(widest_of(strip.rows, kLabelText), widest_name);
  double at = left + kSwatch + names + kColumnGap;
  double taken = 0.0;
  double bars = 0.0;
  for (const StripColumn& whole : strip.columns) {
    ColumnLayout place;
    place.column = cut_column(whole);
    const StripColumn& column = place.column;
    double texts = 0.0;
    for (std::size_t i = 0; i < column.texts.size(); ++i) {
      double width = text_width(column.texts[i], kLabelText);
      if (i < column.warnings.size() && !column.warnings[i].empty()) {
        width += 6.0 + text_width(column.warnings[i], kNoteText, true);
      }
      texts = std::max(texts, width);
    }
    const double heading =
        std::max(text_width(column.label, kNoteText), text_width(column.unit, kNoteText));
    place.width = std::max(texts, heading);
    if (!column.values.empty()) {
      place.width = std::max(texts + 6.0, heading - kLeastBar);
      bars += 1.0;
      place.largest = std::isfinite(column.limit) ? column.limit : 0.0;
      for (const double value : column.values) {
        if (std::isfinite(value)) place.largest = std::max(place.largest, value);
      }
      if (!(place.largest > 0.0)) place.largest = 1.0;
    }
    taken += place.width + kColumnGap;
    columns.push_back(std::move(place));
  }
  const double over = right - at - taken + kColumnGap;
  const double bar = bars > 0.0 ? std::clamp(over / bars, kLeastBar, kWidestBar) : 0.0;
  for (ColumnLayout& place : columns) {
    if (!place.column.values.empty()) {
      place.bar = bar;
      place.width += bar;
    }
    place.left = at;
    at += place.width + kColumnGap;
  }
  std::erase_if(columns,
                [&](const ColumnLayout& place) { return place.left + place.width > right + 0.5; });
  return columns;
}

// What a strip says of columns for which it has no room; empty: all are there.
std::string left_out_of(const Strip& strip, std::size_t placed) {
  std::string names;
  for (std::size_t i = placed; i < strip.columns.size(); ++i) {
    names += (names.empty() ? "no room here for " : ", ") + strip.columns[i].label;
  }
  return names;
}

void place_strip(const Strip& strip, const FigureLook& look, PanelLayout& layout) {
  const double widest_name = std::min(kWidestStripName, kMostOfNames * look.width);
  layout.strip.paints = strip.paints;
  for (const std::string& row : strip.rows) {
    layout.strip.rows.push_back(fitted(printable(row, kLongestName), widest_name, kLabelText));
  }
  const double right = layout.data.left + layout.data.width;
  layout.columns = place_columns(strip, widest_name, layout.data.left, right);
  const std::string left_out = left_out_of(strip, layout.columns.size());
  layout.y_label = fitted(printable(left_out, left_out.size()), layout.data.width, kLabelText);
}

// ---- placing ----

void fill(const Part& part, const FigureLook& look, PanelLayout& layout) {
  const Panel& panel = *part.panel;
  layout.x_label = fitted(printable(panel.x_label, kLongestName), layout.data.width, kLabelText);
  if (layout.kind == PanelKind::map) {
    const double widest = std::min(widest_of(panel.map.columns, kNumberText), kWidestColumnName);
    layout.x.ticks = named_ticks(panel.map.columns, layout.data.width, widest + kNumbersApart,
                                 kWidestColumnName, false);
  } else if (layout.kind != PanelKind::strip) {
    layout.x.ticks = numbers_along(layout.x, layout.data.width, true, panel.clock);
  }
  // What reaches too far past an end of the axis.
  std::erase_if(layout.x.ticks, [&](const Tick& tick) {
    const double at =
        position_on(layout.x.range, tick.at, layout.x.logarithmic) * layout.data.width;
    const double half = 0.5 * text_width(tick.label, kNumberText);
    return half - at > part.left + 0.5 * look.edge ||
           at + half > layout.data.width + part.right + 0.5 * look.edge;
  });
  if (layout.kind == PanelKind::map) {
    const bool printed =
        panel.map.columns.size() <= kPrintedColumns &&
        layout.data.height / static_cast<double>(panel.map.rows.size()) >= kPrintedCell;
    layout.map = map_layout(panel.map, printed);
  }
  for (std::size_t i = 0; i < panel.series.size(); ++i) {
    layout.series.push_back(series_layout(panel, i));
  }
  layout.references = references_of(panel);
  layout.spots = spots_of(panel);
  for (Zone zone : panel.zones) {
    zone.from = std::max(zone.from, layout.x.range.low);
    zone.to = std::min(zone.to, layout.x.range.high);
    if (zone.from < zone.to)
      layout.zones.push_back(
          {zone.from, zone.to, printable(zone.label, kLongestName), zone.shaded});
  }
}

// One row from `top` on, into the layout; returns where it ends.
double place_row(Row& row, double top, const FigureLook& look, FigureLayout& figure) {
  const auto count = static_cast<double>(row.parts.size());
  const double width = (look.width - 2.0 * look.edge - (count - 1.0) * kBetween) / count;
  double legends = 0.0;
  bool titles = false;
  bool labels = false;
  double tallest = 0.0;
  for (std::size_t i = 0; i < row.parts.size(); ++i) {
    Part& part = row.parts[i];
    PanelLayout& layout = part.layout;
    const double left = look.edge + static_cast<double>(i) * (width + kBetween);
    layout.data = {left + part.left, 0.0, width - part.left - part.right, part.height};
    if (layout.kind == PanelKind::strip) place_strip(part.panel->strip, look, layout);
    layout.has_end_labels = part.labelled && part.end_labels;
    if (part.labelled && !part.end_labels && layout.kind != PanelKind::strip) {
      layout.legend = part.legend;
      const bool whole_row = i == 0 && row.parts.size() > 1 && !row.parts[1].labelled;
      const double room = whole_row ? look.width - look.edge - layout.data.left : width - part.left;
      legends = std::max(legends, place_legend(layout.legend, layout.data.left, top, room));
    }
    titles = titles || !part.panel->title.empty();
    labels = labels || !part.panel->y_label.empty() || !part.panel->map.label.empty() ||
             !layout.y_label.empty();
    tallest = std::max(tallest, part.height);
  }
  double at = top + legends;
  if (titles) at += kTitleLine;
  const double title_line = at - 6.0;
  if (labels) at += kLabelLine;
  const double label_line = at - 9.0;
  if (!titles && !labels) at += 6.0;
  bool numbered = false;
  bool named = false;
  for (std::size_t i = 0; i < row.parts.size(); ++i) {
    Part& part = row.parts[i];
    PanelLayout& layout = part.layout;
    layout.data.top = at;
    layout.title_line = title_line;
    layout.label_line = label_line;
    const double room = width - part.left;
    layout.title = fitted(printable(part.panel->title, kLongestName), room, kHeadingText, true);
    const bool scaled = layout.kind == PanelKind::map;
    if (layout.kind != PanelKind::strip) {
      layout.y_label = fitted(printable(part.panel->y_label, kLongestName),
                              (scaled ? 0.45 : 1.0) * room, kLabelText);
    }
    fill(part, look, layout);
    layout.map.label = fitted(layout.map.label, 0.45 * room, kLabelText);
    numbered = numbered || layout.has_x_labels;
    named = named || (layout.has_x_labels && !layout.x_label.empty());
  }
  double bottom = at + tallest + kUnder;
  if (numbered) bottom += kNumbers;
  if (named) bottom += kAxisLabel;
  for (std::size_t i = 0; i < row.parts.size(); ++i) {
    PanelLayout& layout = row.parts[i].layout;
    layout.room = {look.edge + static_cast<double>(i) * (width + kBetween), top, width,
                   bottom - top};
    figure.panels.push_back(std::move(layout));
  }
  return bottom;
}

void demand_sense(const FigureLook& look) {
  const auto demand = [](bool holds, const char* rule) {
    if (!holds) throw std::invalid_argument(std::string("a figure's ") + rule);
  };
  demand(look.width >= 240.0 && look.width <= 10'000.0, "width must be 240 to 10000");
  demand(look.edge >= 0.0 && look.edge <= 0.2 * look.width,
         "edge must be at most a fifth of its width");
  demand(std::isnan(look.height) || (look.height >= 20.0 && look.height <= 10'000.0),
         "height of a panel must be 20 to 10000");
  demand(look.curve >= 0.1 && look.curve <= 10.0, "lines must be 0.1 to 10 wide");
}

void demand_sense(const Figure& figure) {
  if (figure.panels.empty()) throw std::invalid_argument("a figure needs a panel");
  for (const Panel& panel : figure.panels) {
    if (!(panel.height >= 0.1 && panel.height <= 10.0)) {
      throw std::invalid_argument("a panel must be 0.1 to 10 times as high as ordinary ones");
    }
    for (const Series& series : panel.series) {
      const bool fits = series.mark == Mark::band ? series.low.size() == series.x.size() &&
                                                        series.high.size() == series.x.size()
                                                  : series.x.size() == series.y.size();
      if (!fits)
        throw std::invalid_argument("series " + series.label + ": x and y differ in length");
    }
    if (panel.map.values.size() != panel.map.rows.size() * panel.map.columns.size()) {
      throw std::invalid_argument("the values of a map must fit its rows and columns");
    }
    const std::size_t rows = panel.strip.rows.size();
    bool fits = panel.strip.paints.size() == rows;
    for (const StripColumn& column : panel.strip.columns) {
      fits = fits && column.texts.size() == rows &&
             (column.values.empty() || column.values.size() == rows) &&
             (column.warnings.empty() || column.warnings.size() == rows);
    }
    if (!fits) throw std::invalid_argument("the columns of a strip must fit its rows");
  }
}

}  // namespace

FigureLayout lay_out(const Figure& figure, const FigureLook& look) {
  demand_sense(look);
  demand_sense(figure);
  FigureLayout layout;
  layout.width = look.width;
  layout.curve = look.curve;
  layout.title = fitted(printable(figure.title, kLongestTitle), look.width - 2.0 * look.edge,
                        kTitleText, true);
  double at = layout.title.empty() ? std::min(kFirstLine, look.edge) : kFirstLine;
  layout.title_at = {look.edge, at + kTitleText};
  if (!layout.title.empty()) at += kFigureTitle;
  std::vector<Row> rows = rows_of(figure, look);
  share_legends(rows);
  choose_axes(rows);
  choose_sides(rows, look);
  for (Row& row : rows) at = place_row(row, at, look, layout);
  layout.height = std::ceil(at + 2.0);
  return layout;
}

}  // namespace plunge
