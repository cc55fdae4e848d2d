#include "sim/sheet/sheet_layout.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <span>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"

namespace plunge {
namespace {

constexpr double kSide = 14.0;  // [mm] margins
constexpr double kTop = 11.0;
constexpr double kBottom = 9.0;
constexpr double kCheck = 2.5;             // [mm] a box to tick
constexpr std::size_t kLeastReadings = 4;  // rows
constexpr std::size_t kMostReadings = 9;
constexpr std::size_t kMostRings = 6;  // scenes that are named
constexpr std::size_t kBlankSteps = 6;

// A step of an axis that people count in, so that there are no more than so many.
double tick_step(double range, double most) {
  const double least = range / most;
  const double decade = std::pow(10.0, std::floor(std::log10(least)));
  for (const double step : {1.0, 2.0, 2.5, 5.0}) {
    if (step * decade >= least) return step * decade;
  }
  return 10.0 * decade;
}

// One try at a page with letters of a scale.
class PageTry {
 public:
  PageTry(const SheetContent& content, const Paper& paper, const Typesetter& typesetter,
          double scale)
      : content_(content),
        typesetter_(typesetter),
        scale_(scale),
        right_(paper.width - kSide),
        bottom_(paper.height - kBottom),
        y_(kTop) {
    page_.paper = paper;
    page_.title = "Bench sheet: " + content.fork;
  }

  // The page; nothing where it is too short. `rows`: for readings, `gap`: between blocks [mm].
  std::optional<SheetPage> page(std::size_t rows, double gap) {
    gap_ = gap;
    put_head();
    put_cautions();
    put_settings();
    put_picture_and_predictions();
    put_steps();
    put_readings(rows);
    put_foot();
    if (y_ > bottom_) return std::nullopt;
    return std::move(page_);
  }

 private:
  double width() const { return right_ - kSide; }

  // Places a text; the height that it takes up.
  double text(double x, double y, double width, const std::string& words, TextStyle style,
              int lines = 1) {
    if (words.empty()) return 0.0;
    style.size *= scale_;
    PlacedText placed{{words, style, width, lines}, x, y, {}, {}};
    const PageBox box = typesetter_.measured(placed.column);
    placed.box = {x + box.x, y + box.y, box.width, box.height};
    placed.room = {x, y, width, box.height};
    page_.texts.push_back(placed);
    return box.height;
  }

  // The height that a text would take up.
  double height_of(double width, const std::string& words, TextStyle style, int lines) const {
    if (words.empty()) return 0.0;
    style.size *= scale_;
    return typesetter_.measured({words, style, width, lines}).height;
  }

  double line_height(double size) const { return height_of(50.0, "X", {.size = size}, 1); }

  void rule(double x0, double y0, double x1, double y1, double width = 0.15, Ink ink = Ink::pale) {
    page_.strokes.push_back({{{x0, y0}, {x1, y1}}, width, ink, false});
  }

  // A line to write on.
  void blank(double x0, double x1, double y) { rule(x0, y, x1, y, 0.15, Ink::grey); }

  double heading(double x, double y, double width, const std::string& words) {
    return text(x, y, width, words, {.size = 9.5, .bold = true}) + 0.6;
  }

  void put_head() {
    const double title = text(kSide, y_, 70.0, "Bench sheet", {.size = 18.0, .bold = true});
    const double low = y_ + title - 1.4;
    const double small = line_height(8.0);
    text(right_ - 82.0, low - small, 8.0, "No.", {.size = 8.0, .ink = Ink::grey});
    blank(right_ - 74.0, right_ - 48.0, low - 0.4);
    text(right_ - 45.0, low - small, 10.0, "Date", {.size = 8.0, .ink = Ink::grey});
    blank(right_ - 35.0, right_, low - 0.4);
    y_ += title + 0.6;
    rule(kSide, y_, right_, y_, 0.5, Ink::black);
    y_ += 1.2;
    const double column = width() / 3.0;
    double most = 0.0;
    const std::array<std::pair<const char*, const std::string*>, 3> names = {
        {{"Fork", &content_.fork}, {"Rider", &content_.rider}, {"Bike", &content_.bike}}};
    for (std::size_t i = 0; i < names.size(); ++i) {
      const double x = kSide + static_cast<double>(i) * column;
      const double label =
          text(x, y_, column - 3.0, names[i].first, {.size = 7.0, .ink = Ink::grey});
      const double name = text(x, y_ + label, column - 3.0, *names[i].second, {.size = 11.0}, 2);
      if (name == 0.0) blank(x, x + column - 6.0, y_ + label + line_height(11.0));
      most = std::max(most, label + std::max(name, line_height(11.0)));
    }
    y_ += most + 0.8;
    if (!content_.task.empty()) {
      const double label = 21.0;
      text(kSide, y_, label - 1.0, "What to do", {.size = 10.0, .bold = true});
      y_ += text(kSide + label, y_, width() - label, content_.task, {.size = 10.0}, 5);
    }
    y_ += gap_;
  }

  // A text behind a box to tick; its height.
  double ticked(double x, double y, double width, const std::string& words, TextStyle style,
                int lines) {
    const double indent = kCheck + 1.6;
    const double first = line_height(style.size);
    page_.frames.push_back(
        {{x, y + 0.5 * (first - kCheck), kCheck, kCheck}, 0.2, Ink::black, false});
    return std::max(text(x + indent, y, width - indent, words, style, lines), first);
  }

  void put_cautions() {
    const double top = y_;
    const double pad = 2.0;
    const std::size_t frame = page_.frames.size();
    page_.frames.push_back({{kSide, top, width(), 0.0}, 0.6, Ink::red, true});
    double y = top + 1.2;
    y += text(kSide + pad, y, width() - 2.0 * pad, "Before a tool touches the cap",
              {.size = 11.0, .bold = true, .ink = Ink::red}) +
         0.8;
    const std::size_t half = (content_.cautions.size() + 1) / 2;
    const double column = 0.5 * (width() - 3.0 * pad);
    double deepest = y;
    for (std::size_t side = 0; side < 2; ++side) {
      double at = y;
      const double x = kSide + pad + static_cast<double>(side) * (column + pad);
      const std::size_t end = side == 0 ? half : content_.cautions.size();
      for (std::size_t i = side * half; i < end; ++i) {
        at += ticked(x, at, column, content_.cautions[i], {.size = 8.6}, 7) + 0.7;
      }
      deepest = std::max(deepest, at);
    }
    y = deepest + 0.3;
    y += text(kSide + pad, y, width() - 2.0 * pad, content_.closing, {.size = 8.4, .bold = true},
              3) +
         1.2;
    page_.frames[frame].box.height = y - top;
    y_ = y + gap_;
  }

  void put_settings() {
    const double label = 49.0;
    const double number = 24.0;
    const double before = kSide + label;
    const double after = before + number;
    const double note = after + number + 4.0;
    const TextStyle head{.size = 8.0, .italic = true, .ink = Ink::grey};
    TextStyle right = head;
    right.align = Align::right;
    text(before, y_, number - 1.0, "before", right);
    text(after, y_, number - 1.0, content_.has_before ? "after" : "set", right);
    y_ += text(note, y_, right_ - note, "note", head) + 0.4;
    rule(kSide, y_, right_, y_, 0.4, Ink::black);
    for (const SheetRow& row : content_.rows) put_row(row, before, after, note, number);
    y_ = put_guesses(y_ + 0.6) + gap_;
  }

  void put_row(const SheetRow& row, double before, double after, double note, double number) {
    const double pad = 0.7;
    const TextStyle plain{.size = 10.0};
    const TextStyle small{.size = 7.8, .ink = Ink::grey};
    const double line = line_height(plain.size);
    double height = std::max(line, height_of(before - kSide - 2.0, row.label, plain, 2));
    const double notes = height_of(right_ - note, row.note, small, 3);
    height = std::max(height, notes);
    const double y = y_ + pad;
    text(kSide, y, before - kSide - 2.0, row.label, plain, 2);
    TextStyle value = plain;
    value.align = Align::right;
    text(before, y, number - 1.0, row.before, value);
    if (row.before.empty()) blank(before + 5.0, before + number - 1.0, y + line - 0.4);
    value.bold = true;
    text(after, y, number - 1.0, row.after, value);
    if (row.after.empty()) blank(after + 5.0, after + number - 1.0, y + line - 0.4);
    text(note, y + (notes < line ? 0.5 * (line - notes) : 0.0), right_ - note, row.note, small, 3);
    y_ += height + 2.0 * pad;
    rule(kSide, y_, right_, y_);
  }

  double put_guesses(double y) {
    if (content_.guesses.empty()) return y;
    return y + text(kSide, y, width(), content_.guesses, {.size = 8.0, .italic = true}, 3);
  }

  void put_picture_and_predictions() {
    const double picture = 0.5 * width();
    const double top = y_;
    const double left_end = put_picture(kSide, top, picture - 3.0);
    const double right_end = put_predictions(kSide + picture + 2.0, top);
    y_ = std::max(left_end, right_end) + gap_;
  }

  double put_picture(double x, double y, double width) {
    y += heading(x, y, width, "Force of the springs along the legs, N");
    const TextStyle small{.size = 7.2, .ink = Ink::grey};
    const double tick = line_height(small.size);
    const double left = x + 11.0;
    const double plot_width = width - 13.0;
    const double top = y + 0.5 * tick + 0.3;
    const double height = 40.0 * scale_ + 2.0;
    const double low = top + height;
    const double travel = content_.after.travel.back();
    double most = 0.0;
    for (const SheetCurve* curve : {&content_.before, &content_.after}) {
      for (const double force : curve->fast) most = std::max(most, force);
      for (const double force : curve->slow) most = std::max(most, force);
    }
    const double force_step = tick_step(most, 5.0);
    const double high = force_step * std::ceil(most / force_step);
    const double travel_step = tick_step(1e3 * travel, 8.0) * 1e-3;
    const auto at_x = [&](double value) { return left + plot_width * value / travel; };
    const auto at_y = [&](double value) { return low - height * value / high; };
    TextStyle right = small;
    right.align = Align::right;
    TextStyle centre = small;
    centre.align = Align::centre;
    for (int i = 0; force_step * i <= high * 1.001; ++i) {
      const double force = force_step * i;
      rule(left, at_y(force), left + plot_width, at_y(force), 0.1);
      text(x, at_y(force) - 0.5 * tick, 10.0, fmt::format("{:.0f}", force), right);
    }
    for (int i = 0; travel_step * i <= travel * 1.001; ++i) {
      const double place = at_x(travel_step * i);
      rule(place, top, place, low, 0.1);
      text(place - 5.0, low + 0.4, 10.0, fmt::format("{:.0f}", 1e3 * travel_step * i), centre);
    }
    text(left, low + 0.4 + tick, plot_width, "travel, mm", centre);
    rule(left, top, left, low, 0.3, Ink::black);
    rule(left, low, left + plot_width, low, 0.3, Ink::black);
    const auto draw = [&](const SheetCurve& curve, const std::vector<double>& forces, double thick,
                          bool dashed, Ink ink) {
      Stroke stroke{{}, thick, ink, dashed};
      for (std::size_t i = 0; i < forces.size(); ++i) {
        if (forces[i] < 0.0) continue;  // below the axis
        stroke.places.push_back({at_x(curve.travel[i]), at_y(forces[i])});
      }
      if (!stroke.places.empty()) page_.strokes.push_back(std::move(stroke));
    };
    draw(content_.before, content_.before.fast, 0.25, true, Ink::grey);
    draw(content_.before, content_.before.slow, 0.5, true, Ink::grey);
    draw(content_.after, content_.after.fast, 0.25, false, Ink::red);
    draw(content_.after, content_.after.slow, 0.6, false, Ink::black);
    put_legend(left + 2.0, top + 1.0);
    return low + 0.4 + 2.0 * tick;
  }

  void put_legend(double x, double y) {
    struct Entry {
      const char* words;
      double width;
      Ink ink;
      bool dashed;
    };
    std::vector<Entry> entries = {{"slow", 0.6, Ink::black, false},
                                  {"fast, from sag", 0.25, Ink::red, false}};
    if (content_.has_before) {
      entries = {{"after, slow", 0.6, Ink::black, false},
                 {"after, fast from sag", 0.25, Ink::red, false},
                 {"before, slow", 0.5, Ink::grey, true},
                 {"before, fast from sag", 0.25, Ink::grey, true}};
    }
    for (const Entry& entry : entries) {
      const double line = line_height(7.2);
      page_.strokes.push_back(
          {{{x, y + 0.5 * line}, {x + 8.0, y + 0.5 * line}}, entry.width, entry.ink, entry.dashed});
      y += text(x + 9.5, y, 33.0, entry.words, {.size = 7.2});
    }
  }

  double put_predictions(double x, double y) {
    const double width = right_ - x;
    if (content_.predictions.empty()) {
      y += heading(x, y, width, "Notes");
      for (int i = 0; i < 5; ++i) {
        y += 7.0 * scale_;
        blank(x, right_, y);
      }
      return y;
    }
    y += heading(x, y, width, "Predicted");
    y += text(x, y, width, content_.predicted_for, {.size = 8.0, .ink = Ink::grey}, 2) + 0.3;
    const double number = 19.0;
    const double after = right_ - number;
    const double before = after - (content_.has_before ? number : 0.0);
    TextStyle head{.size = 8.0, .italic = true, .ink = Ink::grey, .align = Align::right};
    if (content_.has_before) text(before, y, number - 1.0, "before", head);
    y += text(after, y, number, content_.has_before ? "after" : "set", head) + 0.3;
    rule(x, y, right_, y, 0.3, Ink::black);
    for (const SheetPrediction& prediction : content_.predictions) {
      y += 0.6;
      TextStyle value{.size = 9.0, .align = Align::right};
      if (content_.has_before) text(before, y, number - 1.0, prediction.before, value);
      value.bold = true;
      const double cell = text(after, y, number, prediction.after, value);
      const double label = text(x, y, before - x - 1.0, prediction.label, {.size = 9.0}, 2);
      y += std::max(cell, label) + 0.5;
      rule(x, y, right_, y);
    }
    return y;
  }

  void put_steps() {
    y_ += heading(kSide, y_, width(), "Steps");
    const double tools = 12.0;
    const double line = line_height(8.6);
    text(kSide, y_, tools, "Tools", {.size = 8.6, .italic = true});
    const double words = text(kSide + tools, y_, width() - tools, content_.tools, {.size = 8.6}, 5);
    if (words == 0.0) blank(kSide + tools, right_, y_ + line);
    y_ += std::max(words, line) + 1.0;
    const std::size_t count = content_.steps.empty() ? kBlankSteps : content_.steps.size();
    const std::size_t half = (count + 1) / 2;
    const double column = 0.5 * (width() - 4.0);
    double deepest = y_;
    for (std::size_t side = 0; side < 2; ++side) {
      double y = y_;
      const double x = kSide + static_cast<double>(side) * (column + 4.0);
      for (std::size_t i = side * half; i < std::min(count, (side + 1) * half); ++i) {
        y += put_step(x, y, column, i);
      }
      deepest = std::max(deepest, y);
    }
    y_ = deepest + gap_;
  }

  double put_step(double x, double y, double column, std::size_t i) {
    if (!content_.steps.empty()) {
      return ticked(x, y, column, fmt::format("{}  {}", i + 1, content_.steps[i]), {.size = 8.6},
                    3) +
             0.7;
    }
    const double line = ticked(x, y, 12.0, fmt::format("{}", i + 1), {.size = 8.6}, 1);
    blank(x + 9.0, x + column, y + line);
    return line + 1.6;
  }

  void put_readings(std::size_t rows) {
    y_ += heading(kSide, y_, width(), "Readings on the trail: ring down before each run");
    struct Column {
      const char* head;
      double width;
    };
    const double said = width() - 46.0 - 32.0 - 3.0 * 18.0 - 20.0;
    const Column columns[] = {{"run, where", 46.0}, {"ring expected", 32.0}, {"ring", 18.0},
                              {"pressure", 18.0},   {"sag", 18.0},           {"full travel?", 20.0},
                              {"rider says", said}};
    const double top = y_;
    const TextStyle head{.size = 7.6, .italic = true, .ink = Ink::grey};
    const double first = line_height(head.size) + 0.8;
    const double row = 6.4 * scale_;
    double x = kSide;
    for (const Column& column : columns) {
      text(x + 1.0, top + 0.4, column.width - 1.6, column.head, head);
      x += column.width;
    }
    const std::size_t named = std::min({rows, kMostRings, content_.rings.size()});
    for (std::size_t i = 0; i < rows; ++i) {
      const double y = top + first + row * static_cast<double>(i);
      rule(kSide, y, right_, y, i == 0 ? 0.3 : 0.15, i == 0 ? Ink::black : Ink::pale);
      if (i >= named) continue;
      const SheetRing& ring = content_.rings[i];
      const double down = 0.5 * (row - line_height(8.6));
      const TextStyle small{.size = 7.2};
      const double high = height_of(columns[0].width - 1.6, ring.scene, small, 2);
      text(kSide + 1.0, y + 0.5 * (row - high), columns[0].width - 1.6, ring.scene, small, 2);
      text(kSide + columns[0].width + 1.0, y + down, columns[1].width - 1.6, ring.expected,
           {.size = 8.6});
    }
    y_ = top + first + row * static_cast<double>(rows);
    x = kSide;
    for (const Column& column : columns) {
      if (x > kSide) rule(x, top, x, y_);
      x += column.width;
    }
    page_.frames.push_back({{kSide, top, width(), y_ - top}, 0.3, Ink::black, false});
    y_ += 1.2;
  }

  // At the foot of the page, whatever is above it.
  void put_foot() {
    const double line = line_height(7.6);
    const double y = bottom_ - line;
    const double column = 0.5 * width();
    const TextStyle small{.size = 7.6, .ink = Ink::grey};
    text(kSide, y, 18.0, "Done by", small);
    blank(kSide + 19.0, kSide + column - 4.0, y + line - 0.4);
    text(kSide + column, y, 21.0, "Checked by", small);
    blank(kSide + column + 22.0, right_, y + line - 0.4);
    y_ += line + 2.0;
  }

  const SheetContent& content_;
  const Typesetter& typesetter_;
  double scale_;
  double right_;
  double bottom_;
  double y_;
  double gap_ = 0.0;
  SheetPage page_;
};

}  // namespace

SheetPage lay_out(const SheetContent& content, const Paper& paper, const Typesetter& typesetter) {
  const std::size_t least = std::max(kLeastReadings, std::min(kMostRings, content.rings.size()));
  const auto tried = [&](double scale, std::size_t rows, double gap) {
    return PageTry(content, paper, typesetter, scale).page(rows, gap);
  };
  for (double scale = 1.0; scale > kLeastScale - 0.001; scale -= 0.02) {
    std::optional<SheetPage> page = tried(scale, least, 2.0);
    if (!page) continue;
    std::size_t rows = least;
    while (rows < kMostReadings) {
      std::optional<SheetPage> more = tried(scale, rows + 1, 2.0);
      if (!more) break;
      page = std::move(more);
      ++rows;
    }
    for (double gap = 2.5; gap <= 5.0; gap += 0.5) {
      std::optional<SheetPage> wider = tried(scale, rows, gap);
      if (!wider) break;
      page = std::move(wider);
    }
    return std::move(*page);
  }
  throw RunError("the sheet does not fit one page: its names, steps or scenes are too long");
}

}  // namespace plunge
