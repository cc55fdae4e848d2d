// The one table of every number and choice in a Setup.
//
// The loader, --set, --vary, the judge, the HDF5 attributes, scenarios/format.md and the page all
// read it, so they cannot disagree. Each number has
//   name      its dotted path, the same in TOML, on the command line and in HDF5: "fork.spacers"
//   unit      its SI unit in UDUNITS spelling: "m2", "N s m-1", "1"
//   said      the unit in which it is said to people: "cm2", "psi", "%"
//   low, high the closed range, in SI, outside of which it is refused
//   fallback  its default in SI; NaN: none, it must be given where it is needed
//   basis     where the default comes from
//   whole     whether it is a whole number
//   needed    whether a given Setup must have it; null: it is an optional override
//   read      whether a given Setup reads it; null: where it is needed or optional
// A default is filled in only where the number is needed.
//
// Sources of the defaults marked `published` and `estimate`: the header of the model that reads
// them. Not here: relations between numbers (judge.hpp), text to number (sim/text/units.hpp).
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "models/setup/setup.hpp"

namespace plunge {

enum class Basis { none, published, estimate, common_practice, chosen };

std::string_view to_string(Basis basis);

template <class Owner>
struct Field {
  std::string_view name;
  std::string_view unit;
  std::string_view said;
  double low;
  double high;
  double fallback;
  Basis basis;
  bool whole;
  std::string_view meaning;
  double& (*at)(Owner&);
  bool (*needed)(const Owner&);
  bool (*read)(const Owner&) = nullptr;

  double get(const Owner& owner) const { return at(const_cast<Owner&>(owner)); }
  void set(Owner& owner, double value) const { at(owner) = value; }
};

using Parameter = Field<Setup>;
using FeatureField = Field<Feature>;        // names without a path: "height"; needed: by its kind
using EventField = Field<RideEvent>;        // a field that is not needed must not be given
using ClickField = Field<ClickRow>;         // columns of fork.*.click_table
using SlopeField = Field<SlopeRow>;         // columns of fork.*.low_speed_table, high_speed_table
using SpeedForceField = Field<SpeedForce>;  // columns of fork.*.points

std::span<const Parameter> parameters();
std::span<const FeatureField> feature_fields();
std::span<const EventField> event_fields();
std::span<const ClickField> click_fields();
std::span<const SlopeField> slope_fields();
std::span<const SpeedForceField> speed_force_fields();

// Takes every table of one direction of a damper: its key, what a row of it is, whether the damper
// reads it, its rows and its columns.
template <class Damper, class Take>
void for_each_table(Damper& damper, const Take& take) {
  const bool slopes = damper.kind == DamperKind::slopes;
  take("click_table", "row of the click table", slopes, damper.click_table, click_fields());
  take("low_speed_table", "row of the low-speed table", slopes, damper.low_speed_table,
       slope_fields());
  take("high_speed_table", "row of the high-speed table", slopes, damper.high_speed_table,
       slope_fields());
  take("points", "number of the dynamometer point", damper.kind == DamperKind::points,
       damper.points, speed_force_fields());
}

// The parameter of that dotted name, or null.
const Parameter* find_parameter(std::string_view name);

// Whether anything reads a number of that owner; an optional number counts as read.
template <class Owner>
bool is_read(const Field<Owner>& field, const Owner& owner) {
  if (field.read != nullptr) return field.read(owner);
  return field.needed == nullptr || field.needed(owner);
}

// One word out of a few, in the order of its enum.
struct ChoiceValue {
  std::string_view name;
  std::string_view meaning;
};

template <class Owner>
struct Choice {
  std::string_view name;  // "fork.spring"; "kind" of a feature or an event
  std::string_view meaning;
  std::span<const ChoiceValue> values;
  int (*get)(const Owner&);
  void (*set)(Owner&, int);
  bool (*needed)(const Owner&);
};

std::span<const Choice<Setup>> choices();
std::span<const Choice<Feature>> feature_choices();  // the first is `kind`
std::span<const Choice<RideEvent>> event_choices();  // the first is `kind`

// Which Setups read a number or a word: "an air spring (fork.spring)"; empty: all of them.
std::string_view reader_of(const Parameter& parameter);
std::string_view reader_of(const Choice<Setup>& choice);

// Names of things, which are no numbers: "name", "fork.name".
struct NameField {
  std::string_view key;
  std::string& (*at)(Setup&);
};

std::span<const NameField> name_fields();

// The name or the choice of that dotted name, or null.
const NameField* find_name(std::string_view key);
const Choice<Setup>* find_choice(std::string_view name);

// Every dotted name of a Setup, but those of features, events and what is held.
std::vector<std::string_view> dotted_names();

// The position of a word among the values of a choice, -1: none.
int find_value(std::span<const ChoiceValue> values, std::string_view word);
std::string_view to_string(FeatureKind kind);
std::string_view to_string(EventKind kind);

// Fills every number that is needed, unset and has a default.
void fill_defaults(Setup& setup);
void fill_defaults(Feature& feature);
void fill_defaults(RideEvent& event);

// A Setup that holds the defaults; what must be given is unset.
Setup defaults();

// The candidate that a misspelt word was most likely meant to be, the shortest of equally near
// ones; empty: none is near.
std::string nearest_name(std::string_view word, std::span<const std::string_view> candidates);

// "; did you mean "fork.travel"?", or nothing where no candidate is near. Of dotted names also
// those that end in the word: "clicks" may mean "fork.compression.clicks" or "fork.rebound.clicks".
std::string suggestion(std::string_view word, std::span<const std::string_view> candidates);

// Units of everyday spelling: SI value = number * numerator / denominator + offset. Written as a
// fraction so that "9 cm3" is the double nearest to 9e-6. The units test holds each line equal to
// UDUNITS, which reads every other spelling (sim/text/units.hpp).
struct CommonUnit {
  std::string_view name;
  std::string_view unit;  // the SI unit that it converts to
  double numerator;
  double denominator;
  double offset;

  double to_si(double number) const { return number * numerator / denominator + offset; }
  double from_si(double value) const { return (value - offset) * denominator / numerator; }
};

std::span<const CommonUnit> common_units();
const CommonUnit* find_common_unit(std::string_view name);

// A value in SI as a number of a common unit; the same where the unit is not common.
double in_common_unit(double value, std::string_view said);
std::vector<double> in_common_unit(std::vector<double> values, std::string_view said);

// A value in SI, said in a common unit: say(5e5, "psi") is "72.5189 psi". A unit of "1" is not
// said. Throws std::invalid_argument for a unit that is not common.
std::string say(double value, std::string_view said);

template <class Owner>
std::string say(double value, const Field<Owner>& field) {
  return say(value, field.said);
}

// The range of a field as people read it: "10 mm to 2000 mm".
std::string say_range(double low, double high, std::string_view said);

// True if a value lies in a closed range; NaN does not. A limit that people read is rounded once to
// their unit and once back, so that a value counts as on a limit within that rounding.
bool in_range(double value, double low, double high);

// The limits of a relation as people read them, rounded towards the side that is allowed, so that
// the printed value is taken.
std::string say_at_most(double limit, std::string_view said);
std::string say_at_least(double limit, std::string_view said);

// The tables of scenarios/format.md, in Markdown.
std::string parameter_page();

}  // namespace plunge
