// Values of plunge's TOML files: numbers with their units, the heading, words in messages.
//
// A fault has the place of the value, the key, the value as written and the rule. Faults are added
// to the list given, so that a reader goes on and finds the others.
// Not here: which keys there are (table_reader.hpp, scene_reader.hpp, sim/sweep/plan_reader.hpp).
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "sim/text/toml_file.hpp"

namespace plunge {

// The format of the files. A reader takes any minor version of its own major version.
inline constexpr int kSceneFormatMajor = 1;
inline constexpr int kSceneFormatMinor = 5;

// The `type` of a file, with its format checked; empty after a fault.
std::string read_type(const TomlFile& file, Faults& faults);

struct NumberRule {
  std::string_view unit;  // SI
  bool whole = false;     // a whole number, without a unit
};

// Text such as "72 psi" or "2" to SI; throws InputError without a key.
double number_from_text(std::string_view text, const NumberRule& rule);

// A number with its unit, in SI; false after a fault, the number is then left alone.
bool read_number(const TomlFile& file, const TomlNode& value, const std::string& key,
                 const NumberRule& rule, double& number, Faults& faults);

// The sag to hold: "22 %" or 0.22, a share of the travel, or "35 mm". Throws InputError without a
// key.
HoldSetup sag_from_text(std::string_view text);
bool read_sag(const TomlFile& file, const TomlNode& value, const std::string& key, HoldSetup& hold,
              Faults& faults);

// The displacement spectrum that "class A" to "class H" name [m3]: ISO 8608, geometric means.
std::optional<double> roughness_class(std::string_view text);

// A value as messages show it, cut where it is long; empty for tables and lists.
std::string written(const TomlNode& node);

void blame(const TomlFile& file, const TomlNode& node, std::string key, std::string rule,
           Faults& faults);

// "must be one of ..." for a word that is not among the values of a choice.
std::string word_rule(std::span<const ChoiceValue> values, std::string_view word);
std::vector<std::string_view> names_of(std::span<const ChoiceValue> values);

}  // namespace plunge
