// What is asked of a merged sweep, from the words of the command line.
//
//   limit    "travel_use<=95%": a metric, a sign (<= >= < > =) and a value with its unit
//   goal     "hand_force_max:min", or ":max"; neither is needed where one way is better (Sense)
//   metrics  "travel_max,metal_contacts"
// Every parser names its option and throws InputError: for a metric that the sweep did not keep,
// with the nearest that it kept; for a bare number where people say a unit; for another form.
// Not here: which rides are meant (sweep_selection.hpp).
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "models/laws/constants.hpp"
#include "sim/measure/label.hpp"

namespace plunge {

enum class Relation { at_most, less, at_least, more, equal };

struct Limit {
  std::string metric;
  Relation relation = Relation::at_most;
  double value = kUnset;  // SI
  std::string text;       // as given
};

struct Goal {
  std::string metric;
  bool largest = false;
};

// A choice keeps the limits where they hold in so much of what varies, unless said otherwise.
inline constexpr double kUsualShare = 0.9;  // chosen: as far as the 90th percentile goes

struct SweepQuestion {
  std::vector<Limit> limits;
  std::optional<Goal> best;
  std::optional<std::pair<Goal, Goal>> front;
  std::vector<std::string> metrics;  // that are shown; empty: all
  double share = kUsualShare;        // of circumstances in which the limits must hold [1]
};

bool holds(const Limit& limit, double value);

// Throws InputError: the text that an option was given breaks the rule.
[[noreturn]] void refuse_option(const std::string& option, const std::string& text,
                                const std::string& rule);

// A word of such a text, without the blanks around it.
std::string word_in(std::string_view text);

// Its words between commas.
std::vector<std::string> listed(const std::string& text);

// A value as people give it, "95%"; a bare number only where people say no unit. Throws InputError
// with a rule and no key.
double number_said(const std::string& text, const std::string& unit, const std::string& said);

Limit parse_limit(const std::string& option, const std::string& text,
                  const std::vector<Label>& metrics);
Goal parse_goal(const std::string& option, const std::string& text,
                const std::vector<Label>& metrics);
// Two goals, "hand_force_max:min,travel_use:max".
std::pair<Goal, Goal> parse_goals(const std::string& option, const std::string& text,
                                  const std::vector<Label>& metrics);
// In the order of the sweep.
std::vector<std::string> parse_metrics(const std::string& option, const std::string& text,
                                       const std::vector<Label>& metrics);
// "90%" of what varies.
double parse_share(const std::string& option, const std::string& text);

// The metric of that name.
const Label& demand_metric(const std::string& option, const std::string& text,
                           const std::string& name, const std::vector<Label>& metrics);

}  // namespace plunge
