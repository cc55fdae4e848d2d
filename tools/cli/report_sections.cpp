#include "tools/cli/report_sections.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/text/words.hpp"
#include "tools/cli/lines.hpp"
#include "tools/cli/sweep_words.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

constexpr std::size_t kMetricsNamed = 4;  // of an input, in a sentence

ReportPart prose(std::string words, bool apart = false) {
  ReportPart part;
  part.words = std::move(words);
  part.apart = apart;
  return part;
}

ReportPart aside(std::string words) {
  ReportPart part;
  part.words = std::move(words);
  part.look = ReportPart::Look::aside;
  return part;
}

// A table under an empty line, with the words that say what it is.
ReportPart table_part(Table table, std::string words = {}) {
  ReportPart part = prose(std::move(words), true);
  part.table = std::move(table);
  return part;
}

// The first so many of a list, evenly spread over all of it.
std::vector<std::size_t> spread_over(const std::vector<std::size_t>& items, std::size_t most) {
  const std::size_t count = items.size();
  if (count <= most) return items;
  std::vector<std::size_t> listed;
  for (std::size_t i = 0; i < most; ++i) listed.push_back(items[i * (count - 1) / (most - 1)]);
  return listed;
}

// Rides or choices, as the sweep is judged by.
Table list_table(const ToldReport& told, const std::vector<std::size_t>& items) {
  return told.by_choice() ? ChoiceList(told, items).table()
                          : RideList(told, items).with_metrics().table();
}

std::string item_word(const ToldReport& told) { return told.by_choice() ? "choice" : "ride"; }

// "scene (3), fork.pressure (8)": the axes of a role with how many values of each there are.
std::string axes_of(const ToldReport& told, Role role) {
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
  return names.empty() ? "nothing" : joined(names);
}

// ---- what matters most ----

// How the indices came about, in words.
std::vector<ReportPart> method_parts(const MergedSweep& sweep, bool all_ridden) {
  std::vector<ReportPart> parts;
  parts.push_back(prose(
      "Share of the variance, in %. \"alone\": what a setting brings by itself. \"in all\": with "
      "its joint effects too. Every value of an axis counts as equally likely."));
  if (sweep.design() == Design::none) {
    parts.push_back(prose(all_ridden
                              ? "Worked out exactly over the grid, so there are no intervals."
                              : "Worked out over the part of the grid that is ridden, which says "
                                "little of the whole: shares need not add up."));
    return parts;
  }
  const std::string sample =
      sweep.design() == Design::pick_freeze
          ? fmt::format("a pick-freeze design of {}", counted(sweep.base_points(), "base row"))
          : fmt::format("a {} sample of {}", design_words(sweep.design()),
                        counted(sweep.points(), "row"));
  parts.push_back(prose(
      fmt::format("Estimated from {}; behind each, its 95 % interval by bootstrap.", sample)));
  if (std::ranges::any_of(sweep.grid(),
                          [](const GridAxis& axis) { return axis.values.size() > 1; })) {
    parts.push_back(
        prose("The same sample lies over every cell of the grid: axes of the grid by sums over "
              "its cells, sampled numbers by the mean over the cells."));
  }
  if (sweep.design() != Design::pick_freeze) {
    parts.push_back(
        prose("For a sampled number \"in all\" is not to be had from such a sample: that takes "
              "method = \"pick_freeze\"."));
  }
  return parts;
}

// Inputs by what they bring in all, or alone where that is not to be had.
std::vector<InputIndices> by_weight(std::vector<InputIndices> inputs) {
  std::ranges::stable_sort(inputs, [&](const InputIndices& a, const InputIndices& b) {
    return a.weight() > b.weight();
  });
  return inputs;
}

std::string interval(const Index& index) {
  if (!std::isfinite(index.low)) return "";
  return fmt::format("{} to {}", percent(index.low), percent(index.high));
}

Table indices_table(const Sensitivity& found, const std::string& label, bool intervals) {
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
  return table;
}

// What was left out for rides without the number.
std::string left_out_words(const Sensitivity& found, Design design) {
  std::string words = counted(found.not_numbers, "ride") + " without this number: ";
  if (design == Design::none) {
    return words + "over the rest, where the settings are not independent of each other";
  }
  const char* const row = design == Design::pick_freeze ? "base row" : "row";
  return words + fmt::format("left out are {} of the grid and {} of the sample, in all its cells",
                             counted(found.cells_left, "cell"), counted(found.rows_left, row));
}

// ---- the answer ----

std::string limits_words(const ToldReport& told) {
  std::vector<std::string> limits;
  for (const Limit& limit : told.question.limits) limits.push_back(shown(limit.text));
  const std::string all = joined(limits);
  if (!told.by_choice()) {
    return fmt::format("{} of {} within the limits {}", told.report.within,
                       counted(told.report.rides, "ride"), all);
  }
  return fmt::format("{} of {} within the limits {} in at least {:.4g} % of their rides",
                     told.report.within, counted(told.report.choices.size(), "choice"), all,
                     100.0 * told.question.share);
}

std::string none_words(const ToldReport& told) {
  return fmt::format("no {} is within the limits and has this metric{}", item_word(told),
                     told.by_choice() ? " in nine rides of ten" : "");
}

std::string front_words(const ToldReport& told) {
  const auto& [first, second] = *told.question.front;
  return fmt::format("{} against {}: {} that no other one beats in both",
                     goal_words(told.sweep(), first), goal_words(told.sweep(), second),
                     counted(told.report.front.size(), item_word(told)));
}

// The settings of a ride or a choice.
std::string settings_words(const ToldReport& told, std::size_t item) {
  if (told.by_choice()) return told.choices.text(told.report.choices[item].ride);
  return fmt::format("ride {}, {}", item, told.rides.text(item));
}

// What a ride, or nine rides in ten of a choice, keep to.
std::string value_words(const ToldReport& told, std::size_t item, const Goal& goal) {
  const std::size_t at = place_of(told.report, goal.metric);
  const Label metric = told.words.said(told.report.metrics[at].metric);
  const double value = told.by_choice() ? told.report.choices[item].tails[at].bad
                                        : told.sweep().metric(goal.metric, item, 1).front();
  return number_in(in_said(value, metric), metric.said);
}

std::string best_words(const ToldReport& told) {
  const Goal& goal = *told.question.best;
  const std::string goal_said = goal_words(told.sweep(), goal);
  if (told.report.best.empty()) return goal_said + ": " + none_words(told) + ".";
  const std::size_t best = told.report.best.front();
  const std::string value = value_words(told, best, goal);
  std::string words = fmt::format("Best by {}: {}. ", goal_said, settings_words(told, best));
  const std::size_t at = place_of(told.report, goal.metric);
  const Label metric = told.words.said(told.report.metrics[at].metric);
  if (!told.by_choice()) return words + fmt::format("It has {} of {}.", value, metric.label);
  const ChoiceRow& row = told.report.choices[best];
  words += fmt::format("Nine of its rides in ten have a {} no worse than {}; the median is {}.",
                       metric.label, value,
                       number_in(in_said(row.tails[at].median, metric), metric.said));
  if (!told.question.limits.empty()) {
    words += fmt::format(" The limits hold in {} of its rides.",
                         number_in(percent(row.within_share), "%"));
  }
  if (std::isfinite(row.metal_share)) {
    words += fmt::format(" Metal meets metal in {}.", number_in(percent(row.metal_share), "%"));
  }
  return words;
}

std::string trade_words(const ToldReport& told) {
  const std::pair<Goal, Goal>& goals = *told.question.front;
  std::string words = "Trade-off, " + front_words(told);
  const std::vector<std::size_t>& front = told.report.front;
  if (front.empty()) return words + ".";
  const auto end = [&](std::size_t item) {
    return fmt::format("{} ({}, {})", settings_words(told, item),
                       value_words(told, item, goals.first), value_words(told, item, goals.second));
  };
  words += (front.size() > 1 ? ", from " : ": ") + end(front.front());
  if (front.size() > 1) words += " to " + end(front.back());
  return words + (told.by_choice() ? "; in brackets, what nine rides in ten keep to." : ".");
}

// The input that does most to each metric, metrics of the same input together.
std::string matters_words(const ToldReport& told) {
  std::vector<std::pair<std::string, std::vector<std::string>>> groups;
  for (const std::size_t i : metrics_in_order(told)) {
    const Spread& spread = told.report.metrics[i];
    if (!spread.sensitivity.why_none.empty() || spread.sensitivity.inputs.empty()) continue;
    const InputIndices most = by_weight(spread.sensitivity.inputs).front();
    const std::string name = shown(most.name);
    const auto same = [&](const auto& group) { return group.first == name; };
    if (std::ranges::none_of(groups, same)) groups.push_back({name, {}});
    std::ranges::find_if(groups, same)
        ->second.push_back(fmt::format("{} ({})", shown(spread.metric.label),
                                       number_in(percent(most.weight()), "%")));
  }
  if (groups.empty()) return {};
  std::string words;
  for (auto& [name, metrics] : groups) {
    const std::size_t count = metrics.size();
    if (count > kMetricsNamed) metrics.resize(kMetricsNamed);
    if (count > kMetricsNamed) metrics.push_back(fmt::format("{} more", count - kMetricsNamed));
    words += fmt::format("{}{} does most to {}", words.empty() ? "" : "; ", name, joined(metrics));
  }
  return words + ". In brackets, its share of the variance.";
}

// ---- as text ----

std::string part_text(const ReportPart& part) {
  std::string text = part.apart ? "\n" : "";
  if (!part.words.empty()) {
    switch (part.look) {
      case ReportPart::Look::plain:
        text += wrapped(part.words, line_width());
        break;
      case ReportPart::Look::aside:
        text += "  " + wrapped(part.words, line_width(), 4);
        break;
      case ReportPart::Look::line:
        text += part.words;
        break;
    }
    text += "\n";
  }
  if (part.table) text += part.table->text();
  return text;
}

}  // namespace

const char* design_words(Design design) {
  switch (design) {
    case Design::none:
      return "none";
    case Design::sobol:
      return "Sobol";
    case Design::joint:
      return "joint";
    case Design::latin_hypercube:
      return "Latin hypercube";
    case Design::pick_freeze:
      break;
  }
  return "pick-freeze";
}

std::string sweep_words(const ToldReport& told) {
  const std::string of = told.selection.whole() ? "" : fmt::format(" of {}", told.sweep().size());
  return fmt::format("{}: {}{}", shown(told.sweep().title()), counted(told.report.rides, "ride"),
                     of);
}

ReportSection counts_section(const ToldReport& told) {
  const SweepReport& report = told.report;
  ReportSection section;
  if (report.not_ridden > 0) {
    section.parts.push_back(
        aside(fmt::format("{} not ridden: their shards were missing when the file was merged; what "
                          "follows is about the others, and will change",
                          report.not_ridden)));
  }
  const std::string failed = report.failed == 0 ? "none" : fmt::format("{}", report.failed);
  section.parts.push_back(
      aside(fmt::format("{} failed, {} redone by the adaptive path", failed, report.redone)));
  for (const std::string& reason : reasons_lines(report.reasons)) {
    ReportPart part = aside(reason);
    part.look = ReportPart::Look::line;
    section.parts.push_back(std::move(part));
  }
  return section;
}

ReportSection spreads_section(const ToldReport& told) {
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
  ReportSection section;
  section.parts.push_back(table_part(std::move(table)));
  if (named.empty()) return section;
  section.parts.push_back(
      table_part(RideList(told, {named.begin(), named.end()}).table(), "the rides named there"));
  return section;
}

ReportSection indices_section(const ToldReport& told) {
  const MergedSweep& sweep = told.sweep();
  ReportSection section{"What matters most", method_parts(sweep, told.report.not_ridden == 0)};
  for (const Spread& spread : told.report.metrics) {
    const Sensitivity& found = spread.sensitivity;
    const std::string label = shown(spread.metric.label);
    if (!found.why_none.empty()) {
      section.parts.push_back(prose(fmt::format("{}: {}", label, found.why_none), true));
      continue;
    }
    section.parts.push_back(
        table_part(indices_table(found, label, sweep.design() != Design::none)));
    if (found.not_numbers == 0) continue;
    section.parts.push_back(aside(left_out_words(found, sweep.design())));
  }
  return section;
}

ReportSection choices_section(const ToldReport& told, bool listed, const ReportLengths& lengths) {
  const std::size_t count = told.report.choices.size();
  ReportSection section{"What is chosen, over what varies", {}};
  for (const Role role : {Role::chosen, Role::varies}) {
    section.parts.push_back(aside(fmt::format("{}: {}", to_string(role), axes_of(told, role))));
  }
  section.parts.push_back(prose(fmt::format("{}, {} of each.", counted(count, "choice"),
                                            counted(told.report.circumstances, "ride"))));
  section.parts.push_back(
      prose("Of each metric: its median / what nine rides in ten are no worse than."));
  if (!listed) return section;
  std::vector<std::size_t> first(std::min(count, lengths.choices));
  for (std::size_t i = 0; i < first.size(); ++i) first[i] = i;
  if (count > first.size()) {
    section.parts.push_back(prose(
        fmt::format("The first {} of them; more: --json; others: --where; ranked: --best METRIC.",
                    first.size())));
  }
  section.parts.push_back(table_part(ChoiceList(told, std::move(first)).table()));
  return section;
}

ReportSection limits_section(const ToldReport& told) {
  const SweepQuestion& question = told.question;
  if (question.limits.empty()) return {};
  ReportSection section{"", {prose(limits_words(told), true)}};
  if (!question.best && !question.front && told.report.within > 0) {
    section.parts.push_back(prose("to list the best of them: --best METRIC:min, or METRIC:max"));
  }
  return section;
}

ReportSection best_section(const ToldReport& told) {
  if (!told.question.best) return {};
  const std::vector<std::size_t>& best = told.report.best;
  const std::string words =
      fmt::format("{}: the best {}{}", goal_words(told.sweep(), *told.question.best),
                  counted(best.size(), item_word(told)),
                  told.by_choice() ? " by what nine rides in ten keep to" : "");
  if (best.empty()) return {"", {prose(words, true), prose(none_words(told))}};
  return {"", {table_part(list_table(told, best), words)}};
}

ReportSection front_section(const ToldReport& told, const ReportLengths& lengths) {
  if (!told.question.front) return {};
  const std::vector<std::size_t>& front = told.report.front;
  if (front.empty()) return {"", {prose(front_words(told), true)}};
  Table table = list_table(told, spread_over(front, lengths.front));
  if (front.size() <= lengths.front) return {"", {table_part(std::move(table), front_words(told))}};
  ReportPart listed = table_part(
      std::move(table), fmt::format("{} of them, evenly spread; all: --json", lengths.front));
  listed.apart = false;
  return {"", {prose(front_words(told), true), std::move(listed)}};
}

ReportSection answer_section(const ToldReport& told) {
  ReportSection section{"The answer", {}};
  const auto say = [&](std::string words) {
    if (!words.empty()) section.parts.push_back(prose(std::move(words)));
  };
  if (told.question.best) say(best_words(told));
  if (told.question.front) say(trade_words(told));
  if (!told.question.limits.empty()) say(limits_words(told) + ".");
  if (told.by_choice()) {
    say(fmt::format("{} of {}; each in {}: {}.", counted(told.report.choices.size(), "choice"),
                    axes_of(told, Role::chosen), counted(told.report.circumstances, "ride"),
                    axes_of(told, Role::varies)));
  }
  say(matters_words(told));
  return section;
}

std::string report_text(const std::vector<ReportSection>& sections) {
  std::string text;
  for (const ReportSection& section : sections) {
    if (!section.heading.empty()) text += "\n" + section.heading + "\n";
    for (const ReportPart& part : section.parts) text += part_text(part);
  }
  return text;
}

}  // namespace plunge
