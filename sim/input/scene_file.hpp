// Scene, fork, bike, rider and terrain files, and what the command line sets on top of them.
//
// scenarios/format.md is the format's page. In short: TOML that says `type` and `format`; a scene
// names its fork, bike, rider and terrain as files beside it or holds the same content itself, and
// adds [ride], [ambient], [pumped], [[event]], [set] and [hold]. Later says win: files, [set],
// --set. Defaults come from the parameter table. Numbers are SI once they are in a Setup.
//
// Keys are the dotted names of the parameter table; "terrain[0].height" and "event[0].at" are the
// numbers of features and events, counted from 0.
//
// Every fault of a file and of the files that it names is collected, each with file, line, column,
// key, value as written and rule. What the judge finds is led back to the value that set the key;
// a key that is missing, to the table or file where it should be. A fault of --set or --vary names
// that option in place of a file. Throws InputError, RunError only as sim/text/units.hpp does.
#pragma once

#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "models/setup/setup.hpp"
#include "sim/text/toml_file.hpp"

namespace plunge {

// The format of the files. A reader takes any minor version of its own major version.
inline constexpr int kSceneFormatMajor = 1;
inline constexpr int kSceneFormatMinor = 0;

struct Scene {
  Setup setup;
  double hold_sag = kUnset;  // share of the travel to hold; unset: the pressure is as given
  std::string path;          // of the file
};

// overrides: "fork.spacers=2", as --set gives them; also "hold.sag=22%". judge_it = false leaves
// out ranges and relations, not the faults of the file itself.
Scene load_scene(const std::string& path, const std::vector<std::string>& overrides = {},
                 bool judge_it = true);

// The same from text; files that it names are sought in `folder`.
Scene parse_scene(std::string_view text, const std::string& file, const std::string& folder = ".",
                  const std::vector<std::string>& overrides = {}, bool judge_it = true);

// What a plan lays over a scene.
struct Overlay {
  std::map<std::string, std::string> files;  // by "fork", "bike", "rider": in place of its own
  const TomlFile* file = nullptr;            // of `set`
  const TomlNode* set = nullptr;             // a table like a scene's [set], on top of it; or null
};

struct OverlaidScene {
  Scene scene;                         // not judged
  std::function<void(Fault&)> locate;  // leads what a judge finds back to the value that set it
};

OverlaidScene load_scene(const std::string& path, const Overlay& overlay);

// A fork, bike, rider or terrain file alone, with its defaults.
ForkSetup load_fork(const std::string& path, const std::vector<std::string>& overrides = {},
                    bool judge_it = true);
BikeSetup load_bike(const std::string& path);
RiderSetup load_rider(const std::string& path);
std::vector<Feature> load_terrain(const std::string& path);

// The type of any file of plunge's, with every fault of one that is not a plan; empty: unknown.
std::string check_part(const std::string& path, Faults& faults);

// One self-contained scene, everything in it, in SI units and shortest decimals: parse_scene()
// gives back the same Setup bit for bit, if the Setup passes judge() and judge_ground().
std::string to_scene_text(const Setup& setup, double hold_sag = kUnset);

// "name=value" on a Setup; does not judge.
void apply_override(Setup& setup, std::string_view text);

// One number of a Setup found by its dotted name.
struct Slot {
  std::string name;
  std::string_view unit;  // SI
  std::string_view said;
  std::string_view meaning;
  bool whole = false;
  double* value = nullptr;  // in the Setup that was searched
};

// Throws InputError for a name that the Setup does not have, with the nearest that it has.
Slot find_slot(Setup& setup, std::string_view name);

// What --vary asks for: one number and the values that it takes.
struct Variation {
  std::string name;
  std::string_view unit;
  std::string_view said;
  std::string_view meaning;
  const Parameter* parameter = nullptr;  // null: a number of a feature or an event
  std::vector<double> values;            // SI
};

inline constexpr int kMostVariants = 10'000;  // of one variation, chosen

// "fork.spacers=0..4", "fork.pressure=60psi..90psi:5psi", "ride.speed=5 m/s,7 m/s". A range of
// whole numbers steps by 1 where no step is given; other ranges need a step. Both ends and the
// step are in one unit; the far end is included where the steps reach it. `setup` is what the
// name is sought in. Values outside the allowed range are refused.
Variation parse_variation(std::string_view text, const Setup& setup);

// Puts the k-th value of a variation into a Setup.
void apply_variation(Setup& setup, const Variation& variation, std::size_t k);

// What stands behind the "=": the values of a range or a list. Does not look at the allowed range.
std::vector<double> parse_values(std::string_view text, const Slot& slot);

// "sag=22%", as --hold gives it: the share of the travel.
double parse_hold(std::string_view text);

// Pieces for readers of other files (plan_file.hpp). Faults are added to the list given.

// The `type` of a file, with its format checked; empty after a fault.
std::string read_type(const TomlFile& file, Faults& faults);

struct NumberRule {
  std::string_view unit;  // SI
  bool whole = false;     // a whole number, without a unit
};

// A number with its unit, in SI; false after a fault, the number is then left alone.
bool read_number(const TomlFile& file, const TomlNode& value, const std::string& key,
                 const NumberRule& rule, double& number, Faults& faults);

// A value as messages show it, cut where it is long; empty for tables and lists.
std::string written(const TomlNode& node);

void blame(const TomlFile& file, const TomlNode& node, std::string key, std::string rule,
           Faults& faults);

// "; did you mean "fork.travel"?", or nothing where no candidate is near.
std::string suggestion(std::string_view word, const std::vector<std::string_view>& candidates);

}  // namespace plunge
