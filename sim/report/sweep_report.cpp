#include "sim/report/sweep_report.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <string_view>
#include <utility>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/numerics/statistics.hpp"
#include "sim/text/words.hpp"

namespace plunge {
namespace {

constexpr char kMetal[] = "metal_contacts";
constexpr double kRounding = 1e-9;  // of shares

SensitivityInputs inputs_of(const SweepSelection& selection) {
  const MergedSweep& sweep = selection.sweep();
  SensitivityInputs inputs;
  inputs.design = sweep.design();
  inputs.base_points = selection.all_rows() ? sweep.base_points() : selection.rows().size();
  for (std::size_t i = 0; i < sweep.grid().size(); ++i) {
    inputs.grid.push_back({sweep.grid()[i].name, selection.places()[i].size()});
  }
  for (std::size_t i = 0; i < sweep.sampled().size(); ++i) {
    const std::vector<double> all = sweep.sample(i);
    std::vector<double> values;
    for (const std::size_t row : selection.rows()) values.push_back(all[row]);
    inputs.sampled.push_back({sweep.sampled()[i].name, std::move(values)});
  }
  return inputs;
}

Sensitivity sensitivity_of(const SweepSelection& selection, const SensitivityInputs& inputs,
                           const std::vector<double>& values) {
  if (inputs.design != Design::pick_freeze || selection.all_rows()) {
    return sensitivity(inputs, values);
  }
  Sensitivity none;
  none.why_none = "a pick-freeze sample gives indices with all its rows only";
  return none;
}

Spread spread_of(const SweepSelection& selection, const Label& metric,
                 const std::vector<double>& values) {
  Spread spread;
  spread.metric = metric;
  std::vector<double> there;
  there.reserve(values.size());
  for (std::size_t at = 0; at < values.size(); ++at) {
    const double value = values[at];
    if (!std::isfinite(value)) continue;
    if (there.empty() || value < spread.least) {
      spread.least = value;
      spread.least_at = selection.ride(at);
    }
    if (there.empty() || value > spread.most) {
      spread.most = value;
      spread.most_at = selection.ride(at);
    }
    there.push_back(value);
  }
  spread.rides = there.size();
  if (there.empty()) return spread;
  spread.median = percentile_in(there, 50.0);
  return spread;
}

void count_origins(const SweepSelection& selection, SweepReport& report) {
  const MergedSweep& sweep = selection.sweep();
  const std::vector<int> origins = selection.of(sweep.origins());
  for (const int origin : origins) {
    report.failed += origin == static_cast<int>(Origin::failed) ? 1 : 0;
    report.redone += origin == static_cast<int>(Origin::adaptive) ? 1 : 0;
    report.not_ridden += origin == kNotRidden ? 1 : 0;
  }
  if (report.failed == 0) return;
  const std::vector<int> reasons = selection.of(sweep.reasons());
  const std::vector<std::string> texts = sweep.reason_texts();
  ReasonCounts counts;
  for (std::size_t at = 0; at < origins.size(); ++at) {
    if (origins[at] != static_cast<int>(Origin::failed)) continue;
    counts.count(selection.ride(at), texts[static_cast<std::size_t>(reasons[at])]);
  }
  report.reasons = counts.by_frequency();
}

// What is weighed against one another: rides, or choices. Less is better.
struct Weighed {
  std::vector<bool> within;  // the limits
  std::vector<double> cost;
  std::vector<double> next;  // where costs are equal; may be empty
};

// A metric of the selected rides, made so that less is better.
std::vector<double> cost_of(const SweepSelection& selection, const Goal& goal) {
  std::vector<double> cost = selection.of(selection.sweep().metric(goal.metric));
  if (goal.largest) {
    for (double& value : cost) value = -value;
  }
  return cost;
}

// Difference below which two of some rides' values are the same.
double same_in(const std::vector<double>& values, const std::vector<std::size_t>& rides) {
  double least = kUnset;
  double most = kUnset;
  for (const std::size_t ride : rides) {
    least = std::fmin(least, values[ride]);
    most = std::fmax(most, values[ride]);
  }
  return rides.empty() ? 0.0 : kSame * (most - least);
}

// True for each selected ride that keeps all limits.
std::vector<bool> within_limits(const SweepSelection& selection, const std::vector<Limit>& limits) {
  std::vector<bool> within(selection.size(), true);
  for (const Limit& limit : limits) {
    const std::vector<double> values = selection.of(selection.sweep().metric(limit.metric));
    for (std::size_t at = 0; at < values.size(); ++at) {
      within[at] = within[at] && holds(limit, values[at]);
    }
  }
  return within;
}

// Those of least cost, of equals the first.
std::vector<std::size_t> best_of(const Weighed& weighed) {
  const auto& [within, cost, next] = weighed;
  std::vector<std::size_t> order;
  for (std::size_t at = 0; at < cost.size(); ++at) {
    if (within[at] && std::isfinite(cost[at])) order.push_back(at);
  }
  const auto shown = static_cast<std::ptrdiff_t>(std::min(order.size(), kBestShown));
  const auto before = [&weighed](std::size_t a, std::size_t b) {
    const std::vector<double>& costs = weighed.cost;
    const std::vector<double>& nexts = weighed.next;
    if (costs[a] != costs[b]) return costs[a] < costs[b];
    return !nexts.empty() && nexts[a] != nexts[b] ? nexts[a] < nexts[b] : a < b;
  };
  std::ranges::partial_sort(order, order.begin() + shown, before);
  return {order.begin(), order.begin() + shown};
}

// Those that no other one beats in both costs, by the first.
std::vector<std::size_t> front_of(const std::vector<double>& first,
                                  const std::vector<double>& second,
                                  const std::vector<bool>& within) {
  std::vector<std::size_t> order;
  for (std::size_t ride = 0; ride < first.size(); ++ride) {
    if (within[ride] && std::isfinite(first[ride]) && std::isfinite(second[ride])) {
      order.push_back(ride);
    }
  }
  std::ranges::sort(order, [&](std::size_t a, std::size_t b) {
    if (first[a] != first[b]) return first[a] < first[b];
    return second[a] != second[b] ? second[a] < second[b] : a < b;
  });
  const double same_first = same_in(first, order);
  const double same_second = same_in(second, order);
  std::vector<std::size_t> front;
  for (const std::size_t ride : order) {
    if (!front.empty()) {
      const std::size_t last = front.back();
      if (second[ride] >= second[last] - same_second) continue;
      if (first[ride] <= first[last] + same_first) front.pop_back();
    }
    front.push_back(ride);
  }
  return front;
}

// The best and the front of single rides.
void weigh_rides(const SweepSelection& selection, const SweepQuestion& question,
                 SweepReport& report) {
  const std::vector<bool> within = within_limits(selection, question.limits);
  report.within = static_cast<std::size_t>(std::ranges::count(within, true));
  if (question.best) report.best = best_of({within, cost_of(selection, *question.best), {}});
  if (question.front) {
    report.front = front_of(cost_of(selection, question.front->first),
                            cost_of(selection, question.front->second), within);
  }
  for (std::vector<std::size_t>* list : {&report.best, &report.front}) {
    for (std::size_t& at : *list) at = selection.ride(at);
  }
}

// A metric of the choices, made so that less is better: their 90th percentiles, and the medians.
Weighed cost_of(const SweepChoices& choices, const Goal& goal) {
  Weighed weighed;
  for (const Tail& tail : choices.tails(goal.metric, goal.largest)) {
    weighed.cost.push_back(goal.largest ? -tail.bad : tail.bad);
    weighed.next.push_back(goal.largest ? -tail.median : tail.median);
  }
  return weighed;
}

// The best and the front of choices.
void weigh_choices(const SweepChoices& choices, const SweepQuestion& question,
                   SweepReport& report) {
  std::vector<bool> within(choices.size(), true);
  if (!question.limits.empty()) {
    const std::vector<double> shares = choices.shares(question.limits);
    for (std::size_t choice = 0; choice < choices.size(); ++choice) {
      report.choices[choice].within_share = shares[choice];
      within[choice] = shares[choice] >= question.share - kRounding;
    }
  }
  report.within = static_cast<std::size_t>(std::ranges::count(within, true));
  if (question.best) {
    Weighed weighed = cost_of(choices, *question.best);
    weighed.within = within;
    report.best = best_of(weighed);
  }
  if (question.front) {
    report.front = front_of(cost_of(choices, question.front->first).cost,
                            cost_of(choices, question.front->second).cost, within);
  }
}

std::vector<ChoiceRow> rows_of(const SweepChoices& choices) {
  std::vector<ChoiceRow> rows(choices.size());
  const std::vector<Label>& kept = choices.sweep().metrics();
  const bool metal = std::ranges::find(kept, kMetal, &Label::name) != kept.end();
  const std::vector<double> shares =
      metal ? choices.shares_above_none(kMetal) : std::vector<double>(choices.size(), kUnset);
  for (std::size_t choice = 0; choice < rows.size(); ++choice) {
    rows[choice].ride = choices.ride(choice);
    rows[choice].lost = choices.lost()[choice];
    rows[choice].metal_share = shares[choice];
  }
  return rows;
}

}  // namespace

bool lower_is_worse(const SweepQuestion& question, const std::string& metric) {
  if (question.best && question.best->metric == metric) return question.best->largest;
  if (question.front) {
    for (const Goal& goal : {question.front->first, question.front->second}) {
      if (goal.metric == metric) return goal.largest;
    }
  }
  const MetricRow* row = find_metric(metric);
  return row != nullptr && row->sense == Sense::more;
}

std::vector<Label> shown_metrics(const MergedSweep& sweep, const SweepQuestion& question) {
  if (question.metrics.empty()) return sweep.metrics();
  std::vector<std::string> names = question.metrics;
  for (const Limit& limit : question.limits) names.push_back(limit.metric);
  if (question.best) names.push_back(question.best->metric);
  if (question.front) {
    names.push_back(question.front->first.metric);
    names.push_back(question.front->second.metric);
  }
  std::vector<Label> shown;
  for (const Label& metric : sweep.metrics()) {
    if (std::ranges::find(names, metric.name) != names.end()) shown.push_back(metric);
  }
  return shown;
}

SweepReport report_sweep(const SweepSelection& selection, const SweepQuestion& question,
                         const std::function<bool()>& stop) {
  const MergedSweep& sweep = selection.sweep();
  SweepReport report;
  report.rides = selection.size();
  count_origins(selection, report);
  std::optional<SweepChoices> choices;
  if (has_roles(sweep)) {
    choices.emplace(selection);
    report.choices = rows_of(*choices);
    report.circumstances = choices->circumstances();
  }
  const SensitivityInputs inputs = inputs_of(selection);
  for (const Label& metric : shown_metrics(sweep, question)) {
    if (stop && stop()) {
      report.stopped = true;
      return report;
    }
    const std::vector<double> values = selection.of(sweep.metric(metric.name));
    report.metrics.push_back(spread_of(selection, metric, values));
    report.metrics.back().sensitivity = sensitivity_of(selection, inputs, values);
    if (!choices) continue;
    const std::vector<Tail> tails = choices->tails(values, lower_is_worse(question, metric.name));
    for (std::size_t i = 0; i < tails.size(); ++i) report.choices[i].tails.push_back(tails[i]);
  }
  if (choices) {
    weigh_choices(*choices, question, report);
  } else {
    weigh_rides(selection, question, report);
  }
  if (question.front && question.front->first.largest) std::ranges::reverse(report.front);
  return report;
}

SweepMap map_sweep(const SweepSelection& selection, const std::string& option,
                   const std::string& text, std::string& metric) {
  const MergedSweep& sweep = selection.sweep();
  const std::size_t colon = text.find(':');
  const std::size_t comma = text.find(',');
  if (colon == std::string::npos || comma == std::string::npos || comma < colon) {
    refuse_option(
        option, text,
        "must be a metric and two axes, such as \"travel_use:fork.pressure,fork.spacers\"");
  }
  metric = demand_metric(option, text, word_in(text.substr(0, colon)), sweep.metrics()).name;
  const auto axis = [&](const std::string& name) {
    const auto found = std::ranges::find(sweep.grid(), name, &GridAxis::name);
    if (found != sweep.grid().end()) return static_cast<std::size_t>(found - sweep.grid().begin());
    std::vector<std::string_view> names;
    for (const GridAxis& one : sweep.grid()) names.push_back(one.name);
    const std::string nearest = suggestion(name, names);
    refuse_option(option, text,
                  fmt::format("\"{}\" is not among the axes of the grid{}", name,
                              nearest.empty() ? ": " + joined(names) : nearest));
  };
  SweepMap map;
  map.columns = axis(word_in(text.substr(colon + 1, comma - colon - 1)));
  map.rows = axis(word_in(text.substr(comma + 1)));
  if (map.columns == map.rows) refuse_option(option, text, "must be two other axes");
  const auto count = [&](std::size_t at) { return selection.places()[at].size(); };
  const std::size_t width = count(map.columns);
  std::vector<double> counts(width * count(map.rows), 0.0);
  map.values.assign(counts.size(), 0.0);
  const std::vector<double> values = selection.of(sweep.metric(metric));
  for (std::size_t at = 0; at < values.size(); ++at) {
    if (!std::isfinite(values[at])) continue;
    std::size_t rest = at / selection.rows().size();
    std::size_t row = 0;
    std::size_t column = 0;
    for (std::size_t i = sweep.grid().size(); i-- > 0; rest /= count(i)) {
      if (i == map.rows) row = rest % count(i);
      if (i == map.columns) column = rest % count(i);
    }
    map.values[row * width + column] += values[at];
    counts[row * width + column] += 1.0;
  }
  for (std::size_t cell = 0; cell < counts.size(); ++cell) {
    map.values[cell] = counts[cell] > 0.0 ? map.values[cell] / counts[cell] : kUnset;
  }
  return map;
}

}  // namespace plunge
