// What the command line, or whoever calls the library, lays over the numbers of the files.
//
//   --set   "fork.spacers=2", "fork.spring=coil", "hold.sag=22%"
//   --vary  "fork.spacers=0..4", "fork.pressure=60psi..90psi:5psi", "ride.speed=5 m/s,7 m/s"
//   --hold  "sag=22%", "sag=35mm"
// Throws InputError whose faults name the option in place of a file.
// Not here: whether a Setup can be ridden (settle.hpp).
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "models/setup/knob.hpp"
#include "models/setup/setup.hpp"

namespace plunge {

// "name=value" in its parts.
struct Assignment {
  std::string name;
  std::string value;
};

Assignment split_setting(std::string_view text);    // of --set
Assignment split_variation(std::string_view text);  // of --vary

// "name=value" on a Setup; does not judge.
void apply_override(Setup& setup, std::string_view text);

// Why nothing reads what a dotted name sets: a number or a word that this Setup has no use for.
// Empty: it is read. Throws InputError for a name that the Setup does not have.
std::string unread_rule(const Setup& setup, std::string_view name);

// What --vary asks for: one number and the values that it takes.
struct Variation {
  Knob knob;
  std::vector<double> values;  // SI
};

inline constexpr int kMostVariants = 10'000;  // of one variation, chosen

// A range of whole numbers steps by 1 where no step is given; other ranges need a step. Both ends
// and the step are in one unit, and the range ends on a step. `setup` is what the name is sought
// in. Values outside the allowed range are refused.
Variation parse_variation(std::string_view text, const Setup& setup);

// What stands behind the "=": the values of a range or a list. Does not look at the allowed range.
std::vector<double> parse_values(std::string_view text, const Knob& knob);

// The knob of that name: for a sag that of its unit, by the first of the values.
Knob knob_for_values(const Setup& setup, std::string_view name, std::string_view values);

// "-8deg": a slope angle, within what a flat may have [rad]; `option` stands in the message.
double parse_grade(std::string_view text, const std::string& option);

// "sag=22%" or "sag=35mm". Does not look at the allowed range.
HoldSetup parse_hold(std::string_view text);

}  // namespace plunge
