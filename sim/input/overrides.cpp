#include "sim/input/overrides.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "sim/input/toml_values.hpp"
#include "sim/text/units.hpp"
#include "sim/text/words.hpp"

namespace plunge {
namespace {

constexpr char kSet[] = "--set";
constexpr char kVary[] = "--vary";
constexpr char kHold[] = "--hold";

// What a value of an option breaks, with its place.
[[noreturn]] void refuse(const char* option, const std::string& name, std::string_view value,
                         std::string rule) {
  throw InputError(Fault{name, std::string(value), std::move(rule), {option, 0, 0}});
}

// `option` names the option of the command line in faults.
Assignment split_assignment(std::string_view text, const char* option, const char* example) {
  const std::size_t sign = text.find('=');
  if (sign == std::string_view::npos || trimmed(text.substr(0, sign)).empty()) {
    throw InputError(Fault{"",
                           fmt::format("\"{}\"", text),
                           fmt::format("must be name=value, such as {}", example),
                           {option, 0, 0}});
  }
  return {std::string(trimmed(text.substr(0, sign))), std::string(trimmed(text.substr(sign + 1)))};
}

// A range as it is written: its ends and its step.
struct Range {
  Quantity first;
  Quantity last;
  Quantity step;  // NaN: none is given
};

Range range_of(std::string_view text, const Knob& knob) {
  const std::size_t dots = text.find("..");
  const std::string_view rest = text.substr(dots + 2);
  const std::size_t colon = rest.find(':');
  const auto part = [&](std::string_view quantity) {
    try {
      return split_quantity(quantity);
    } catch (const InputError&) {
      refuse(kVary, knob.name, text, "must be a range such as 0..4 or 60psi..90psi:5psi");
    }
  };
  Range range{part(text.substr(0, dots)), part(rest.substr(0, colon)), {}};
  range.step = {kUnset, range.first.unit};
  if (colon != std::string_view::npos) range.step = part(rest.substr(colon + 1));
  return range;
}

// The same range with a step on which it ends and that makes five values or some more: 1, 2 or 5
// times a power of ten. Empty where there is none.
std::string with_step(const Range& range, const std::string& unit) {
  const double span = range.last.number - range.first.number;
  if (!(span > 0.0)) return {};
  double decade = std::pow(10.0, std::floor(std::log10(span)));
  for (int tries = 0; tries < 2; ++tries, decade /= 10.0) {
    for (const double factor : {5.0, 2.0, 1.0}) {
      const double steps = span / (factor * decade);
      if (steps < 4.0 || std::abs(steps - std::round(steps)) > 1e-6) continue;
      return fmt::format("{0:g}{1}..{2:g}{1}:{3:g}{1}", range.first.number, unit, range.last.number,
                         factor * decade);
    }
  }
  return {};
}

// Refuses a range whose ends have no unit where one is due, with the range that may be meant.
void demand_units(std::string_view text, const Range& range, const Knob& knob) {
  if (knob.whole || !range.first.unit.empty() || !range.last.unit.empty()) return;
  const bool share = knob.unit == "1" && range.last.number <= 1.0;
  if (share || (knob.unit == "1" && knob.said == "1")) return;
  std::string meant = with_step(range, knob.said);
  if (knob.holds_sag() && !meant.empty()) meant += "\" or \"" + with_step(range, "mm");
  refuse(kVary, knob.name, text,
         "bare numbers have no unit" +
             (meant.empty() ? std::string() : fmt::format(": did you mean \"{}\"?", meant)));
}

std::vector<double> range_values(std::string_view text, const Knob& knob) {
  Range range = range_of(text, knob);
  const auto& [first, last, step] = range;
  demand_units(text, range, knob);
  if (std::isnan(step.number)) {
    if (!knob.whole) {
      const std::string meant = first.unit == last.unit ? with_step(range, first.unit) : "";
      refuse(kVary, knob.name, text,
             "needs a step, such as " + (meant.empty() ? "60psi..90psi:5psi" : meant));
    }
    range.step.number = 1.0;
  }
  if (first.unit != last.unit || first.unit != step.unit) {
    refuse(kVary, knob.name, text, "must have both ends and the step in one unit");
  }
  if (!(last.number >= first.number)) {
    refuse(kVary, knob.name, text, "must rise from its first to its last value");
  }
  if (!(step.number > 0.0)) refuse(kVary, knob.name, text, "must have a step above 0");
  // The far end counts as reached where rounding alone keeps the steps from it.
  constexpr double kRounding = 1e-9;
  const double exact = (last.number - first.number) / step.number;
  const double steps = std::floor(exact + kRounding * std::max(1.0, exact));
  if (!(steps < kMostVariants)) {
    refuse(kVary, knob.name, text, fmt::format("must be at most {} values", kMostVariants));
  }
  std::vector<double> values;
  for (int k = 0; k <= static_cast<int>(steps); ++k) {
    const Quantity at{first.number + k * step.number, first.unit};
    if (knob.whole && !(at.number == std::floor(at.number) && at.unit.empty())) {
      refuse(kVary, knob.name, text, "needs whole numbers");
    }
    values.push_back(to_si(at, knob.unit));
  }
  if (exact - steps > kRounding * std::max(1.0, exact)) {
    refuse(kVary, knob.name, text,
           fmt::format("must end on a step: {0:g}{2} is the last before its end, {1:g}{2} the next",
                       first.number + steps * step.number,
                       first.number + (steps + 1.0) * step.number, first.unit));
  }
  return values;
}

std::vector<double> list_values(std::string_view text, const Knob& knob) {
  std::vector<double> values;
  for (std::size_t start = 0; start <= text.size();) {
    const std::size_t end = std::min(text.find(',', start), text.size());
    const std::string_view item = trimmed(text.substr(start, end - start));
    if (knob.holds_sag()) {
      const HoldSetup sag = sag_from_text(item);
      const bool share = std::isnan(sag.sag_length);
      if (share != (knob.unit == "1")) {
        refuse(kVary, knob.name, text,
               "must have all values alike: shares such as 20%,25% or lengths such as 30mm,35mm");
      }
      values.push_back(share ? sag.sag : sag.sag_length);
    } else {
      values.push_back(number_from_text(item, {knob.unit, knob.whole}));
    }
    start = end + 1;
    if (values.size() > static_cast<std::size_t>(kMostVariants)) {
      refuse(kVary, knob.name, "", fmt::format("must be at most {} values", kMostVariants));
    }
  }
  return values;
}

}  // namespace

Assignment split_setting(std::string_view text) {
  return split_assignment(text, kSet, "fork.spacers=2");
}

Assignment split_variation(std::string_view text) {
  return split_assignment(text, kVary, "fork.spacers=0..4");
}

void apply_override(Setup& setup, std::string_view text) {
  const auto [name, value] = split_setting(text);
  if (const NameField* field = find_name(name)) {
    field->at(setup) = value;
    return;
  }
  if (const Choice<Setup>* choice = find_choice(name)) {
    const int word = find_value(choice->values, value);
    if (word < 0) refuse(kSet, name, value, word_rule(choice->values, value));
    choice->set(setup, word);
    return;
  }
  try {
    const Knob knob = find_knob(setup, name);
    if (knob.holds_sag()) {
      setup.hold = sag_from_text(value);
      return;
    }
    const auto rough_class = name.ends_with(".roughness") ? roughness_class(value) : std::nullopt;
    knob.put(setup, rough_class ? *rough_class : number_from_text(value, {knob.unit, knob.whole}));
  } catch (const InputError& error) {
    refuse(kSet, name, value, error.faults().front().rule);
  }
}

std::string unread_rule(const Setup& setup, std::string_view name) {
  if (find_name(name) != nullptr) return {};
  if (const Choice<Setup>* choice = find_choice(name)) {
    if (choice->needed(setup)) return {};
    return fmt::format("nothing reads it: it belongs to {}", reader_of(*choice));
  }
  const Knob knob = find_knob(setup, name);
  return knob.is_read(setup) ? std::string() : knob.unread_rule(setup);
}

std::vector<double> parse_values(std::string_view text, const Knob& knob) {
  return text.find("..") == std::string::npos ? list_values(text, knob) : range_values(text, knob);
}

Knob knob_for_values(const Setup& setup, std::string_view name, std::string_view values) {
  Knob knob = find_knob(setup, name);
  if (!knob.holds_sag()) return knob;
  try {
    const std::size_t end = std::min({values.find(".."), values.find(','), values.size()});
    to_si(values.substr(0, end), "m");
    return sag_length_knob();
  } catch (const InputError&) {
    return knob;
  }
}

Variation parse_variation(std::string_view text, const Setup& setup) {
  const auto [name, value] = split_variation(text);
  if (find_choice(name) != nullptr || find_name(name) != nullptr) {
    refuse(kVary, name, value, "is no number; only numbers are varied");
  }
  try {
    Variation variation{knob_for_values(setup, name, value), {}};
    const Knob& knob = variation.knob;
    variation.values = parse_values(value, knob);
    std::vector<double> sorted = variation.values;
    std::ranges::sort(sorted);
    if (std::ranges::adjacent_find(sorted) != sorted.end()) {
      refuse(kVary, name, value, "has one value twice");
    }
    for (const double number : variation.values) {
      if (in_range(number, knob.low, knob.high)) continue;
      refuse(kVary, name, value,
             fmt::format("must be {}", say_range(knob.low, knob.high, knob.said)));
    }
    return variation;
  } catch (const InputError& error) {
    refuse(kVary, name, value, error.faults().front().rule);
  }
}

double parse_grade(std::string_view text, const std::string& option) {
  const auto field =
      std::ranges::find(feature_fields(), std::string_view("grade"), &FeatureField::name);
  const std::string rule = "must be " + say_range(field->low, field->high, field->said);
  try {
    const double grade = to_si(text, field->unit);
    if (in_range(grade, field->low, field->high)) return grade;
  } catch (const InputError& error) {
    refuse(option.c_str(), "", std::string(text), error.faults().front().rule);
  }
  refuse(option.c_str(), "", std::string(text), rule);
}

HoldSetup parse_hold(std::string_view text) {
  const auto [name, value] = split_assignment(text, kHold, "sag=22%, or the word pressure");
  if (name != "sag") {
    refuse(kHold, name, value, "is nothing that can be held; \"sag\" is");
  }
  try {
    return sag_from_text(value);
  } catch (const InputError& error) {
    refuse(kHold, "hold.sag", value, error.faults().front().rule);
  }
}

}  // namespace plunge
