#include "sim/report/sweep_selection.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <set>
#include <string_view>
#include <utility>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "sim/input/overrides.hpp"
#include "sim/report/sweep_question.hpp"
#include "sim/text/units.hpp"
#include "sim/text/words.hpp"

namespace plunge {
namespace {

constexpr std::size_t kListed = 12;     // values that a message names
constexpr double kSameDigits = 5.1e-4;  // of a value that is said with four digits

// One condition of the command line while it is read.
struct Condition {
  const std::string& option;
  const std::string& text;
  std::string value;

  [[noreturn]] void refuse(const std::string& rule) const { refuse_option(option, text, rule); }
};

std::vector<std::size_t> all_of(std::size_t count) {
  std::vector<std::size_t> places(count);
  std::iota(places.begin(), places.end(), std::size_t{0});
  return places;
}

std::string unit_behind(const std::string& said) {
  return said.empty() || said == "1" ? "" : " " + said;
}

// "60, 65, 70 ... 95 psi".
std::string there_is(const GridAxis& axis) {
  std::vector<std::string> names;
  const std::size_t count = axis.values.size();
  for (std::size_t i = 0; i < count; ++i) {
    if (count > kListed && i == kListed - 2) {
      names.emplace_back("...");
      i = count - 1;
    }
    names.push_back(value_name(axis, i));
  }
  return joined(names) + unit_behind(axis.said);
}

// Both ends of "60psi..80psi"; the first may leave its unit to the last.
std::pair<double, double> ends_of(const Condition& asked, const KnobLabel& axis) {
  const std::size_t dots = asked.value.find("..");
  std::string first = word_in(std::string_view(asked.value).substr(0, dots));
  const std::string last = word_in(std::string_view(asked.value).substr(dots + 2));
  try {
    if (split_quantity(first).unit.empty()) first += split_quantity(last).unit;
    const std::pair<double, double> ends = {number_said(first, axis.unit, axis.said),
                                            number_said(last, axis.unit, axis.said)};
    if (!(ends.first <= ends.second)) asked.refuse("must rise from its first to its last value");
    return ends;
  } catch (const InputError& error) {
    asked.refuse(error.faults().front().rule);
  }
}

double number_of(const Condition& asked, const std::string& word, const KnobLabel& axis) {
  try {
    return number_said(word, axis.unit, axis.said);
  } catch (const InputError& error) {
    asked.refuse(error.faults().front().rule);
  }
}

bool is_range(const std::string& value) { return value.find("..") != std::string::npos; }

bool same(double a, double b) {
  return std::abs(a - b) <= kSameDigits * std::max(std::abs(a), std::abs(b));
}

std::size_t place_of_label(const Condition& asked, const std::string& word, const GridAxis& axis) {
  const auto found = std::ranges::find(axis.labels, word);
  if (found != axis.labels.end()) {
    return static_cast<std::size_t>(found - axis.labels.begin());
  }
  const std::vector<std::string_view> labels(axis.labels.begin(), axis.labels.end());
  const std::string meant = suggestion(word, labels);
  asked.refuse(fmt::format("there is no {} \"{}\"{}{} {}", axis.name, word, meant,
                           meant.empty() ? "; there is" : " There is", there_is(axis)));
}

std::size_t place_of_number(const Condition& asked, const std::string& word, const GridAxis& axis) {
  const double number = number_of(asked, word, axis);
  const auto distance = [&](double value) { return std::abs(value - number); };
  const auto nearest = std::ranges::min_element(axis.values, {}, distance);
  if (same(*nearest, number)) return static_cast<std::size_t>(nearest - axis.values.begin());
  asked.refuse(fmt::format("{} is no value of {}: the nearest is {}{}; there is {}", word,
                           axis.name, setting_text(*nearest, axis.said), unit_behind(axis.said),
                           there_is(axis)));
}

// Places of an axis of the grid that a condition allows.
std::set<std::size_t> places_on(const Condition& asked, const GridAxis& axis) {
  std::set<std::size_t> places;
  const bool labelled = !axis.labels.empty();
  if (!labelled && is_range(asked.value)) {
    const auto [low, high] = ends_of(asked, axis);
    for (std::size_t i = 0; i < axis.values.size(); ++i) {
      if (in_range(axis.values[i], low, high)) places.insert(i);
    }
    if (places.empty()) {
      asked.refuse(
          fmt::format("no value of {} lies in it; there is {}", axis.name, there_is(axis)));
    }
    return places;
  }
  for (const std::string& word : listed(asked.value)) {
    places.insert(labelled ? place_of_label(asked, word, axis)
                           : place_of_number(asked, word, axis));
  }
  return places;
}

// Rows of the sample that a condition allows.
std::set<std::size_t> rows_on(const Condition& asked, const SampledNumber& number,
                              const std::vector<double>& values) {
  std::set<std::size_t> rows;
  const auto [least, most] = std::ranges::minmax(values);
  const std::string there =
      fmt::format("the sample goes from {} to {}{}", setting_text(least, number.said),
                  setting_text(most, number.said), unit_behind(number.said));
  if (is_range(asked.value)) {
    const auto [low, high] = ends_of(asked, number);
    for (std::size_t row = 0; row < values.size(); ++row) {
      if (in_range(values[row], low, high)) rows.insert(row);
    }
    if (rows.empty()) asked.refuse("no row of the sample lies in it; " + there);
    return rows;
  }
  for (const std::string& word : listed(asked.value)) {
    const double wanted = number_of(asked, word, number);
    const std::size_t before = rows.size();
    for (std::size_t row = 0; row < values.size(); ++row) {
      if (same(values[row], wanted)) rows.insert(row);
    }
    if (rows.size() == before) {
      asked.refuse(fmt::format("no row of the sample has {}; {}: a range takes what lies between",
                               word, there));
    }
  }
  return rows;
}

}  // namespace

std::string setting_text(double value, const std::string& said) {
  return fmt::format("{:.4g}", in_common_unit(value, said));
}

std::string value_name(const GridAxis& axis, std::size_t at) {
  return axis.labels.empty() ? setting_text(axis.values[at], axis.said) : axis.labels[at];
}

SweepSelection::SweepSelection(const MergedSweep& sweep)
    : sweep_(&sweep), rows_(all_of(sweep.points())) {
  for (const GridAxis& axis : sweep.grid()) places_.push_back(all_of(axis.values.size()));
}

SweepSelection::SweepSelection(const MergedSweep& sweep, const std::string& option,
                               const std::vector<std::string>& conditions)
    : SweepSelection(sweep) {
  std::map<std::size_t, std::set<std::size_t>> kept;  // by axis, the sampled ones behind the grid's
  const std::size_t axes = sweep.grid().size();
  for (const std::string& text : conditions) {
    const std::size_t sign = text.find('=');
    const std::string name = word_in(std::string_view(text).substr(0, sign));
    const std::string value =
        sign == std::string::npos ? "" : word_in(std::string_view(text).substr(sign + 1));
    const Condition asked{option, text, value};
    if (name.empty() || value.empty()) {
      asked.refuse("must be an axis and a value, such as fork.spacers=2 or rider=wren");
    }
    std::vector<std::string_view> names;
    for (const GridAxis& axis : sweep.grid()) names.push_back(axis.name);
    for (const SampledNumber& number : sweep.sampled()) names.push_back(number.name);
    const auto found = std::ranges::find(names, name);
    if (found == names.end()) {
      const std::string nearest = suggestion(name, names);
      asked.refuse(fmt::format("the sweep has no axis \"{}\"{}", name,
                               nearest.empty() ? "; its axes are " + joined(names) : nearest));
    }
    const auto at = static_cast<std::size_t>(found - names.begin());
    kept[at].merge(at < axes ? places_on(asked, sweep.grid()[at])
                             : rows_on(asked, sweep.sampled()[at - axes], sweep.sample(at - axes)));
  }
  std::set<std::size_t> rows(rows_.begin(), rows_.end());
  for (const auto& [at, allowed] : kept) {
    const std::set<std::size_t>& places = allowed;
    if (at < axes) {
      places_[at].assign(places.begin(), places.end());
    } else {
      std::erase_if(rows, [&](std::size_t row) { return !places.contains(row); });
    }
  }
  rows_.assign(rows.begin(), rows.end());
  if (rows_.empty()) {
    throw InputError(Fault{option, "", "no row of the sample has all that is asked for", {}});
  }
  number_rides();
}

void SweepSelection::number_rides() {
  std::size_t count = rows_.size();
  for (const std::vector<std::size_t>& places : places_) count *= places.size();
  whole_ = count == sweep_->size();
  if (whole_) return;
  rides_ = {0};
  for (std::size_t axis = 0; axis <= places_.size(); ++axis) {
    const bool last = axis == places_.size();
    const std::vector<std::size_t>& places = last ? rows_ : places_[axis];
    const std::size_t stride = last ? sweep_->points() : sweep_->grid()[axis].values.size();
    std::vector<std::size_t> finer;
    finer.reserve(rides_.size() * places.size());
    for (const std::size_t ride : rides_) {
      for (const std::size_t place : places) finer.push_back(ride * stride + place);
    }
    rides_ = std::move(finer);
  }
}

}  // namespace plunge
