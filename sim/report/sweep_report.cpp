#include "sim/report/sweep_report.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "models/setup/fault.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/numerics/statistics.hpp"
#include "sim/text/units.hpp"
#include "sim/text/words.hpp"

namespace plunge {
namespace {

[[noreturn]] void refuse(const std::string& option, const std::string& text,
                         const std::string& rule) {
  throw InputError(Fault{option, text, rule, {}});
}

std::string word_in(std::string_view text) { return std::string(trimmed(text)); }

template <class Item>
std::string names_of(const std::vector<Item>& items) {
  std::vector<std::string> names;
  for (const Item& item : items) names.push_back(item.name);
  return fmt::format("{}", fmt::join(names, ", "));
}

const Label& demand_metric(const std::string& option, const std::string& text,
                           const std::string& name, const std::vector<Label>& metrics) {
  const auto found = std::ranges::find(metrics, name, &Label::name);
  if (found == metrics.end()) {
    refuse(option, text,
           fmt::format("\"{}\" is not among the metrics that the sweep kept: {}", name,
                       names_of(metrics)));
  }
  return *found;
}

SensitivityInputs inputs_of(const MergedSweep& sweep) {
  SensitivityInputs inputs;
  inputs.design = sweep.design();
  inputs.base_points = sweep.base_points();
  for (const GridAxis& axis : sweep.grid()) inputs.grid.push_back({axis.name, axis.values.size()});
  for (std::size_t i = 0; i < sweep.sampled().size(); ++i) {
    inputs.sampled.push_back({sweep.sampled()[i].name, sweep.sample(i)});
  }
  return inputs;
}

Spread spread_of(const Label& metric, const std::vector<double>& values) {
  Spread spread;
  spread.metric = metric;
  std::vector<double> there;
  there.reserve(values.size());
  for (std::size_t ride = 0; ride < values.size(); ++ride) {
    const double value = values[ride];
    if (!std::isfinite(value)) continue;
    if (there.empty() || value < spread.least) {
      spread.least = value;
      spread.least_at = ride;
    }
    if (there.empty() || value > spread.most) {
      spread.most = value;
      spread.most_at = ride;
    }
    there.push_back(value);
  }
  spread.rides = there.size();
  if (there.empty()) return spread;
  spread.median = percentile_in(there, 50.0);
  return spread;
}

void count_origins(const MergedSweep& sweep, SweepReport& report) {
  const std::vector<int> origins = sweep.origins();
  for (const int origin : origins) {
    report.failed += origin == static_cast<int>(Origin::failed) ? 1 : 0;
    report.redone += origin == static_cast<int>(Origin::adaptive) ? 1 : 0;
    report.not_ridden += origin == kNotRidden ? 1 : 0;
  }
  if (report.failed == 0) return;
  const std::vector<int> reasons = sweep.reasons();
  const std::vector<std::string> texts = sweep.reason_texts();
  ReasonCounts counts;
  for (std::size_t ride = 0; ride < origins.size(); ++ride) {
    if (origins[ride] != static_cast<int>(Origin::failed)) continue;
    counts.count(ride, texts[static_cast<std::size_t>(reasons[ride])]);
  }
  report.reasons = counts.by_frequency();
}

// A metric, made so that less is better.
std::vector<double> cost_of(const MergedSweep& sweep, const Goal& goal) {
  std::vector<double> cost = sweep.metric(goal.metric);
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

// True for each ride that keeps all limits.
std::vector<bool> within_limits(const MergedSweep& sweep, const std::vector<Limit>& limits) {
  std::vector<bool> within(sweep.size(), true);
  for (const Limit& limit : limits) {
    const std::vector<double> values = sweep.metric(limit.metric);
    for (std::size_t ride = 0; ride < values.size(); ++ride) {
      within[ride] = within[ride] && holds(limit, values[ride]);
    }
  }
  return within;
}

// The rides of least cost, of equals the first.
std::vector<std::size_t> best_of(const std::vector<double>& cost, const std::vector<bool>& within) {
  std::vector<std::size_t> order;
  for (std::size_t ride = 0; ride < cost.size(); ++ride) {
    if (within[ride] && std::isfinite(cost[ride])) order.push_back(ride);
  }
  const auto shown = static_cast<std::ptrdiff_t>(std::min(order.size(), kBestShown));
  std::ranges::partial_sort(order, order.begin() + shown, [&](std::size_t a, std::size_t b) {
    return cost[a] != cost[b] ? cost[a] < cost[b] : a < b;
  });
  return {order.begin(), order.begin() + shown};
}

// The rides that no other one beats in both costs, by the first.
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

}  // namespace

bool holds(const Limit& limit, double value) {
  // Equal to what a ride's last digits are worth, so that "95%" meets 0.95 however it came about.
  const bool equal = std::abs(value - limit.value) <= 1e-9 * std::abs(limit.value);
  switch (limit.relation) {
    case Relation::at_most:
      return value < limit.value || equal;
    case Relation::less:
      return value < limit.value && !equal;
    case Relation::at_least:
      return value > limit.value || equal;
    case Relation::more:
      return value > limit.value && !equal;
    case Relation::equal:
      return equal;
  }
  return false;
}

Limit parse_limit(const std::string& option, const std::string& text,
                  const std::vector<Label>& metrics) {
  struct Sign {
    const char* text;
    Relation relation;
  };
  constexpr std::array<Sign, 5> kSigns = {{{"<=", Relation::at_most},
                                           {">=", Relation::at_least},
                                           {"<", Relation::less},
                                           {">", Relation::more},
                                           {"=", Relation::equal}}};
  for (const Sign& sign : kSigns) {
    const std::size_t at = text.find(sign.text);
    if (at == std::string::npos) continue;
    const Label& metric = demand_metric(option, text, word_in(text.substr(0, at)), metrics);
    const std::string value = word_in(text.substr(at + std::string_view(sign.text).size()));
    try {
      return {metric.name, sign.relation, to_si(value, metric.unit), text};
    } catch (const InputError& error) {
      refuse(option, text, error.faults().front().rule);
    }
  }
  refuse(option, text, "must be a metric, a sign and a value, such as \"travel_use<=95%\"");
}

Goal parse_goal(const std::string& option, const std::string& text,
                const std::vector<Label>& metrics) {
  const std::size_t colon = text.rfind(':');
  const std::string name = word_in(text.substr(0, colon));
  if (colon == std::string::npos) {
    const MetricRow* row = find_metric(name);
    if (row != nullptr && row->sense != Sense::neither) {
      return {demand_metric(option, text, name, metrics).name, row->sense == Sense::more};
    }
  }
  const std::string end = colon == std::string::npos ? "" : word_in(text.substr(colon + 1));
  if (end != "min" && end != "max") {
    refuse(option, text, "must be a metric and min or max, such as \"hand_force_max:min\"");
  }
  return {demand_metric(option, text, name, metrics).name, end == "max"};
}

std::pair<Goal, Goal> parse_goals(const std::string& option, const std::string& text,
                                  const std::vector<Label>& metrics) {
  const std::size_t comma = text.find(',');
  if (comma == std::string::npos || text.find(',', comma + 1) != std::string::npos) {
    refuse(option, text,
           "must be two metrics with min or max, such as \"hand_force_max:min,travel_use:max\"");
  }
  const std::pair<Goal, Goal> goals = {
      parse_goal(option, word_in(text.substr(0, comma)), metrics),
      parse_goal(option, word_in(text.substr(comma + 1)), metrics)};
  if (goals.first.metric == goals.second.metric) refuse(option, text, "must be two other metrics");
  return goals;
}

SweepReport report_sweep(const MergedSweep& sweep, const SweepQuestion& question) {
  SweepReport report;
  report.rides = sweep.size();
  count_origins(sweep, report);
  const SensitivityInputs inputs = inputs_of(sweep);
  for (const Label& metric : sweep.metrics()) {
    const std::vector<double> values = sweep.metric(metric.name);
    report.metrics.push_back(spread_of(metric, values));
    report.metrics.back().sensitivity = sensitivity(inputs, values);
  }
  const std::vector<bool> within = within_limits(sweep, question.limits);
  report.within = static_cast<std::size_t>(std::ranges::count(within, true));
  if (question.best) report.best = best_of(cost_of(sweep, *question.best), within);
  if (question.front) {
    report.front = front_of(cost_of(sweep, question.front->first),
                            cost_of(sweep, question.front->second), within);
    if (question.front->first.largest) std::ranges::reverse(report.front);
  }
  return report;
}

SweepMap map_sweep(const MergedSweep& sweep, const std::string& option, const std::string& text,
                   std::string& metric) {
  const std::size_t colon = text.find(':');
  const std::size_t comma = text.find(',');
  if (colon == std::string::npos || comma == std::string::npos || comma < colon) {
    refuse(option, text,
           "must be a metric and two axes, such as \"travel_use:fork.pressure,fork.spacers\"");
  }
  metric = demand_metric(option, text, word_in(text.substr(0, colon)), sweep.metrics()).name;
  const auto axis = [&](const std::string& name) {
    const auto found = std::ranges::find(sweep.grid(), name, &GridAxis::name);
    if (found == sweep.grid().end()) {
      refuse(option, text,
             fmt::format("\"{}\" is not among the axes of the grid: {}", name,
                         names_of(sweep.grid())));
    }
    return static_cast<std::size_t>(found - sweep.grid().begin());
  };
  SweepMap map;
  map.columns = axis(word_in(text.substr(colon + 1, comma - colon - 1)));
  map.rows = axis(word_in(text.substr(comma + 1)));
  if (map.columns == map.rows) refuse(option, text, "must be two other axes");
  const std::size_t width = sweep.grid()[map.columns].values.size();
  std::vector<double> counts(width * sweep.grid()[map.rows].values.size(), 0.0);
  map.values.assign(counts.size(), 0.0);
  const std::vector<double> values = sweep.metric(metric);
  for (std::size_t ride = 0; ride < values.size(); ++ride) {
    if (!std::isfinite(values[ride])) continue;
    const std::vector<std::size_t> index = sweep.index(ride);
    const std::size_t cell = index[map.rows] * width + index[map.columns];
    map.values[cell] += values[ride];
    counts[cell] += 1.0;
  }
  for (std::size_t cell = 0; cell < counts.size(); ++cell) {
    map.values[cell] = counts[cell] > 0.0 ? map.values[cell] / counts[cell] : kUnset;
  }
  return map;
}

}  // namespace plunge
