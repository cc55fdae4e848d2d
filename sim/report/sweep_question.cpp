#include "sim/report/sweep_question.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/text/units.hpp"
#include "sim/text/words.hpp"

namespace plunge {
namespace {

// A name without what people leave out of it: "handforcemax".
std::string squeezed(std::string_view name) {
  std::string letters;
  for (const char c : name) {
    if (c != '_' && c != ' ' && c != '-') letters += c;
  }
  return letters;
}

// "; did you mean "hand_force_max"?", of "handforce" too; or nothing.
std::string nearest_of(const std::string& name, const std::vector<std::string_view>& kept) {
  const std::string plain = suggestion(name, kept);
  if (!plain.empty()) return plain;
  std::vector<std::string> letters;
  for (const std::string_view candidate : kept) letters.push_back(squeezed(candidate));
  const std::string nearest =
      nearest_name(squeezed(name), std::vector<std::string_view>(letters.begin(), letters.end()));
  const auto found = std::ranges::find(letters, nearest);
  return nearest.empty() ? ""
                         : fmt::format("; did you mean \"{}\"?",
                                       kept[static_cast<std::size_t>(found - letters.begin())]);
}

}  // namespace

void refuse_option(const std::string& option, const std::string& text, const std::string& rule) {
  throw InputError(Fault{option, text, rule, {}});
}

std::string word_in(std::string_view text) { return std::string(trimmed(text)); }

std::vector<std::string> listed(const std::string& text) {
  std::vector<std::string> words;
  for (std::size_t start = 0; start <= text.size();) {
    const std::size_t end = std::min(text.find(',', start), text.size());
    words.push_back(word_in(std::string_view(text).substr(start, end - start)));
    start = end + 1;
  }
  return words;
}

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

double number_said(const std::string& text, const std::string& unit, const std::string& said) {
  const bool bare = split_quantity(text).unit.empty();
  if (bare && unit == "1" && said != "1" && !said.empty()) {
    // 95 and 0.95 may both be meant to be 95 %, and the second may not.
    const std::string number = word_in(text);
    throw InputError(Fault{
        "", number, fmt::format("{} needs its unit, such as \"{}{}\"", number, number, said), {}});
  }
  return to_si(text, unit);
}

const Label& demand_metric(const std::string& option, const std::string& text,
                           const std::string& name, const std::vector<Label>& metrics) {
  const auto found = std::ranges::find(metrics, name, &Label::name);
  if (found != metrics.end()) return *found;
  std::vector<std::string_view> kept;
  for (const Label& metric : metrics) kept.push_back(metric.name);
  if (find_metric(name) != nullptr) {
    refuse_option(
        option, text,
        fmt::format("\"{}\" was not kept by the sweep: its plan keeps {}", name, joined(kept)));
  }
  const std::string nearest = nearest_of(name, kept);
  refuse_option(option, text,
                fmt::format("\"{}\" is no metric that the sweep kept{}", name,
                            nearest.empty() ? ": " + joined(kept) : nearest));
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
      return {metric.name, sign.relation, number_said(value, metric.unit, metric.said), text};
    } catch (const InputError& error) {
      refuse_option(option, text, error.faults().front().rule);
    }
  }
  refuse_option(option, text, "must be a metric, a sign and a value, such as \"travel_use<=95%\"");
}

Goal parse_goal(const std::string& option, const std::string& text,
                const std::vector<Label>& metrics) {
  const std::size_t colon = text.rfind(':');
  const Label& metric = demand_metric(option, text, word_in(text.substr(0, colon)), metrics);
  if (colon == std::string::npos) {
    const MetricRow* row = find_metric(metric.name);
    if (row != nullptr && row->sense != Sense::neither) {
      return {metric.name, row->sense == Sense::more};
    }
  }
  const std::string end = colon == std::string::npos ? "" : word_in(text.substr(colon + 1));
  if (end != "min" && end != "max") {
    refuse_option(option, text,
                  fmt::format("must be a metric and min or max, such as \"{}:min\"", metric.name));
  }
  return {metric.name, end == "max"};
}

std::pair<Goal, Goal> parse_goals(const std::string& option, const std::string& text,
                                  const std::vector<Label>& metrics) {
  const std::vector<std::string> words = listed(text);
  if (words.size() != 2) {
    refuse_option(
        option, text,
        "must be two metrics with min or max, such as \"hand_force_max:min,travel_use:max\"");
  }
  const auto goal = [&](const std::string& word) {
    try {
      return parse_goal(option, word, metrics);
    } catch (const InputError& error) {
      refuse_option(option, text, error.faults().front().rule);
    }
  };
  const std::pair<Goal, Goal> goals = {goal(words[0]), goal(words[1])};
  if (goals.first.metric == goals.second.metric)
    refuse_option(option, text, "must be two other metrics");
  return goals;
}

std::vector<std::string> parse_metrics(const std::string& option, const std::string& text,
                                       const std::vector<Label>& metrics) {
  const std::vector<std::string> words = listed(text);
  for (const std::string& word : words) demand_metric(option, text, word, metrics);
  std::vector<std::string> asked;
  for (const Label& metric : metrics) {
    if (std::ranges::find(words, metric.name) != words.end()) asked.push_back(metric.name);
  }
  return asked;
}

double parse_share(const std::string& option, const std::string& text) {
  try {
    const double share = number_said(text, "1", "%");
    if (share > 0.0 && share <= 1.0) return share;
  } catch (const InputError& error) {
    refuse_option(option, text, error.faults().front().rule);
  }
  refuse_option(option, text, "must be above 0 % and at most 100 %");
}

}  // namespace plunge
