#include "sim/report/plot.hpp"

#include <fcntl.h>
#include <fmt/core.h>
#include <spawn.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cmath>
#include <filesystem>
#include <limits>
#include <stdexcept>
#include <string_view>
#include <system_error>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"

extern char** environ;

namespace plunge {
namespace {

// Seven colours that stay apart for normal sight and for the three kinds of colour blindness, and
// stand out from white by 2.5 : 1 at least (chosen by search on the simulated differences).
constexpr std::array<const char*, 7> kColours = {"#4212c7", "#b79909", "#8e1a00", "#00b77c",
                                                 "#a396ff", "#690065", "#170100"};
constexpr char kInk[] = "#262626";
constexpr char kQuiet[] = "#6b6b6b";  // references and borders
constexpr char kGrid[] = "#e4e4e4";

// Lengths in pixels of the screen, 1/96 inch on paper.
constexpr double kFont = 13.0;
constexpr double kLetter = 0.57 * kFont;  // mean width of a letter, on the wide side
constexpr double kLeft = 84.0;            // tick labels and the label of the y axis
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
constexpr double kScale = 120.0;             // the colours of a map, their numbers and label
constexpr double kTickWidth = 46.0;          // least distance of the names of columns
constexpr std::size_t kPrintedColumns = 12;  // up to which the cells of a map show their values
constexpr std::size_t kLongestRowName = 34;  // letters
constexpr std::size_t kLongestLabel = 60;    // letters
constexpr std::size_t kLongestTitle = 90;    // of a figure
constexpr std::size_t kThinnedTo = 1200;     // runs of samples in a thinned trace
constexpr double kPngScale = 2.0;            // pixels of a PNG per pixel of the screen
constexpr double kPdfFont = 1.13 * kFont;    // what gnuplot draws as 3/4 kFont points
constexpr double kPdfLine = 1.4;             // likewise for the widths of lines,
constexpr double kPdfPoint = 1.0;            // and for the size of points

// One letter per code point.
std::size_t letters(const std::string& text) {
  return static_cast<std::size_t>(std::count_if(
      text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) >> 6) != 2; }));
}

// Length of the UTF-8 sequence at `at`, 0 where there is none.
std::size_t sequence_length(const std::string& text, std::size_t at) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char lead = byte(at);
  const std::size_t length = lead < 0x80   ? 1
                             : lead < 0xc2 ? 0
                             : lead < 0xe0 ? 2
                             : lead < 0xf0 ? 3
                             : lead < 0xf5 ? 4
                                           : 0;
  if (length == 0 || at + length > text.size()) return 0;
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(at + i) >> 6) != 2) return 0;
  }
  return length;
}

// The text as a gnuplot string that shows literally: what cannot be shown becomes a space or
// U+FFFD, what is too long ends in an ellipsis.
std::string quoted(const std::string& text, std::size_t longest = kLongestLabel) {
  std::string out = "'";
  std::size_t count = 0;
  for (std::size_t i = 0; i < text.size();) {
    if (count++ == longest) {
      out += "…";
      break;
    }
    const std::size_t length = sequence_length(text, i);
    const unsigned char c = static_cast<unsigned char>(text[i]);
    if (length == 0) {
      out += "\xef\xbf\xbd";
    } else if (c < 0x20 || c == 0x7f) {
      out += ' ';
    } else if (c == '\'') {
      out += "''";
    } else {
      out.append(text, i, length);
    }
    i += std::max<std::size_t>(length, 1);
  }
  return out + "'";
}

bool shows(double value, bool log_axis) {
  return std::isfinite(value) && (!log_axis || value > 0.0);
}

struct Range {
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

bool is_points(Mark mark) { return mark == Mark::points || mark == Mark::dots; }
bool has_map(const Panel& panel) { return !panel.map.values.empty(); }

// Of bars: 0 belongs to the range, and stays its end where no interval passes it by a visible bit.
Range bar_range(const Panel& panel) {
  Range range{0.0, 0.0};
  for (const Series& series : panel.series) {
    for (const auto* values : {&series.x, &series.low, &series.high}) {
      for (const double value : *values) range.include(value, false);
    }
  }
  Range roomy = range.with_room(0.03, false);
  if (range.low >= -0.005 * range.high) roomy.low = 0.0;
  return roomy;
}

Range x_range(const Panel& panel) {
  if (has_map(panel)) return {-0.5, static_cast<double>(panel.map.columns.size()) - 0.5};
  if (!panel.rows.empty()) return bar_range(panel);
  Range range;
  bool has_lines = false;
  for (const Series& series : panel.series) {
    has_lines = has_lines || !is_points(series.mark);
    for (std::size_t i = 0; i < series.x.size(); ++i) {
      if (shows(series.y[i], panel.log_y)) range.include(series.x[i], panel.log_x);
    }
  }
  for (const Reference& reference : panel.references) {
    if (reference.vertical) range.include(reference.at, panel.log_x);
  }
  return range.with_room(has_lines ? 0.0 : 0.05, panel.log_x);
}

Range y_range(const Panel& panel) {
  const std::size_t rows = has_map(panel) ? panel.map.rows.size() : panel.rows.size();
  if (rows > 0) return {-0.5, static_cast<double>(rows) - 0.5};
  Range range;
  for (const Series& series : panel.series) {
    for (std::size_t i = 0; i < series.y.size(); ++i) {
      if (shows(series.x[i], panel.log_x)) range.include(series.y[i], panel.log_y);
    }
  }
  double top_reference = -std::numeric_limits<double>::infinity();
  for (const Reference& reference : panel.references) {
    if (reference.vertical) continue;
    range.include(reference.at, panel.log_y);
    top_reference = std::max(top_reference, reference.at);
  }
  // A bound at 0 that no value passes stays the end of the axis. The label of a reference on top
  // stands above its line.
  Range roomy = range.with_room(0.06, panel.log_y);
  if (!panel.log_y && range.low == 0.0 && range.high > 0.0) roomy.low = 0.0;
  if (!panel.log_y && top_reference == range.high && range.high > range.low) {
    roomy.high = range.high + 0.12 * (range.high - range.low);
  }
  return roomy;
}

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

// Writes the points of a series as a data block; false where it has none to show.
bool write_points(std::string& script, const std::string& block, const Series& series,
                  const Panel& panel) {
  std::string points;
  bool in_gap = true;
  std::vector<std::size_t> kept(series.y.size());
  if (is_points(series.mark)) {
    for (std::size_t i = 0; i < kept.size(); ++i) kept[i] = i;
  } else {
    kept = thinned(series.y);
  }
  for (const std::size_t i : kept) {
    const bool visible = shows(series.x[i], panel.log_x) && shows(series.y[i], panel.log_y);
    if (visible) {
      points += fmt::format("{:.8g} {:.8g}\n", series.x[i], series.y[i]);
    } else if (!in_gap) {
      points += "\n";
    }
    in_gap = !visible;
  }
  if (points.empty()) return false;
  script += block + " << END\n" + points + "END\n";
  return true;
}

int colour_of(const Panel& panel, std::size_t index) {
  int next = 0;
  for (std::size_t i = 0; i < index; ++i) next += panel.series[i].colour < 0 ? 1 : 0;
  return panel.series[index].colour < 0 ? next : panel.series[index].colour;
}

std::string style_of(const Panel& panel, std::size_t index) {
  const int number = colour_of(panel, index);
  const char* colour = kColours[static_cast<std::size_t>(number) % kColours.size()];
  // Past the last colour they come again, with dots between.
  const bool again = static_cast<std::size_t>(number) >= kColours.size();
  switch (panel.series[index].mark) {
    case Mark::line:
      return fmt::format("with lines lw 1.8 dt {} lc rgb '{}'", again ? "(16,4,3,4)" : "1", colour);
    case Mark::dashed:
      return fmt::format("with lines lw 1.8 dt (9,5) lc rgb '{}'", colour);
    case Mark::dots:
      return fmt::format("with points pt 7 ps 0.35 lc rgb '{}'", colour);
    case Mark::bars:
      return fmt::format("with boxxyerror fillstyle solid 1.0 noborder lc rgb '{}'", colour);
    case Mark::points:
      break;
  }
  constexpr std::array<int, 5> kShapes = {7, 5, 9, 11, 13};  // filled
  return fmt::format("with points pt {} ps 0.8 lc rgb '{}'",
                     kShapes[static_cast<std::size_t>(number) % kShapes.size()], colour);
}

// What the legend of a panel shows, to tell whether two panels can share it.
std::vector<std::string> legend_of(const Panel& panel) {
  std::vector<std::string> legend;
  for (std::size_t i = 0; i < panel.series.size(); ++i) {
    if (panel.series[i].label.empty()) continue;
    legend.push_back(quoted(panel.series[i].label) + style_of(panel, i));
  }
  return legend;
}

double legend_width(const Panel& panel) {
  std::size_t longest = 0;
  for (const Series& series : panel.series) {
    longest = std::max(longest, std::min(letters(series.label), kLongestLabel + 1));
  }
  return longest == 0 ? 0.0 : kLegendSample + kLetter * static_cast<double>(longest);
}

// Row names and tick labels to the left of the data, and the label of the axis.
double left_of(const Panel& panel) {
  std::size_t longest = 0;
  for (const auto* names : {&panel.rows, &panel.map.rows}) {
    for (const std::string& name : *names) {
      longest = std::max(longest, std::min(letters(name), kLongestRowName + 1));
    }
  }
  const double label = panel.y_label.empty() ? 14.0 : 38.0;
  return std::max(kLeft, label + kLetter * static_cast<double>(longest));
}

double beside(const Panel& panel) { return has_map(panel) ? kScale : legend_width(panel); }

// Bars of one row, side by side.
std::size_t bars_of_row(const Panel& panel) {
  return std::max<std::size_t>(
      1, static_cast<std::size_t>(std::ranges::count(panel.series, Mark::bars, &Series::mark)));
}

// Of a panel that is as high as its rows; else 0.
double own_height(const Panel& panel) {
  if (has_map(panel)) {
    return std::clamp(kCell * static_cast<double>(panel.map.rows.size()), kLeastMap, kLargestMap);
  }
  return static_cast<double>(panel.rows.size()) *
         (kBetweenRows + kBar * static_cast<double>(bars_of_row(panel)));
}

// Where a panel's data stand, in pixels from the top left corner.
struct Place2d {
  double left = 0.0;
  double room_left = kLeft;
  double top = 0.0;
  double width = 0.0;
  double height = 0.0;
  bool has_x_labels = true;
  bool has_legend = false;
};

struct Layout {
  double width = 0.0;
  double height = 0.0;
  std::vector<Place2d> panels;
  bool shared_x = false;
};

Layout lay_out(const Figure& figure) {
  Layout layout;
  const std::vector<Panel>& panels = figure.panels;
  const bool stacked = figure.arrangement == Arrangement::stacked;
  const bool shared_legend = std::all_of(panels.begin(), panels.end(), [&](const Panel& panel) {
    const std::vector<std::string> legend = legend_of(panel);
    return legend == legend_of(panels[0]) || (stacked && legend.empty());
  });
  layout.shared_x = stacked && std::all_of(panels.begin(), panels.end(), [&](const Panel& panel) {
                      return panel.x_label == panels[0].x_label && panel.log_x == panels[0].log_x &&
                             !has_map(panel);
                    });
  double height = kHeight;
  double widest_legend = 0.0;
  double widest_left = kLeft;
  for (const Panel& panel : panels) {
    height = std::max(height, kLegendRow * static_cast<double>(legend_of(panel).size()));
    widest_legend = std::max(widest_legend, beside(panel));
    widest_left = std::max(widest_left, left_of(panel));
  }
  double x = 0.0;
  double y = figure.title.empty() ? 0.0 : kFigureTitle;
  for (std::size_t i = 0; i < panels.size(); ++i) {
    const bool last = i + 1 == panels.size();
    Place2d place;
    place.room_left = stacked ? widest_left : left_of(panels[i]);
    place.left = x + place.room_left;
    place.top = y + (panels[i].title.empty() ? kTop / 2.0 : kTop);
    place.width = stacked ? kWidth : kNarrow;
    const double own = own_height(panels[i]);
    place.height = own > 0.0 ? own : stacked ? height : std::max(height, kNarrow * 0.75);
    place.has_x_labels = !layout.shared_x || last;
    place.has_legend = !shared_legend || (stacked ? i == 0 : last);
    const double at_right = stacked                                  ? widest_legend
                            : place.has_legend || has_map(panels[i]) ? beside(panels[i])
                                                                     : 0.0;
    const double right = place.left + place.width + at_right + kRight;
    const double bottom = place.top + place.height + (place.has_x_labels ? kBottom : 6.0);
    layout.width = std::max(layout.width, right);
    layout.height = std::max(layout.height, bottom);
    (stacked ? y : x) = stacked ? bottom : right;
    layout.panels.push_back(place);
  }
  if (!stacked) {  // titles may be missing in some; the data still stand in one row
    double top = 0.0;
    for (const Place2d& place : layout.panels) top = std::max(top, place.top);
    for (Place2d& place : layout.panels) place.top = top;
    double tallest = 0.0;
    for (const Place2d& place : layout.panels) tallest = std::max(tallest, place.height);
    layout.height = top + tallest + kBottom;
  }
  return layout;
}

enum class Format { png, svg, pdf };

std::string terminal(Format format, const Layout& layout) {
  switch (format) {
    case Format::png:
      return fmt::format(
          "set terminal pngcairo noenhanced size {:.0f},{:.0f} font 'DejaVu Sans,{}' "
          "linewidth {} pointscale {}\n",
          layout.width * kPngScale, layout.height * kPngScale, kFont * 0.75 * kPngScale, kPngScale,
          kPngScale);
    case Format::svg:
      return fmt::format(
          "set terminal svg noenhanced size {:.0f},{:.0f} font 'DejaVu Sans,{}' "
          "background '#ffffff'\n",
          layout.width, layout.height, kFont);
    case Format::pdf:
      break;
  }
  return fmt::format(
      "set terminal pdfcairo noenhanced size {:.4f}in,{:.4f}in font 'DejaVu Sans,{}' "
      "linewidth {} pointscale {}\n",
      layout.width / 96.0, layout.height / 96.0, kPdfFont, kPdfLine, kPdfPoint);
}

// A logarithmic axis. Where it spans few decades, 2 and 5 of each are labelled as well.
std::string log_axis_script(char axis, const Range& range) {
  constexpr double kFewDecades = 3.0;
  std::string script = fmt::format("set logscale {}\n", axis);
  if (std::log10(range.high / range.low) > kFewDecades) return script;
  std::string ticks;
  for (double decade = std::floor(std::log10(range.low)); decade <= std::log10(range.high);
       decade += 1.0) {
    for (const double digit : {1.0, 2.0, 5.0}) {
      const double tick = digit * std::pow(10.0, decade);
      if (tick >= range.low && tick <= range.high) {
        ticks += fmt::format("{}'{:g}' {:g}", ticks.empty() ? "" : ", ", tick, tick);
      }
    }
  }
  return script + fmt::format("set {}tics ({})\n", axis, ticks);
}

// Where a value stands on its axis: 0 at the low end, 1 at the high end.
double position_on(const Range& range, double value, bool log_axis) {
  return log_axis ? std::log(value / range.low) / std::log(range.high / range.low)
                  : (value - range.low) / (range.high - range.low);
}

// Whether there is more room above the data than below them where a vertical label would stand.
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

std::string reference_script(const Reference& reference, const Panel& panel, const Range& x,
                             const Range& y) {
  if (!shows(reference.at, reference.vertical ? panel.log_x : panel.log_y)) return "";
  std::string line, place;
  if (reference.vertical) {
    const double at = position_on(x, reference.at, panel.log_x);
    const bool above = more_room_above(panel, at, x, y);
    line = fmt::format("from {0:.10g}, graph 0 to {0:.10g}, graph 1", reference.at);
    place = fmt::format("{:.10g}, graph {} {} rotate offset {}, 0", reference.at,
                        above ? 0.98 : 0.02, above ? "right" : "left", at > 0.06 ? -0.8 : 0.9);
  } else {
    line = fmt::format("from graph 0, first {0:.10g} to graph 1, first {0:.10g}", reference.at);
    place = fmt::format("graph 0.995, first {:.10g} right offset 0, 0.5", reference.at);
  }
  return fmt::format(
      "set arrow {} nohead back lw 1.2 dt (4,4) lc rgb '{}'\n"
      "set label {} at {} front textcolor rgb '{}'\n",
      line, kQuiet, quoted(reference.label), place, kQuiet);
}

std::string cut(const std::string& name) {
  if (letters(name) <= kLongestRowName) return name;
  std::size_t end = 0;
  for (std::size_t count = 0; count < kLongestRowName; ++count) {
    end += std::max<std::size_t>(sequence_length(name, end), 1);
  }
  return name.substr(0, end) + "…";
}

// Names in place of the numbers 0, 1, 2, ... of an axis, some left out where they come too close.
std::string named_ticks(char axis, const std::vector<std::string>& names, double length,
                        double least_distance, bool downwards) {
  const auto count = static_cast<double>(names.size());
  const auto step = static_cast<std::size_t>(std::ceil(least_distance * count / length));
  std::string ticks;
  for (std::size_t i = 0; i < names.size(); i += std::max<std::size_t>(step, 1)) {
    const std::size_t at = downwards ? names.size() - 1 - i : i;
    ticks += fmt::format("{}{} {}", ticks.empty() ? "" : ", ", quoted(cut(names[i])), at);
  }
  return fmt::format("set {0}tics scale 0 ({1})\nunset m{0}tics\n", axis, ticks);
}

// The bars of a series as boxes, and their intervals as lines upon them.
std::string write_bars(std::string& script, const std::string& block, const Panel& panel,
                       std::size_t index) {
  const Series& series = panel.series[index];
  const auto bars = static_cast<double>(bars_of_row(panel));
  const double bar = kBar / (kBetweenRows + kBar * bars);
  double before = 0.0;
  for (std::size_t i = 0; i < index; ++i) before += panel.series[i].mark == Mark::bars ? 1.0 : 0.0;
  std::string boxes, intervals;
  for (std::size_t i = 0; i < series.x.size(); ++i) {
    if (!std::isfinite(series.x[i]) || !std::isfinite(series.y[i])) continue;
    const double row = static_cast<double>(panel.rows.size()) - 1.0 - series.y[i];
    const double y = row + (0.5 * (bars - 1.0) - before) * bar;
    boxes += fmt::format("{:.8g} {:.8g} {:.8g} {:.8g} {:.8g} {:.8g}\n", 0.5 * series.x[i], y,
                         std::min(0.0, series.x[i]), std::max(0.0, series.x[i]), y - 0.46 * bar,
                         y + 0.46 * bar);
    if (i >= series.low.size() || i >= series.high.size()) continue;
    if (!std::isfinite(series.low[i]) || !std::isfinite(series.high[i])) continue;
    intervals +=
        fmt::format("{:.8g} {:.8g} {:.8g} {:.8g}\n", series.x[i], y, series.low[i], series.high[i]);
  }
  const std::string title = series.label.empty() ? "notitle" : "title " + quoted(series.label);
  const bool any = !boxes.empty();
  if (any) script += block + " << END\n" + boxes + "END\n";
  std::string plots = fmt::format("{} {} {}", any ? block : "NaN", title,
                                  any ? style_of(panel, index) : "with lines");
  if (!intervals.empty()) {
    script += block + "i << END\n" + intervals + "END\n";
    plots += fmt::format(", {}i notitle with xerrorbars pt 0 lw 1.3 lc rgb '{}'", block, kInk);
  }
  return plots;
}

// Colours from pale to dark, even to the eye: light grey over blue to a dark violet.
std::array<int, 3> shade(double share) {
  constexpr std::array<std::array<double, 3>, 4> kStops = {
      {{241, 239, 247}, {163, 176, 226}, {92, 88, 190}, {43, 8, 92}}};
  const double at = std::clamp(share, 0.0, 1.0) * static_cast<double>(kStops.size() - 1);
  const std::size_t low = std::min(static_cast<std::size_t>(at), kStops.size() - 2);
  const double rest = at - static_cast<double>(low);
  std::array<int, 3> colour{};
  for (std::size_t i = 0; i < 3; ++i) {
    colour[i] = static_cast<int>(
        std::lround(kStops[low][i] + rest * (kStops[low + 1][i] - kStops[low][i])));
  }
  return colour;
}

std::string shade_name(double share) {
  const std::array<int, 3> c = shade(share);
  return fmt::format("#{:02x}{:02x}{:02x}", c[0], c[1], c[2]);
}

// The cells of a map and the scale of their colours.
std::string map_script(const CellMap& map, const Layout& layout, const Place2d& place) {
  Range range;
  for (const double value : map.values) range.include(value, false);
  const bool any = range.low <= range.high;
  const bool flat = any && range.high - range.low <= 1e-12 * std::abs(range.high);
  const auto share_of = [&](double value) {
    return flat ? 0.5 : (value - range.low) / (range.high - range.low);
  };
  const bool printed = map.columns.size() <= kPrintedColumns &&
                       place.height / static_cast<double>(map.rows.size()) >= 18.0;
  std::string script;
  for (std::size_t i = 0; i < map.values.size(); ++i) {
    if (!std::isfinite(map.values[i])) continue;
    const std::size_t row = i / map.columns.size();
    const auto x = static_cast<double>(i % map.columns.size());
    const auto y = static_cast<double>(row);
    const double share = share_of(map.values[i]);
    script += fmt::format(
        "set object rectangle from first {},{} to first {},{} back fillcolor rgb '{}' "
        "fillstyle solid 1.0 border lc rgb '#ffffff' lw 0.5\n",
        x - 0.5, y - 0.5, x + 0.5, y + 0.5, shade_name(share));
    if (printed) {
      script += fmt::format(
          "set label '{:.{}f}' at first {}, first {} center front textcolor rgb "
          "'{}'\n",
          map.values[i], map.decimals, x, y, share > 0.52 ? "#ffffff" : kInk);
    }
  }
  if (!any) return script;
  // In screen coordinates, beside the data.
  constexpr int kSteps = 64;
  const double left = place.left + place.width + 18.0;
  const auto screen_x = [&](double x) { return x / layout.width; };
  const auto screen_y = [&](double y) { return 1.0 - y / layout.height; };
  for (int i = 0; i < kSteps; ++i) {
    const double bottom = place.top + place.height * (1.0 - static_cast<double>(i) / kSteps);
    // Each reaches a little under the next, so that no gap shows between them.
    const double under = i + 1 < kSteps ? 1.0 : 0.0;
    const double top =
        place.top + place.height * (1.0 - static_cast<double>(i + 1) / kSteps) - under;
    script += fmt::format(
        "set object rectangle from screen {:.6f},{:.6f} to screen {:.6f},{:.6f} front fillcolor "
        "rgb '{}' fillstyle solid 1.0 noborder\n",
        screen_x(left), screen_y(bottom), screen_x(left + 14.0), screen_y(top),
        shade_name((i + 0.5) / kSteps));
  }
  constexpr int kNumbers = 5;
  for (int i = 0; i < kNumbers; ++i) {
    if (flat && i != kNumbers / 2) continue;
    const double share = static_cast<double>(i) / (kNumbers - 1);
    const double value = flat ? range.low : range.low + share * (range.high - range.low);
    script +=
        fmt::format("set label '{:.{}f}' at screen {:.6f}, screen {:.6f} left textcolor rgb '{}'\n",
                    value, map.decimals, screen_x(left + 20.0),
                    screen_y(place.top + place.height * (1.0 - share)), kInk);
  }
  script += fmt::format(
      "set label {} at screen {:.6f}, screen {:.6f} center rotate textcolor rgb '{}'\n",
      quoted(map.label), screen_x(left + 84.0), screen_y(place.top + 0.5 * place.height), kInk);
  return script;
}

std::string panel_script(const Figure& figure, const Layout& layout, std::size_t number) {
  const Panel& panel = figure.panels[number];
  const Place2d& place = layout.panels[number];
  std::string script = "reset\nset encoding utf8\nunset key\n";
  const auto screen_x = [&](double x) { return x / layout.width; };
  const auto screen_y = [&](double y) { return 1.0 - y / layout.height; };
  script += fmt::format(
      "set lmargin at screen {:.6f}\nset rmargin at screen {:.6f}\n"
      "set tmargin at screen {:.6f}\nset bmargin at screen {:.6f}\n",
      screen_x(place.left), screen_x(place.left + place.width), screen_y(place.top),
      screen_y(place.top + place.height));
  script += fmt::format(
      "set border 3 lw 0.8 lc rgb '{0}'\nset grid back lw 0.8 lt 1 lc rgb '{1}'\n"
      "set tics nomirror scale 0.5 textcolor rgb '{2}'\n",
      kQuiet, kGrid, kInk);
  Range x = x_range(panel);
  if (layout.shared_x) {
    for (const Panel& other : figure.panels) {
      const Range range = x_range(other);
      x = {std::min(x.low, range.low), std::max(x.high, range.high)};
    }
  }
  const Range y = y_range(panel);
  script += fmt::format("set xrange [{:.10g}:{:.10g}]\nset yrange [{:.10g}:{:.10g}]\n", x.low,
                        x.high, y.low, y.high);
  if (!panel.rows.empty()) {
    script += named_ticks('y', panel.rows, place.height, 0.0, true);
    script += fmt::format("unset grid\nset grid xtics back lw 0.8 lt 1 lc rgb '{}'\n", kGrid);
  }
  if (has_map(panel)) {
    script += "unset grid\nunset border\n";
    script += named_ticks('x', panel.map.columns, place.width, kTickWidth, false);
    script += named_ticks('y', panel.map.rows, place.height, 18.0, false);
    script += map_script(panel.map, layout, place);
  }
  if (panel.log_x) script += log_axis_script('x', x);
  if (panel.log_y) script += log_axis_script('y', y);
  if (place.has_x_labels) {
    script += fmt::format("set xlabel {} textcolor rgb '{}'\n", quoted(panel.x_label), kInk);
  } else {
    script += "set format x ''\n";
  }
  script +=
      fmt::format("set label {} at screen {:.6f}, graph 0.5 center rotate textcolor rgb '{}'\n",
                  quoted(panel.y_label), screen_x(place.left - place.room_left + 16.0), kInk);
  if (!panel.title.empty()) {
    script += fmt::format("set label {} at graph 0, screen {:.6f} left textcolor rgb '{}'\n",
                          quoted(panel.title), screen_y(place.top - 14.0), kInk);
  }
  if (number == 0 && !figure.title.empty()) {
    script += fmt::format(
        "set label {} at screen {:.6f}, screen {:.6f} left font 'DejaVu Sans:Bold' "
        "textcolor rgb '{}'\n",
        quoted(figure.title, kLongestTitle), screen_x(layout.panels[0].left), screen_y(22.0), kInk);
  }
  for (const Reference& reference : panel.references) {
    script += reference_script(reference, panel, x, y);
  }
  if (place.has_legend && !legend_of(panel).empty()) {
    script += fmt::format(
        "set key at screen {:.6f}, screen {:.6f} left top vertical Left reverse samplen 2 "
        "spacing 1.2 width 0 noautotitle textcolor rgb '{}'\n",
        screen_x(place.left + place.width + 10.0), screen_y(place.top - 4.0), kInk);
  }

  std::string plots;
  for (std::size_t i = 0; i < panel.series.size(); ++i) {
    const Series& series = panel.series[i];
    const std::string block = fmt::format("$series{}", i);
    if (series.mark == Mark::bars) {
      plots += (plots.empty() ? "plot " : ", ") + write_bars(script, block, panel, i);
      continue;
    }
    const bool has_points = write_points(script, block, series, panel);
    const std::string title = series.label.empty() ? "notitle" : "title " + quoted(series.label);
    plots += fmt::format("{}{} {} {}", plots.empty() ? "plot " : ", ", has_points ? block : "NaN",
                         title, style_of(panel, i));
  }
  if (plots.empty()) plots = "plot NaN notitle";
  return script + plots + "\n";
}

// A file in memory that a child process can read or write.
class MemoryFile {
 public:
  explicit MemoryFile(const char* name) : descriptor_(::memfd_create(name, MFD_CLOEXEC)) {
    if (descriptor_ < 0) fail();
  }
  ~MemoryFile() { ::close(descriptor_); }
  MemoryFile(const MemoryFile&) = delete;
  MemoryFile& operator=(const MemoryFile&) = delete;

  int descriptor() const { return descriptor_; }

  void fill(const std::string& text) {
    for (std::size_t done = 0; done < text.size();) {
      const ssize_t written =
          ::pwrite(descriptor_, text.data() + done, text.size() - done, static_cast<off_t>(done));
      if (written <= 0) fail();
      done += static_cast<std::size_t>(written);
    }
  }
  std::string contents() const {
    std::string text(
        static_cast<std::size_t>(std::max<off_t>(::lseek(descriptor_, 0, SEEK_END), 0)), '\0');
    for (std::size_t done = 0; done < text.size();) {
      const ssize_t read =
          ::pread(descriptor_, text.data() + done, text.size() - done, static_cast<off_t>(done));
      if (read <= 0) fail();
      done += static_cast<std::size_t>(read);
    }
    return text;
  }

 private:
  [[noreturn]] static void fail() {
    throw RunError("cannot hand a plot to gnuplot: " + std::generic_category().message(errno));
  }
  int descriptor_;
};

// What gnuplot writes when it is fed the script.
std::string run_gnuplot(const std::string& script) {
  MemoryFile input("script"), output("image"), errors("errors");
  input.fill(script);
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_adddup2(&actions, input.descriptor(), STDIN_FILENO);
  posix_spawn_file_actions_adddup2(&actions, output.descriptor(), STDOUT_FILENO);
  posix_spawn_file_actions_adddup2(&actions, errors.descriptor(), STDERR_FILENO);
  const char* arguments[] = {"gnuplot", "--default-settings", "-", nullptr};
  pid_t child = -1;
  const int error = ::posix_spawnp(&child, arguments[0], &actions, nullptr,
                                   const_cast<char* const*>(arguments), environ);
  posix_spawn_file_actions_destroy(&actions);
  if (error != 0) {
    throw RunError("plots need gnuplot (Debian package gnuplot-nox), which cannot be started: " +
                   std::generic_category().message(error));
  }
  int status = 0;
  while (::waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  const std::string said = errors.contents();
  const std::string image = output.contents();
  if (!WIFEXITED(status) || WEXITSTATUS(status) != 0 || image.empty()) {
    throw RunError("gnuplot failed: " + (said.empty() ? "it wrote nothing" : said));
  }
  return image;
}

void replace_all(std::string& text, std::string_view what, std::string_view by) {
  for (std::size_t at = 0; (at = text.find(what, at)) != std::string::npos; at += by.size()) {
    text.replace(at, what.size(), by);
  }
}

// An SVG that falls back to a plain face where DejaVu Sans is missing, and shows no names of
// gnuplot's own when the pointer rests on a curve.
std::string polished_svg(std::string svg) {
  replace_all(svg, "\"DejaVu Sans:Bold\"",
              "\"DejaVu Sans, Verdana, sans-serif\" font-weight=\"bold\"");
  replace_all(svg, "\"DejaVu Sans\"", "\"DejaVu Sans, Verdana, sans-serif\"");
  const std::string open = "<title>gnuplot_plot_";
  const std::string close = "</title>";
  for (std::size_t at = 0; (at = svg.find(open, at)) != std::string::npos;) {
    svg.erase(at, svg.find(close, at) + close.size() - at);
  }
  replace_all(svg, "<title>Gnuplot</title>\n", "");
  return svg;
}

// A PDF that does not tell when it was made.
std::string undated_pdf(std::string pdf) {
  constexpr std::string_view kKey = "/CreationDate (";
  constexpr std::string_view kDate = "D:20000101000000";
  const std::size_t at = pdf.find(kKey);
  if (at != std::string::npos && at + kKey.size() + kDate.size() < pdf.size()) {
    pdf.replace(at + kKey.size(), kDate.size(), kDate);
  }
  return pdf;
}

Format format_of(const std::string& path) {
  const std::string suffix = std::filesystem::path(path).extension().string();
  if (suffix == ".png") return Format::png;
  if (suffix == ".svg") return Format::svg;
  if (suffix == ".pdf") return Format::pdf;
  throw InputError(Fault{"", path, "a plot's name must end in .png, .svg or .pdf", {}});
}

}  // namespace

void demand_plot_name(const std::string& path) { format_of(path); }

void draw(const Figure& figure, const std::string& path) {
  const Format format = format_of(path);
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
  const Layout layout = lay_out(figure);
  std::string script = terminal(format, layout) + "set multiplot\n";
  for (std::size_t i = 0; i < figure.panels.size(); ++i) {
    script += panel_script(figure, layout, i);
  }
  script += "unset multiplot\n";
  std::string image = run_gnuplot(script);
  if (format == Format::svg) image = polished_svg(std::move(image));
  if (format == Format::pdf) image = undated_pdf(std::move(image));
  write_file_atomically(path, image);
}

}  // namespace plunge
