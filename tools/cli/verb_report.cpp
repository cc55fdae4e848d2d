#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <set>
#include <utility>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "sim/report/plot.hpp"
#include "sim/report/sweep_report.hpp"
#include "tools/cli/json_number.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/sweep_words.hpp"
#include "tools/cli/table.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

using Json = nlohmann::ordered_json;

constexpr std::size_t kFrontShown = 20;
constexpr std::size_t kDotsAcross = 360;  // of a cloud of rides, so that a million draw in time
constexpr std::size_t kDotsUp = 130;

const Label& metric_named(const MergedSweep& sweep, const std::string& name) {
  return *std::ranges::find(sweep.metrics(), name, &Label::name);
}

double number_in(double value, const std::string& said) {
  const CommonUnit* unit = find_common_unit(said);
  return unit == nullptr ? value : unit->from_si(value);
}

// A setting in the unit in which people say it.
std::string setting(double value, const std::string& said) {
  return fmt::format("{:.4g}", number_in(value, said));
}

// The name of an axis' value.
std::string value_name(const GridAxis& axis, std::size_t at) {
  return axis.labels.empty() ? setting(axis.values[at], axis.said) : axis.labels[at];
}

// The settings that differ between the rides of a sweep.
class Settings {
 public:
  explicit Settings(const MergedSweep& sweep) : sweep_(sweep) {
    for (std::size_t i = 0; i < sweep.sampled().size(); ++i) samples_.push_back(sweep.sample(i));
  }

  void columns(Table& table) const {
    for (const GridAxis& axis : sweep_.grid()) {
      if (axis.values.size() > 1) table.column(axis.name, unit_of(axis.said));
    }
    for (const SampledNumber& number : sweep_.sampled()) {
      table.column(number.name, unit_of(number.said));
    }
  }
  void cells(std::size_t ride, std::vector<std::string>& cells) const {
    const std::vector<std::size_t> index = sweep_.index(ride);
    for (std::size_t i = 0; i < sweep_.grid().size(); ++i) {
      const GridAxis& axis = sweep_.grid()[i];
      if (axis.values.size() > 1) cells.push_back(value_name(axis, index[i]));
    }
    for (std::size_t i = 0; i < samples_.size(); ++i) {
      cells.push_back(setting(samples_[i][index.back()], sweep_.sampled()[i].said));
    }
  }
  Json json(std::size_t ride) const {
    const std::vector<std::size_t> index = sweep_.index(ride);
    Json settings = Json::object();
    for (std::size_t i = 0; i < sweep_.grid().size(); ++i) {
      const GridAxis& axis = sweep_.grid()[i];
      settings[axis.name] =
          axis.labels.empty() ? Json(axis.values[index[i]]) : Json(axis.labels[index[i]]);
    }
    for (std::size_t i = 0; i < samples_.size(); ++i) {
      settings[sweep_.sampled()[i].name] = samples_[i][index.back()];
    }
    return settings;
  }

 private:
  const MergedSweep& sweep_;
  std::vector<std::vector<double>> samples_;
};

// Some rides with their settings and metrics.
class RideList {
 public:
  RideList(const MergedSweep& sweep, const Settings& settings, std::vector<std::size_t> rides)
      : sweep_(sweep), settings_(settings), rides_(std::move(rides)) {}

  RideList& with_metrics() {
    for (const Label& metric : sweep_.metrics()) {
      const std::vector<double> column = sweep_.metric(metric.name);
      values_.emplace_back();
      for (const std::size_t ride : rides_) values_.back().push_back(column[ride]);
    }
    return *this;
  }

  std::string text() const {
    Table table;
    table.column("ride", "");
    settings_.columns(table);
    for (std::size_t i = 0; i < values_.size(); ++i) {
      const Label& metric = sweep_.metrics()[i];
      table.column(metric.label, unit_of(metric.said));
    }
    for (std::size_t r = 0; r < rides_.size(); ++r) {
      std::vector<std::string> cells{fmt::format("{}", rides_[r])};
      settings_.cells(rides_[r], cells);
      for (std::size_t i = 0; i < values_.size(); ++i) {
        cells.push_back(in_said(values_[i][r], sweep_.metrics()[i]));
      }
      table.row(std::move(cells));
    }
    return table.text();
  }

  Json json() const {
    Json list = Json::array();
    for (std::size_t r = 0; r < rides_.size(); ++r) {
      Json metrics = Json::object();
      for (std::size_t i = 0; i < values_.size(); ++i) {
        metrics[sweep_.metrics()[i].name] = json_number(values_[i][r]);
      }
      list.push_back(
          {{"ride", rides_[r]}, {"set", settings_.json(rides_[r])}, {"metrics", metrics}});
    }
    return list;
  }

 private:
  const MergedSweep& sweep_;
  const Settings& settings_;
  std::vector<std::size_t> rides_;
  std::vector<std::vector<double>> values_;
};

void print_counts(const MergedSweep& sweep, const SweepReport& report) {
  say("{}: {}\n", sweep.title(), counted(report.rides, "ride"));
  if (report.not_ridden > 0) {
    say("  {} not ridden: their shards were missing when the file was merged\n", report.not_ridden);
  }
  if (report.failed == 0) say("  none failed");
  if (report.failed > 0) say("  {} failed", report.failed);
  say(", {} redone by the adaptive path\n", report.redone);
  say("{}", reasons_text(report.reasons));
}

void print_spreads(const MergedSweep& sweep, const SweepReport& report, const Settings& settings) {
  Table table;
  table.column("", "");
  table.column("", "");
  table.column("least", "");
  table.column("in ride", "");
  table.column("median", "");
  table.column("most", "");
  table.column("in ride", "");
  table.column("rides", "that have it");
  std::set<std::size_t> named;
  for (const Spread& spread : report.metrics) {
    const Label& metric = spread.metric;
    const auto number = [&](double value) { return in_said(value, metric); };
    const bool any = spread.rides > 0;
    table.row({metric.label, unit_of(metric.said), number(spread.least),
               any ? fmt::format("{}", spread.least_at) : "-", number(spread.median),
               number(spread.most), any ? fmt::format("{}", spread.most_at) : "-",
               fmt::format("{}", spread.rides)});
    if (any) named.insert({spread.least_at, spread.most_at});
  }
  say("\n{}", table.text());
  if (named.empty()) return;
  say("\nthe rides named there\n{}",
      RideList(sweep, settings, {named.begin(), named.end()}).text());
}

// How the indices came about, in words.
std::string method(const MergedSweep& sweep) {
  const bool grid = std::ranges::any_of(
      sweep.grid(), [](const GridAxis& axis) { return axis.values.size() > 1; });
  std::string text =
      "Share of the variance, in %. \"alone\": what a setting brings by itself. \"in all\": with\n"
      "its joint effects too. Every value of an axis counts as equally likely.\n";
  if (sweep.design() == Design::none) {
    return text + "Worked out exactly over the grid, so there are no intervals.\n";
  }
  const std::string sample =
      sweep.design() == Design::pick_freeze
          ? fmt::format("a pick-freeze design of {}", counted(sweep.base_points(), "base row"))
          : fmt::format("a {} sample of {}",
                        sweep.design() == Design::sobol ? "Sobol" : "Latin hypercube",
                        counted(sweep.points(), "row"));
  text += fmt::format("Estimated from {}; behind each, its 95 % interval by bootstrap.\n", sample);
  if (grid) {
    text +=
        "The same sample lies over every cell of the grid: axes of the grid by sums over its\n"
        "cells, sampled numbers by the mean over the cells.\n";
  }
  if (sweep.design() != Design::pick_freeze) {
    text +=
        "For a sampled number \"in all\" is not to be had from such a sample: that takes\n"
        "method = \"pick_freeze\".\n";
  }
  return text;
}

std::string percent(double share) {
  const std::string text = fmt::format("{:.1f}", 100.0 * share);
  return text == "-0.0" ? "0.0" : text;
}

std::string interval(const Index& index) {
  if (!std::isfinite(index.low)) return "";
  return fmt::format("{} to {}", percent(index.low), percent(index.high));
}

// Inputs by what they bring in all, or alone where that is not to be had.
std::vector<InputIndices> by_weight(std::vector<InputIndices> inputs) {
  const auto weight = [](const InputIndices& input) {
    return std::isfinite(input.total.value) ? input.total.value : input.first.value;
  };
  std::ranges::stable_sort(
      inputs, [&](const InputIndices& a, const InputIndices& b) { return weight(a) > weight(b); });
  return inputs;
}

void print_indices(const MergedSweep& sweep, const SweepReport& report) {
  say("\nWhat matters most\n{}", method(sweep));
  const bool intervals = sweep.design() != Design::none;
  for (const Spread& spread : report.metrics) {
    const Sensitivity& found = spread.sensitivity;
    const std::string& label = spread.metric.label;
    if (!found.why_none.empty()) {
      say("\n{}: {}\n", label, found.why_none);
      continue;
    }
    Table table;
    table.column(label, "");
    table.column("alone", "%");
    if (intervals) table.column("", "");
    table.column("in all", "%");
    if (intervals) table.column("", "");
    for (const InputIndices& input : by_weight(found.inputs)) {
      const bool total = std::isfinite(input.total.value);
      std::vector<std::string> cells{input.name, percent(input.first.value)};
      if (intervals) cells.push_back(interval(input.first));
      cells.push_back(total ? percent(input.total.value) : "-");
      if (intervals) cells.push_back(total ? interval(input.total) : "");
      table.row(std::move(cells));
    }
    say("\n{}", table.text());
    if (found.not_numbers == 0) continue;
    say("  {} without this number", counted(found.not_numbers, "ride"));
    if (sweep.design() == Design::none) {
      say(": over the rest, where the settings are not independent of each other\n");
    } else {
      const std::string rows = sweep.design() == Design::pick_freeze
                                   ? counted(found.rows_left, "base row") + " of the sample"
                                   : counted(found.rows_left, "row") + " of the sample";
      say(": left out are {} of the grid and {}, in all its cells\n",
          counted(found.cells_left, "cell"), rows);
    }
  }
}

std::string goal_words(const MergedSweep& sweep, const Goal& goal) {
  return fmt::format("{} {}", goal.largest ? "most" : "least",
                     metric_named(sweep, goal.metric).label);
}

void print_best(const MergedSweep& sweep, const SweepQuestion& question, const SweepReport& report,
                const Settings& settings) {
  if (!question.limits.empty()) {
    std::vector<std::string> limits;
    for (const Limit& limit : question.limits) limits.push_back(limit.text);
    say("\n{} of {} within the limits {}\n", report.within, counted(report.rides, "ride"),
        fmt::join(limits, ", "));
    if (!question.best && !question.front && report.within > 0) {
      say("to list the best of them: --best METRIC:min, or METRIC:max\n");
    }
  }
  if (question.best) {
    say("\n{}: the best {}\n", goal_words(sweep, *question.best),
        counted(report.best.size(), "ride"));
    if (report.best.empty()) {
      say("no ride is within the limits and has this metric\n");
    } else {
      say("{}", RideList(sweep, settings, report.best).with_metrics().text());
    }
  }
  if (question.front) {
    say("\n{} against {}: {} that no other one beats in both\n",
        goal_words(sweep, question.front->first), goal_words(sweep, question.front->second),
        counted(report.front.size(), "ride"));
    std::vector<std::size_t> shown;
    const std::size_t count = report.front.size();
    for (std::size_t i = 0; i < std::min(count, kFrontShown); ++i) {
      shown.push_back(count <= kFrontShown ? report.front[i]
                                           : report.front[i * (count - 1) / (kFrontShown - 1)]);
    }
    if (count > kFrontShown) say("{} of them, evenly spread; all: --json\n", kFrontShown);
    if (count > 0) say("{}", RideList(sweep, settings, shown).with_metrics().text());
  }
}

Json index_json(const Index& index) {
  if (!std::isfinite(index.value)) return nullptr;
  return {
      {"value", index.value}, {"low", json_number(index.low)}, {"high", json_number(index.high)}};
}

void print_json(const MergedSweep& sweep, const SweepQuestion& question, const SweepReport& report,
                const Settings& settings) {
  Json out = {
      {"title", sweep.title()},          {"rides", report.rides},
      {"failed", report.failed},         {"redone", report.redone},
      {"not_ridden", report.not_ridden}, {"design", std::string(to_string(sweep.design()))}};
  out["reasons"] = Json::array();
  for (const SweepReason& reason : report.reasons) {
    out["reasons"].push_back(
        {{"rides", reason.rides}, {"ride", reason.ride}, {"reason", reason.text}});
  }
  out["metrics"] = Json::object();
  for (const Spread& spread : report.metrics) {
    const Sensitivity& found = spread.sensitivity;
    Json inputs = Json::object();
    for (const InputIndices& input : found.inputs) {
      inputs[input.name] = {{"first", index_json(input.first)}, {"total", index_json(input.total)}};
    }
    const bool any = spread.rides > 0;
    out["metrics"][spread.metric.name] = {
        {"units", spread.metric.unit},
        {"rides", spread.rides},
        {"least", json_number(spread.least)},
        {"least_in", any ? Json(spread.least_at) : Json(nullptr)},
        {"median", json_number(spread.median)},
        {"most", json_number(spread.most)},
        {"most_in", any ? Json(spread.most_at) : Json(nullptr)},
        {"variance", json_number(found.variance)},
        {"indices", inputs},
        {"why_no_indices", found.why_none.empty() ? Json(nullptr) : Json(found.why_none)},
        {"cells_left_out", found.cells_left},
        {"base_rows_left_out", found.rows_left}};
  }
  if (!question.limits.empty()) out["within_limits"] = report.within;
  if (question.best) {
    out["best"] = RideList(sweep, settings, report.best).with_metrics().json();
  }
  if (question.front) {
    out["front"] = RideList(sweep, settings, report.front).with_metrics().json();
  }
  say("{}\n", json_text({{"report", out}}));
}

Series series_of(const std::string& label, Mark mark) {
  Series series;
  series.label = label;
  series.mark = mark;
  return series;
}

// Shares of the variance as bars, a panel for each metric.
Figure indices_figure(const MergedSweep& sweep, const SweepReport& report) {
  Figure figure;
  figure.title = sweep.title();
  for (const Spread& spread : report.metrics) {
    const Sensitivity& found = spread.sensitivity;
    if (!found.why_none.empty()) continue;
    Panel panel;
    panel.title = spread.metric.label;
    panel.x_label = "share of the variance [%]";
    Series alone = series_of("alone", Mark::bars);
    Series in_all = series_of("with joint effects", Mark::bars);
    alone.colour = 4;
    in_all.colour = 3;
    bool any_total = false;
    for (const InputIndices& input : found.inputs) {
      const auto add = [&](Series& series, const Index& index) {
        series.x.push_back(100.0 * index.value);
        series.y.push_back(static_cast<double>(panel.rows.size()));
        series.low.push_back(100.0 * index.low);
        series.high.push_back(100.0 * index.high);
      };
      add(alone, input.first);
      add(in_all, input.total);
      any_total = any_total || std::isfinite(input.total.value);
      panel.rows.push_back(input.name);
    }
    panel.series.push_back(std::move(alone));
    if (any_total) panel.series.push_back(std::move(in_all));
    figure.panels.push_back(std::move(panel));
  }
  if (figure.panels.empty()) {
    throw InputError(
        Fault{"--plot", "", "there is nothing to draw: no metric varies with a setting", {}});
  }
  return figure;
}

// Every ride as a dot, no more than one where several would lie on each other, and the front.
Figure front_figure(const MergedSweep& sweep, const SweepQuestion& question,
                    const SweepReport& report) {
  const Goal& first = question.front->first;
  const Goal& second = question.front->second;
  const Label& label_x = metric_named(sweep, first.metric);
  const Label& label_y = metric_named(sweep, second.metric);
  std::vector<double> x = sweep.metric(first.metric);
  std::vector<double> y = sweep.metric(second.metric);
  Series front = series_of(question.limits.empty() ? "trade-off" : "trade-off within the limits",
                           Mark::points);
  for (const std::size_t ride : report.front) {
    front.x.push_back(number_in(x[ride], label_x.said));
    front.y.push_back(number_in(y[ride], label_y.said));
  }
  double low_x = kUnset, high_x = kUnset, low_y = kUnset, high_y = kUnset;
  for (std::size_t ride = 0; ride < x.size(); ++ride) {
    if (!std::isfinite(x[ride]) || !std::isfinite(y[ride])) continue;
    low_x = std::fmin(low_x, x[ride]);
    high_x = std::fmax(high_x, x[ride]);
    low_y = std::fmin(low_y, y[ride]);
    high_y = std::fmax(high_y, y[ride]);
  }
  Series cloud = series_of("all rides", Mark::dots);
  std::vector<bool> taken(kDotsAcross * kDotsUp, false);
  const auto step = [](double value, double low, double high, std::size_t steps) {
    if (!(high > low)) return std::size_t{0};
    const double at = (value - low) / (high - low) * static_cast<double>(steps);
    return std::min(static_cast<std::size_t>(at), steps - 1);
  };
  for (std::size_t ride = 0; ride < x.size(); ++ride) {
    if (!std::isfinite(x[ride]) || !std::isfinite(y[ride])) continue;
    const std::size_t cell = step(y[ride], low_y, high_y, kDotsUp) * kDotsAcross +
                             step(x[ride], low_x, high_x, kDotsAcross);
    if (taken[cell]) continue;
    taken[cell] = true;
    cloud.x.push_back(number_in(x[ride], label_x.said));
    cloud.y.push_back(number_in(y[ride], label_y.said));
  }
  cloud.colour = 4;
  front.colour = 0;
  Panel panel;
  panel.x_label = with_unit(label_x.label, label_x.said);
  panel.y_label = with_unit(label_y.label, label_y.said);
  panel.title = fmt::format("{} against {}", goal_words(sweep, first), goal_words(sweep, second));
  panel.series = {std::move(cloud), std::move(front)};
  return {sweep.title(), {std::move(panel)}, Arrangement::stacked};
}

Figure map_figure(const MergedSweep& sweep, const std::string& asked) {
  std::string name;
  SweepMap map = map_sweep(sweep, "--map", asked, name);
  const Label& metric = metric_named(sweep, name);
  const GridAxis& columns = sweep.grid()[map.columns];
  const GridAxis& rows = sweep.grid()[map.rows];
  Panel panel;
  for (std::size_t i = 0; i < columns.values.size(); ++i) {
    panel.map.columns.push_back(value_name(columns, i));
  }
  for (std::size_t i = 0; i < rows.values.size(); ++i) {
    panel.map.rows.push_back(value_name(rows, i));
  }
  for (const double value : map.values) panel.map.values.push_back(number_in(value, metric.said));
  panel.map.label = with_unit(metric.label, metric.said);
  panel.map.decimals = metric.decimals;
  panel.x_label = with_unit(columns.name, columns.said);
  panel.y_label = with_unit(rows.name, rows.said);
  std::vector<std::string> others;
  for (std::size_t i = 0; i < sweep.grid().size(); ++i) {
    if (i != map.columns && i != map.rows && sweep.grid()[i].values.size() > 1) {
      others.push_back(sweep.grid()[i].name);
    }
  }
  if (sweep.points() > 1) others.emplace_back("the sample");
  panel.title = metric.label;
  if (!others.empty()) {
    panel.title +=
        fmt::format(", mean over {}",
                    others.size() > 2 ? "all else" : fmt::format("{}", fmt::join(others, " and ")));
  }
  return {sweep.title(), {std::move(panel)}, Arrangement::stacked};
}

}  // namespace

int sweep_report_verb(const SweepReportOptions& options) {
  open_outputs({"", options.plot, options.replace, options.json}, {options.file});
  if (!options.map.empty() && options.plot.empty()) {
    throw InputError(Fault{"--map", options.map, "needs --plot FILE to draw it in", {}});
  }
  const MergedSweep sweep(options.file, seal_for(options.unsealed));
  SweepQuestion question;
  for (const std::string& limit : options.limits) {
    question.limits.push_back(parse_limit("--limit", limit, sweep.metrics()));
  }
  if (!options.best.empty()) {
    question.best = parse_goal("--best", options.best, sweep.metrics());
  }
  if (!options.front.empty()) {
    question.front = parse_goals("--front", options.front, sweep.metrics());
  }
  Figure figure;
  if (!options.map.empty()) figure = map_figure(sweep, options.map);
  const SweepReport report = report_sweep(sweep, question);
  const Settings settings(sweep);
  if (options.json) {
    print_json(sweep, question, report, settings);
  } else {
    print_counts(sweep, report);
    print_spreads(sweep, report, settings);
    print_indices(sweep, report);
    print_best(sweep, question, report, settings);
  }
  if (options.plot.empty()) return 0;
  if (options.map.empty()) {
    figure = question.front ? front_figure(sweep, question, report) : indices_figure(sweep, report);
  }
  finish_saying();
  draw(figure, options.plot);
  remember_written(options.plot);
  note("plot: {}\n", shown(options.plot));
  return 0;
}

}  // namespace plunge
