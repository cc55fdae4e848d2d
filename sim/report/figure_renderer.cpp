#include "sim/report/figure_renderer.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <string_view>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/report/gnuplot.hpp"
#include "sim/text/words.hpp"

namespace plunge {
namespace {

// Seven colours that stay apart for normal sight and for the three kinds of colour blindness, and
// stand out from white by 2.5 : 1 at least (chosen by search on the simulated differences).
constexpr std::array<const char*, 7> kColours = {"#4212c7", "#b79909", "#8e1a00", "#00b77c",
                                                 "#a396ff", "#690065", "#170100"};
constexpr char kInk[] = "#262626";
constexpr char kQuiet[] = "#6b6b6b";  // references and borders
constexpr char kGrid[] = "#e4e4e4";

constexpr double kPngScale = 2.0;                // pixels of a PNG per pixel of the screen
constexpr double kPdfFont = 1.13 * kFigureFont;  // what gnuplot draws as 3/4 kFigureFont points
constexpr double kPdfLine = 1.4;                 // likewise for the widths of lines,
constexpr double kPdfPoint = 1.0;                // and for the size of points
constexpr double kDarkFrom = 0.52;               // share from which a cell needs light letters

std::string terminal(PictureFormat format, const FigureLayout& figure) {
  switch (format) {
    case PictureFormat::png:
      return fmt::format(
          "set terminal pngcairo noenhanced size {:.0f},{:.0f} font 'DejaVu Sans,{}' "
          "linewidth {} pointscale {}\n",
          figure.width * kPngScale, figure.height * kPngScale, kFigureFont * 0.75 * kPngScale,
          kPngScale, kPngScale);
    case PictureFormat::svg:
      return fmt::format(
          "set terminal svg noenhanced size {:.0f},{:.0f} font 'DejaVu Sans,{}' "
          "background '#ffffff'\n",
          figure.width, figure.height, kFigureFont);
    case PictureFormat::pdf:
      break;
  }
  return fmt::format(
      "set terminal pdfcairo noenhanced size {:.4f}in,{:.4f}in font 'DejaVu Sans,{}' "
      "linewidth {} pointscale {}\n",
      figure.width / 96.0, figure.height / 96.0, kPdfFont, kPdfLine, kPdfPoint);
}

// A text as a gnuplot string. All but letters, digits and blanks is written as an octal escape, so
// that nothing in it is an end, an escape, a command to be run or a comment.
std::string quoted(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    const bool plain = byte >= 0x80 || c == ' ' || (c >= '0' && c <= '9') ||
                       (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
    out += plain ? std::string(1, c) : fmt::format("\\{:03o}", byte);
  }
  return out + "\"";
}

// The same where gnuplot takes % for the beginning of a format.
std::string quoted_label(const std::string& text) {
  std::string out;
  for (const char c : text) out += c == '%' ? std::string("%%") : std::string(1, c);
  return quoted(out);
}

std::string style_of(const SeriesLayout& series) {
  const auto number = static_cast<std::size_t>(series.colour);
  const char* colour = kColours[number % kColours.size()];
  // Past the last colour they come again, with dots between.
  const bool again = number >= kColours.size();
  switch (series.mark) {
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
  return fmt::format("with points pt {} ps 0.8 lc rgb '{}'", kShapes[number % kShapes.size()],
                     colour);
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

// The script of one panel, line by line.
class PanelScript {
 public:
  PanelScript(const FigureLayout& figure, const PanelLayout& panel)
      : figure_(figure), panel_(panel) {}

  std::string text() {
    frame();
    axes();
    labels();
    for (const ReferenceLayout& reference : panel_.references) add_reference(reference);
    if (panel_.has_legend) {
      add("set key at screen {:.6f}, screen {:.6f} left top vertical Left reverse samplen 2 "
          "spacing 1.2 width 0 noautotitle textcolor rgb '{}'\n",
          screen_x(panel_.left + panel_.width + 10.0), screen_y(panel_.top - 4.0), kInk);
    }
    add_series();
    return script_;
  }

 private:
  template <class... Values>
  void add(fmt::format_string<Values...> format, Values&&... values) {
    script_ += fmt::format(format, std::forward<Values>(values)...);
  }

  double screen_x(double x) const { return x / figure_.width; }
  double screen_y(double y) const { return 1.0 - y / figure_.height; }

  void frame() {
    add("reset\nset encoding utf8\nunset key\n");
    add("set lmargin at screen {:.6f}\nset rmargin at screen {:.6f}\n"
        "set tmargin at screen {:.6f}\nset bmargin at screen {:.6f}\n",
        screen_x(panel_.left), screen_x(panel_.left + panel_.width), screen_y(panel_.top),
        screen_y(panel_.top + panel_.height));
    add("set border 3 lw 0.8 lc rgb '{0}'\nset grid back lw 0.8 lt 1 lc rgb '{1}'\n"
        "set tics nomirror scale 0.5 textcolor rgb '{2}'\n",
        kQuiet, kGrid, kInk);
    if (panel_.kind == PanelKind::bars) {
      add("unset grid\nset grid xtics back lw 0.8 lt 1 lc rgb '{}'\n", kGrid);
    }
    if (panel_.kind == PanelKind::map) add("unset grid\nunset border\n");
  }

  void axes() {
    add_axis('x', panel_.x);
    add_axis('y', panel_.y);
    if (panel_.kind == PanelKind::map) add_map(panel_.map);
  }

  void add_axis(char name, const AxisLayout& axis) {
    add("set {}range [{:.10g}:{:.10g}]\n", name, axis.range.low, axis.range.high);
    if (axis.logarithmic) add("set logscale {}\n", name);
    if (axis.ticks.empty() && !axis.named) return;
    std::string ticks;
    for (const Tick& tick : axis.ticks) {
      ticks +=
          fmt::format("{}{} {:g}", ticks.empty() ? "" : ", ", quoted_label(tick.label), tick.at);
    }
    add("set {}tics {}({})\n", name, axis.named ? "scale 0 " : "", ticks);
    if (axis.named) add("unset m{}tics\n", name);
  }

  void labels() {
    if (panel_.has_x_labels) {
      add("set xlabel {} textcolor rgb '{}'\n", quoted(panel_.x_label), kInk);
    } else {
      add("set format x ''\n");
    }
    add("set label {} at screen {:.6f}, graph 0.5 center rotate textcolor rgb '{}'\n",
        quoted(panel_.y_label), screen_x(panel_.left - panel_.room_left + 16.0), kInk);
    if (!panel_.title.empty()) {
      add("set label {} at graph 0, screen {:.6f} left textcolor rgb '{}'\n", quoted(panel_.title),
          screen_y(panel_.top - 14.0), kInk);
    }
    if (&panel_ == &figure_.panels.front() && !figure_.title.empty()) {
      add("set label {} at screen {:.6f}, screen {:.6f} left font 'DejaVu Sans:Bold' "
          "textcolor rgb '{}'\n",
          quoted(figure_.title), screen_x(panel_.left), screen_y(22.0), kInk);
    }
  }

  void add_reference(const ReferenceLayout& reference) {
    std::string line, place;
    if (reference.vertical) {
      const bool above = reference.label_at_top;
      line = fmt::format("from {0:.10g}, graph 0 to {0:.10g}, graph 1", reference.at);
      place =
          fmt::format("{:.10g}, graph {} {} rotate offset {}, 0", reference.at, above ? 0.98 : 0.02,
                      above ? "right" : "left", reference.position > 0.06 ? -0.8 : 0.9);
    } else {
      line = fmt::format("from graph 0, first {0:.10g} to graph 1, first {0:.10g}", reference.at);
      place = fmt::format("graph 0.995, first {:.10g} right offset 0, 0.5", reference.at);
    }
    add("set arrow {} nohead back lw 1.2 dt (4,4) lc rgb '{}'\n"
        "set label {} at {} front textcolor rgb '{}'\n",
        line, kQuiet, quoted(reference.label), place, kQuiet);
  }

  // The cells of a map and the scale of their colours.
  void add_map(const MapLayout& map) {
    for (const Cell& cell : map.cells) {
      add("set object rectangle from first {},{} to first {},{} back fillcolor rgb '{}' "
          "fillstyle solid 1.0 border lc rgb '#ffffff' lw 0.5\n",
          cell.x - 0.5, cell.y - 0.5, cell.x + 0.5, cell.y + 0.5, shade_name(cell.share));
      if (cell.text.empty()) continue;
      add("set label '{}' at first {}, first {} center front textcolor rgb '{}'\n", cell.text,
          cell.x, cell.y, cell.share > kDarkFrom ? "#ffffff" : kInk);
    }
    if (!map.scale.empty()) add_scale(map);
  }

  // In screen coordinates, beside the data.
  void add_scale(const MapLayout& map) {
    constexpr int kSteps = 64;
    const double left = panel_.left + panel_.width + 18.0;
    const auto height_of = [&](double share) { return panel_.top + panel_.height * (1.0 - share); };
    for (int i = 0; i < kSteps; ++i) {
      const double bottom = height_of(static_cast<double>(i) / kSteps);
      // Each reaches a little under the next, so that no gap shows between them.
      const double under = i + 1 < kSteps ? 1.0 : 0.0;
      const double top = height_of(static_cast<double>(i + 1) / kSteps) - under;
      add("set object rectangle from screen {:.6f},{:.6f} to screen {:.6f},{:.6f} front fillcolor "
          "rgb '{}' fillstyle solid 1.0 noborder\n",
          screen_x(left), screen_y(bottom), screen_x(left + 14.0), screen_y(top),
          shade_name((i + 0.5) / kSteps));
    }
    for (const Tick& number : map.scale) {
      add("set label '{}' at screen {:.6f}, screen {:.6f} left textcolor rgb '{}'\n", number.label,
          screen_x(left + 20.0), screen_y(height_of(number.at)), kInk);
    }
    add("set label {} at screen {:.6f}, screen {:.6f} center rotate textcolor rgb '{}'\n",
        quoted(map.label), screen_x(left + 84.0), screen_y(panel_.top + 0.5 * panel_.height), kInk);
  }

  void add_series() {
    std::string plots;
    for (std::size_t i = 0; i < panel_.series.size(); ++i) {
      const SeriesLayout& series = panel_.series[i];
      const std::string block = fmt::format("$series{}", i);
      const bool bars = series.mark == Mark::bars;
      const bool any = bars ? add_bars(block, series.bars) : add_strokes(block, series.strokes);
      plots += fmt::format("{}{} {} {}", plots.empty() ? "plot " : ", ", any ? block : "NaN",
                           series.label.empty() ? "notitle" : "title " + quoted(series.label),
                           any || !bars ? style_of(series) : "with lines");
      if (bars && add_intervals(block + "i", series.bars)) {
        plots += fmt::format(", {}i notitle with xerrorbars pt 0 lw 1.3 lc rgb '{}'", block, kInk);
      }
    }
    add("{}\n", plots.empty() ? "plot NaN notitle" : plots);
  }

  // Adds a block of data; false where it would be empty.
  bool add_block(const std::string& block, const std::string& lines) {
    if (lines.empty()) return false;
    add("{} << END\n{}END\n", block, lines);
    return true;
  }

  bool add_strokes(const std::string& block, const std::vector<std::vector<Point>>& strokes) {
    std::string lines;
    for (const std::vector<Point>& stroke : strokes) {
      if (!lines.empty()) lines += "\n";  // lifts the pen
      for (const Point& point : stroke) lines += fmt::format("{:.8g} {:.8g}\n", point.x, point.y);
    }
    return add_block(block, lines);
  }

  bool add_bars(const std::string& block, const std::vector<Bar>& bars) {
    std::string lines;
    for (const Bar& bar : bars) {
      lines += fmt::format("{:.8g} {:.8g} {:.8g} {:.8g} {:.8g} {:.8g}\n", 0.5 * bar.value, bar.y,
                           std::min(0.0, bar.value), std::max(0.0, bar.value),
                           bar.y - bar.half_height, bar.y + bar.half_height);
    }
    return add_block(block, lines);
  }

  bool add_intervals(const std::string& block, const std::vector<Bar>& bars) {
    std::string lines;
    for (const Bar& bar : bars) {
      if (std::isnan(bar.low)) continue;
      lines += fmt::format("{:.8g} {:.8g} {:.8g} {:.8g}\n", bar.value, bar.y, bar.low, bar.high);
    }
    return add_block(block, lines);
  }

  const FigureLayout& figure_;
  const PanelLayout& panel_;
  std::string script_;
};

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

// Refuses what is no picture of its kind from its first to its last bytes: PNG 5.2 and 11.2.5,
// SVG 1.1 1.3, PDF 32000-1 7.5.
void demand_whole(const std::string& image, PictureFormat format) {
  std::string_view first = "\x89PNG\r\n\x1a\n", last = "IEND\xae\x42\x60\x82";
  if (format == PictureFormat::svg) first = "<svg", last = "</svg>";
  if (format == PictureFormat::pdf) first = "%PDF-", last = "%%EOF";
  constexpr std::size_t kDeclared = 1000;  // bytes that an SVG may have before it begins
  const std::size_t begin = std::string_view(image).substr(0, kDeclared).find(first);
  const std::size_t end = trimmed(image).rfind(last);
  const bool begins = begin == 0 || (format == PictureFormat::svg && begin != std::string::npos);
  const bool ends = end != std::string::npos && end + last.size() == trimmed(image).size();
  if (begins && ends) return;
  throw RunError(fmt::format("gnuplot failed, no plot is drawn: what it wrote is no {}{}",
                             begins ? "whole " : "",
                             format == PictureFormat::png   ? "PNG"
                             : format == PictureFormat::svg ? "SVG"
                                                            : "PDF"));
}

}  // namespace

std::string render(const FigureLayout& figure, PictureFormat format) {
  std::string script = terminal(format, figure) + "set multiplot\n";
  for (const PanelLayout& panel : figure.panels) script += PanelScript(figure, panel).text();
  script += "unset multiplot\n";
  std::string image = run_gnuplot(script);
  demand_whole(image, format);
  if (format == PictureFormat::svg) image = polished_svg(std::move(image));
  if (format == PictureFormat::pdf) image = undated_pdf(std::move(image));
  return image;
}

}  // namespace plunge
