#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <set>
#include <system_error>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/report/plot.hpp"
#include "sim/report/sweep_report.hpp"
#include "tools/cli/interrupt.hpp"
#include "tools/cli/json_number.hpp"
#include "tools/cli/lines.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/report_figures.hpp"
#include "tools/cli/sweep_words.hpp"
#include "tools/cli/table.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

using Json = nlohmann::ordered_json;

constexpr std::size_t kFrontShown = 20;
constexpr std::size_t kChoicesShown = 20;
constexpr std::size_t kChoicesInJson = 20'000;  // so that it fits into memory

// The settings that differ between the rides of a sweep, or between its choices.
class Settings {
 public:
  enum class Of { rides, choices };

  Settings(const SweepSelection& selection, const ReportWords& words, Of what)
      : sweep_(selection.sweep()), words_(words) {
    const auto told = [&](Role role) { return what == Of::rides || role == Role::chosen; };
    for (std::size_t i = 0; i < sweep_.grid().size(); ++i) {
      if (!told(sweep_.grid()[i].role)) continue;
      axes_.push_back(i);
      if (selection.places()[i].size() > 1) shown_.push_back(i);
    }
    for (std::size_t i = 0; i < sweep_.sampled().size(); ++i) {
      if (told(sweep_.sampled()[i].role)) samples_.emplace_back(i, sweep_.sample(i));
    }
  }

  std::size_t columns() const { return shown_.size() + samples_.size(); }
  void columns(Table& table) const {
    const auto add = [&](const KnobLabel& label) {
      table.column(shown(label.name), unit_of(words_.said(label.said)));
    };
    for (const std::size_t i : shown_) add(sweep_.grid()[i]);
    for (const auto& [i, values] : samples_) add(sweep_.sampled()[i]);
  }
  void cells(std::size_t ride, std::vector<std::string>& cells) const {
    const std::vector<std::size_t> index = sweep_.index(ride);
    for (const std::size_t i : shown_) cells.push_back(words_.value(sweep_.grid()[i], index[i]));
    for (const auto& [i, values] : samples_) {
      cells.push_back(setting_text(values[index.back()], words_.said(sweep_.sampled()[i].said)));
    }
  }
  Json json(std::size_t ride) const {
    const std::vector<std::size_t> index = sweep_.index(ride);
    Json settings = Json::object();
    for (const std::size_t i : axes_) {
      const GridAxis& axis = sweep_.grid()[i];
      settings[axis.name] =
          axis.labels.empty() ? Json(axis.values[index[i]]) : Json(axis.labels[index[i]]);
    }
    for (const auto& [i, values] : samples_) {
      settings[sweep_.sampled()[i].name] = values[index.back()];
    }
    return settings;
  }

 private:
  const MergedSweep& sweep_;
  const ReportWords& words_;
  std::vector<std::size_t> axes_;
  std::vector<std::size_t> shown_;  // of these the ones with more than one value
  std::vector<std::pair<std::size_t, std::vector<double>>> samples_;
};

// A report with all that its words are made from.
struct Told {
  const SweepSelection& selection;
  const SweepQuestion& question;
  const SweepReport& report;
  const ReportWords& words;
  Settings rides;
  Settings choices;

  const MergedSweep& sweep() const { return selection.sweep(); }
  bool by_choice() const { return !report.choices.empty(); }
};

// Places of the metrics that are shown: first those that are asked about.
std::vector<std::size_t> metrics_in_order(const Told& told) {
  std::vector<std::string> first;
  if (told.question.best) first.push_back(told.question.best->metric);
  if (told.question.front) {
    first.push_back(told.question.front->first.metric);
    first.push_back(told.question.front->second.metric);
  }
  for (const Limit& limit : told.question.limits) first.push_back(limit.metric);
  std::vector<std::size_t> order(told.report.metrics.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::ranges::stable_sort(order, {}, [&](std::size_t i) {
    return std::ranges::find(first, told.report.metrics[i].metric.name) - first.begin();
  });
  return order;
}

// Some rides with their settings and metrics.
class RideList {
 public:
  RideList(const Told& told, std::vector<std::size_t> rides)
      : told_(told), rides_(std::move(rides)) {}

  RideList& with_metrics() {
    for (const std::size_t i : metrics_in_order(told_)) {
      metrics_.push_back(told_.report.metrics[i].metric);
      const std::vector<double> column = told_.sweep().metric(metrics_.back().name);
      values_.emplace_back();
      for (const std::size_t ride : rides_) values_.back().push_back(column[ride]);
    }
    return *this;
  }

  std::string text() const {
    Table table(1 + told_.rides.columns());
    table.column("ride", "");
    told_.rides.columns(table);
    std::vector<Label> labels;
    for (const Label& metric : metrics_) {
      labels.push_back(told_.words.said(metric));
      table.column(labels.back().label, unit_of(labels.back().said));
    }
    for (std::size_t r = 0; r < rides_.size(); ++r) {
      std::vector<std::string> cells{fmt::format("{}", rides_[r])};
      told_.rides.cells(rides_[r], cells);
      for (std::size_t i = 0; i < labels.size(); ++i) {
        cells.push_back(in_said(values_[i][r], labels[i]));
      }
      table.row(std::move(cells));
    }
    return table.text();
  }

  Json json() const {
    Json list = Json::array();
    for (std::size_t r = 0; r < rides_.size(); ++r) {
      Json metrics = Json::object();
      for (std::size_t i = 0; i < metrics_.size(); ++i) {
        metrics[metrics_[i].name] = json_number(values_[i][r]);
      }
      list.push_back(
          {{"ride", rides_[r]}, {"set", told_.rides.json(rides_[r])}, {"metrics", metrics}});
    }
    return list;
  }

 private:
  const Told& told_;
  std::vector<std::size_t> rides_;
  std::vector<Label> metrics_;
  std::vector<std::vector<double>> values_;
};

std::string percent(double share) {
  if (!std::isfinite(share)) return "-";
  const std::string text = fmt::format("{:.1f}", 100.0 * share);
  return text == "-0.0" ? "0.0" : text;
}

// Some choices with their settings and what they come to.
class ChoiceList {
 public:
  ChoiceList(const Told& told, std::vector<std::size_t> choices)
      : told_(told), choices_(std::move(choices)) {}

  std::string text() const {
    const SweepReport& report = told_.report;
    const bool metal = std::isfinite(report.choices.front().metal_share);
    const bool limits = !told_.question.limits.empty();
    const bool lost = std::ranges::any_of(
        choices_, [&](std::size_t choice) { return report.choices[choice].lost > 0; });
    // The first column of a table stands to the left and takes its name whole.
    Table table(std::max<std::size_t>(1, told_.choices.columns()));
    if (told_.choices.columns() == 0) table.column("", "");
    told_.choices.columns(table);
    if (limits) table.column("within limits", "% of rides");
    if (metal) table.column("metal contact", "% of rides");
    if (lost) table.column("not to be had", "rides");
    const std::vector<std::size_t> order = metrics_in_order(told_);
    std::vector<Label> labels;
    for (const std::size_t i : order) {
      labels.push_back(told_.words.said(report.metrics[i].metric));
      table.column(labels.back().label, unit_of(labels.back().said));
    }
    for (const std::size_t choice : choices_) {
      const ChoiceRow& row = report.choices[choice];
      std::vector<std::string> cells;
      if (told_.choices.columns() == 0) cells.emplace_back("all");
      told_.choices.cells(row.ride, cells);
      if (limits) cells.push_back(percent(row.within_share));
      if (metal) cells.push_back(percent(row.metal_share));
      if (lost) cells.push_back(fmt::format("{}", row.lost));
      for (std::size_t i = 0; i < labels.size(); ++i) {
        const Tail& tail = row.tails[order[i]];
        cells.push_back(
            fmt::format("{} / {}", in_said(tail.median, labels[i]), in_said(tail.bad, labels[i])));
      }
      table.row(std::move(cells));
    }
    return table.text();
  }

  Json json() const {
    Json list = Json::array();
    for (const std::size_t choice : choices_) {
      const ChoiceRow& row = told_.report.choices[choice];
      Json metrics = Json::object();
      for (std::size_t i = 0; i < row.tails.size(); ++i) {
        const Tail& tail = row.tails[i];
        metrics[told_.report.metrics[i].metric.name] = {{"median", json_number(tail.median)},
                                                        {"nine_in_ten", json_number(tail.bad)},
                                                        {"rides", tail.rides}};
      }
      Json object = {{"choice", choice},
                     {"set", told_.choices.json(row.ride)},
                     {"lost", row.lost},
                     {"metal_share", json_number(row.metal_share)}};
      if (!told_.question.limits.empty()) object["within_share"] = json_number(row.within_share);
      object["metrics"] = metrics;
      list.push_back(std::move(object));
    }
    return list;
  }

 private:
  const Told& told_;
  std::vector<std::size_t> choices_;
};

// A paragraph in lines that fit.
void say_paragraph(const std::string& text) { say("{}\n", wrapped(text, line_width())); }

void print_counts(const Told& told) {
  const SweepReport& report = told.report;
  std::string heading =
      fmt::format("{}: {}", shown(told.sweep().title()), counted(report.rides, "ride"));
  if (!told.selection.whole()) heading += fmt::format(" of {}", told.sweep().size());
  say_paragraph(heading);
  if (report.not_ridden > 0) {
    say("  {} not ridden: their shards were missing when the file was merged;\n"
        "  what follows is about the others, and will change\n",
        report.not_ridden);
  }
  if (report.failed == 0) say("  none failed");
  if (report.failed > 0) say("  {} failed", report.failed);
  say(", {} redone by the adaptive path\n", report.redone);
  say("{}", reasons_text(report.reasons));
}

void print_spreads(const Told& told) {
  Table table(2);
  table.column("", "");
  table.column("", "");
  table.column("least", "");
  table.column("in ride", "");
  table.column("median", "");
  table.column("most", "");
  table.column("in ride", "");
  table.column("rides", "that have it");
  std::set<std::size_t> named;
  for (const Spread& spread : told.report.metrics) {
    const Label metric = told.words.said(spread.metric);
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
  say("\nthe rides named there\n{}", RideList(told, {named.begin(), named.end()}).text());
}

// "fork.spacers (5), fork.pressure (8)": the axes of a role with how many values of each there are.
std::string axes_of(const Told& told, Role role) {
  std::vector<std::string> names;
  const MergedSweep& sweep = told.sweep();
  for (std::size_t i = 0; i < sweep.grid().size(); ++i) {
    const std::size_t count = told.selection.places()[i].size();
    if (sweep.grid()[i].role == role) {
      names.push_back(fmt::format("{} ({})", shown(sweep.grid()[i].name), count));
    }
  }
  std::vector<std::string> sampled;
  for (const SampledNumber& number : sweep.sampled()) {
    if (number.role == role) sampled.push_back(shown(number.name));
  }
  if (!sampled.empty()) {
    names.push_back(fmt::format("{} (a sample of {})", fmt::join(sampled, " with "),
                                told.selection.rows().size()));
  }
  return names.empty() ? "nothing" : fmt::format("{}", fmt::join(names, ", "));
}

void print_choices(const Told& told) {
  const std::size_t count = told.report.choices.size();
  say("\nWhat is chosen, over what varies\n");
  for (const Role role : {Role::chosen, Role::varies}) {
    const std::string text = fmt::format("{}: {}", to_string(role), axes_of(told, role));
    say("  {}\n", wrapped(text, line_width(), 4));
  }
  say("{}, {} of each.\n", counted(count, "choice"), counted(told.report.circumstances, "ride"));
  say_paragraph("Of each metric: its median / what nine rides in ten are no worse than.");
  if (!told.question.best && !told.question.front) {
    std::vector<std::size_t> listed(std::min(count, kChoicesShown));
    for (std::size_t i = 0; i < listed.size(); ++i) listed[i] = i;
    if (count > listed.size()) {
      say_paragraph(
          fmt::format("The first {} of them; more: --json; others: --where; ranked: --best METRIC.",
                      listed.size()));
    }
    say("\n{}", ChoiceList(told, listed).text());
  }
}

const char* design_words(Design design) {
  return design == Design::sobol ? "Sobol" : design == Design::joint ? "joint" : "Latin hypercube";
}

// How the indices came about, in words.
void print_method(const MergedSweep& sweep, bool all_ridden) {
  say_paragraph(
      "Share of the variance, in %. \"alone\": what a setting brings by itself. \"in all\": with "
      "its "
      "joint effects too. Every value of an axis counts as equally likely.");
  if (sweep.design() == Design::none) {
    say_paragraph(all_ridden ? "Worked out exactly over the grid, so there are no intervals."
                             : "Worked out over the part of the grid that is ridden, which says "
                               "little of the whole: shares need not add up.");
    return;
  }
  const std::string sample =
      sweep.design() == Design::pick_freeze
          ? fmt::format("a pick-freeze design of {}", counted(sweep.base_points(), "base row"))
          : fmt::format("a {} sample of {}", design_words(sweep.design()),
                        counted(sweep.points(), "row"));
  say_paragraph(
      fmt::format("Estimated from {}; behind each, its 95 % interval by bootstrap.", sample));
  if (std::ranges::any_of(sweep.grid(),
                          [](const GridAxis& axis) { return axis.values.size() > 1; })) {
    say_paragraph(
        "The same sample lies over every cell of the grid: axes of the grid by sums over its "
        "cells, sampled numbers by the mean over the cells.");
  }
  if (sweep.design() != Design::pick_freeze) {
    say_paragraph(
        "For a sampled number \"in all\" is not to be had from such a sample: that takes "
        "method = \"pick_freeze\".");
  }
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

void print_indices(const Told& told) {
  const MergedSweep& sweep = told.sweep();
  const SweepReport& report = told.report;
  say("\nWhat matters most\n");
  print_method(sweep, told.report.not_ridden == 0);
  const bool intervals = sweep.design() != Design::none;
  for (const Spread& spread : report.metrics) {
    const Sensitivity& found = spread.sensitivity;
    const std::string label = shown(spread.metric.label);
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
      std::vector<std::string> cells{shown(input.name), percent(input.first.value)};
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

// Rides or choices, as the sweep is judged by.
std::string list_text(const Told& told, const std::vector<std::size_t>& items) {
  return told.by_choice() ? ChoiceList(told, items).text()
                          : RideList(told, items).with_metrics().text();
}

void print_limits(const Told& told) {
  const SweepQuestion& question = told.question;
  if (question.limits.empty()) return;
  std::vector<std::string> limits;
  for (const Limit& limit : question.limits) limits.push_back(shown(limit.text));
  const std::string all = fmt::format("{}", fmt::join(limits, ", "));
  const std::string text =
      told.by_choice()
          ? fmt::format("{} of {} within the limits {} in at least {:.4g} % of their rides",
                        told.report.within, counted(told.report.choices.size(), "choice"), all,
                        100.0 * question.share)
          : fmt::format("{} of {} within the limits {}", told.report.within,
                        counted(told.report.rides, "ride"), all);
  say("\n");
  say_paragraph(text);
  if (!question.best && !question.front && told.report.within > 0) {
    say("to list the best of them: --best METRIC:min, or METRIC:max\n");
  }
}

void print_best(const Told& told) {
  const SweepQuestion& question = told.question;
  const SweepReport& report = told.report;
  const MergedSweep& sweep = told.sweep();
  const std::string item = told.by_choice() ? "choice" : "ride";
  print_limits(told);
  if (question.best) {
    say("\n");
    say_paragraph(fmt::format("{}: the best {}{}", goal_words(sweep, *question.best),
                              counted(report.best.size(), item),
                              told.by_choice() ? " by what nine rides in ten keep to" : ""));
    if (report.best.empty()) {
      say("no {} is within the limits and has this metric{}\n", item,
          told.by_choice() ? " in nine rides of ten" : "");
    } else {
      say("{}", list_text(told, report.best));
    }
  }
  if (question.front) {
    say("\n{} against {}: {} that no other one beats in both\n",
        goal_words(sweep, question.front->first), goal_words(sweep, question.front->second),
        counted(report.front.size(), item));
    std::vector<std::size_t> listed;
    const std::size_t count = report.front.size();
    for (std::size_t i = 0; i < std::min(count, kFrontShown); ++i) {
      listed.push_back(count <= kFrontShown ? report.front[i]
                                            : report.front[i * (count - 1) / (kFrontShown - 1)]);
    }
    if (count > kFrontShown) say("{} of them, evenly spread; all: --json\n", kFrontShown);
    if (count > 0) say("{}", list_text(told, listed));
  }
}

Json index_json(const Index& index) {
  if (!std::isfinite(index.value)) return nullptr;
  return {
      {"value", index.value}, {"low", json_number(index.low)}, {"high", json_number(index.high)}};
}

Json list_json(const Told& told, const std::vector<std::size_t>& items) {
  return told.by_choice() ? ChoiceList(told, items).json()
                          : RideList(told, items).with_metrics().json();
}

Json roles_json(const MergedSweep& sweep, Role role) {
  Json names = Json::array();
  for (const GridAxis& axis : sweep.grid()) {
    if (axis.role == role) names.push_back(axis.name);
  }
  for (const SampledNumber& number : sweep.sampled()) {
    if (number.role == role) names.push_back(number.name);
  }
  return names;
}

void put_choices(const Told& told, Json& out) {
  if (!told.by_choice()) return;
  out["chosen"] = roles_json(told.sweep(), Role::chosen);
  out["varies"] = roles_json(told.sweep(), Role::varies);
  out["rides_of_a_choice"] = told.report.circumstances;
  out["choices_in_all"] = told.report.choices.size();
  std::vector<std::size_t> all(std::min(told.report.choices.size(), kChoicesInJson));
  for (std::size_t i = 0; i < all.size(); ++i) all[i] = i;
  out["choices"] = ChoiceList(told, std::move(all)).json();
}

void print_json(const Told& told) {
  const MergedSweep& sweep = told.sweep();
  const SweepQuestion& question = told.question;
  const SweepReport& report = told.report;
  Json out = {
      {"title", sweep.title()},          {"rides", report.rides},
      {"failed", report.failed},         {"redone", report.redone},
      {"not_ridden", report.not_ridden}, {"design", std::string(to_string(sweep.design()))}};
  out["reasons"] = reasons_json(report.reasons);
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
  put_choices(told, out);
  if (!question.limits.empty()) out["within_limits"] = report.within;
  if (question.best) out["best"] = list_json(told, report.best);
  if (question.front) out["front"] = list_json(told, report.front);
  say("{}\n", json_text({{"report", out}}));
}

SweepQuestion question_of(const SweepReportOptions& options, const MergedSweep& sweep) {
  SweepQuestion question;
  for (const std::string& limit : options.limits) {
    question.limits.push_back(parse_limit("--limit", limit, sweep.metrics()));
  }
  if (!options.best.empty()) question.best = parse_goal("--best", options.best, sweep.metrics());
  if (!options.front.empty()) {
    question.front = parse_goals("--front", options.front, sweep.metrics());
  }
  if (!options.metrics.empty()) {
    question.metrics = parse_metrics("--metrics", options.metrics, sweep.metrics());
  }
  if (options.met.empty()) return question;
  question.share = parse_share("--met", options.met);
  if (!has_roles(sweep)) {
    throw InputError(Fault{"--met",
                           options.met,
                           "is read only where the plan says what is chosen and what varies (role)",
                           {}});
  }
  if (question.limits.empty()) {
    throw InputError(Fault{"--met", options.met, "needs a --limit to be met", {}});
  }
  return question;
}

int tell_interrupted() {
  tell("plunge: interrupted; the report is not finished, and nothing was written\n");
  return 1;
}

}  // namespace

int sweep_report_verb(const SweepReportOptions& options) {
  open_outputs({"", options.plot, options.replace, options.json}, {options.file});
  if (!options.map.empty() && options.plot.empty()) {
    throw InputError(Fault{"--map", options.map, "needs --plot FILE to draw it in", {}});
  }
  std::error_code error;
  if (std::filesystem::is_directory(options.file, error)) {
    throw InputError(Fault{"",
                           "",
                           "is a folder; of the folder of a sweep, `plunge sweep merge` makes the "
                           "file that is read here",
                           {options.file, 0, 0}});
  }
  const InterruptGuard guard;
  const MergedSweep sweep(options.file, seal_for(options.unsealed));
  const SweepQuestion question = question_of(options, sweep);
  const SweepSelection selection(sweep, "--where", options.where);
  const ReportWords words{options.bar};
  Figure figure;
  if (!options.map.empty()) figure = map_figure(selection, options.map, words);
  const SweepReport report = report_sweep(selection, question, InterruptGuard::asked);
  if (report.stopped) return tell_interrupted();
  const Told told{selection,
                  question,
                  report,
                  words,
                  Settings(selection, words, Settings::Of::rides),
                  Settings(selection, words, Settings::Of::choices)};
  if (options.json) {
    print_json(told);
  } else {
    print_counts(told);
    print_spreads(told);
    print_indices(told);
    if (told.by_choice()) print_choices(told);
    print_best(told);
  }
  if (options.plot.empty()) return 0;
  if (InterruptGuard::asked()) return tell_interrupted();
  if (options.map.empty()) {
    figure = question.front ? front_figure(selection, question, report, words)
                            : indices_figure(sweep, report);
  }
  finish_saying();
  draw(figure, options.plot);
  remember_written(options.plot);
  note("plot: {}\n", shown(options.plot));
  return 0;
}

}  // namespace plunge
