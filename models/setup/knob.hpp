// A knob: one number of a Setup, found by its dotted name.
//
//   "fork.spacers"        a line of the parameter table
//   "terrain[2].height"   a number of a feature, counted from 0
//   "event[0].at"         a number of an event
//   "hold.sag"            the sag to hold, as a share of the travel or as a length
// --set, --vary, --hold, the axes and samples of plans and whatever else turns a number by its name
// do so through a Knob, so that all of them know the same names, units, ranges and rules.
//
// A knob stays good for every Setup with the same kinds of features and events in the same order.
// It stands in models/setup beside the table that it is made from: whoever has a Setup can turn it,
// without a file or a text.
// Not here: text to number (sim/input/overrides.hpp), relations between numbers (judge.hpp).
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

#include "models/setup/parameters.hpp"
#include "models/setup/setup.hpp"

namespace plunge {

// How a number is spoken of.
struct KnobLabel {
  std::string name;     // "fork.spacers"
  std::string unit;     // SI, UDUNITS spelling
  std::string said;     // unit in which people say it
  std::string meaning;  // one line
};

class Knob : public KnobLabel {
 public:
  bool whole = false;  // a whole number
  double low = kUnset;
  double high = kUnset;  // the closed range outside of which it is refused [SI]

  double get(const Setup& setup) const;
  void put(Setup& setup, double value) const;

  // Whether anything reads the number of this Setup; an optional number counts as read.
  bool is_read(const Setup& setup) const;
  // What would make it read: "nothing reads it: it belongs to an air spring (...)".
  std::string unread_rule(const Setup& setup) const;

  // Whether the path of the wheel's centre follows from it (keys.hpp).
  bool shapes_ground() const;
  // Whether it says what is held, which is solved for and no number of the ride itself.
  bool holds_sag() const;

 private:
  friend std::optional<Knob> knob_or_none(const Setup& setup, std::string_view name);
  friend Knob sag_knob();
  friend Knob sag_length_knob();

  const Parameter* parameter_ = nullptr;
  const FeatureField* feature_ = nullptr;
  const EventField* event_ = nullptr;
  std::size_t index_ = 0;              // of the feature or event
  double HoldSetup::*hold_ = nullptr;  // of a sag
};

// None for a name that no Setup has. Throws InputError for a feature or event that is not there.
std::optional<Knob> knob_or_none(const Setup& setup, std::string_view name);

// Throws InputError for a name that the Setup does not have, with the nearest that it has.
Knob find_knob(const Setup& setup, std::string_view name);

// "hold.sag" as a share of the travel, and as a length.
Knob sag_knob();
Knob sag_length_knob();

// Whether a sag is to be held.
bool holds(const HoldSetup& hold);

}  // namespace plunge
