// Scene, fork, bike, rider and terrain files, wherever their texts are, and what is laid over them.
//
// scenarios/format.md is the format's page. In short: TOML that says `type` and `format`; a scene
// names its fork, bike, rider and terrain as files beside it or holds the same content itself, and
// adds [ride], [ambient], [pumped], [[event]], [set] and [hold]. Later says win: files, [set],
// --set, --hold. What is then missing of a fork that names its family comes from there
// (knowledge_reader.hpp), other defaults from the parameter table. Numbers are SI once they are in
// a Setup.
//
// Keys are the dotted names of the parameter table; "terrain[0].height" and "event[0].at" are the
// numbers of features and events, counted from 0.
//
// Every fault of a file and of the files that it names is collected, each with file, line, column,
// key, value as written and rule. What the judge finds is led back to the value that set the key;
// a key that is missing, to the table or file where it should be. A fault of --set or --hold names
// that option in place of a file. Throws InputError, RunError only as sim/text/units.hpp does.
// Not here: files of the disk (sim/disk/disk_files.hpp), variations and the hold itself
// (sim/ride/ready.hpp).
#pragma once

#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "models/setup/fault.hpp"
#include "models/setup/judge.hpp"
#include "models/setup/knowledge.hpp"
#include "models/setup/setup.hpp"
#include "sim/input/service.hpp"
#include "sim/text/text_files.hpp"
#include "sim/text/toml_file.hpp"

namespace plunge {

struct Scene {
  Setup setup;               // setup.hold: the sag that is still to be held
  std::string path;          // of the file
  Knowledge knowledge = {};  // how well the fork's numbers are known
  Service service = {};      // what its file says of working on it
};

// What the command line lays over a file.
struct Overrides {
  std::vector<std::string> set;  // "fork.spacers=2", "hold.sag=22%", as --set gives them
  std::string hold;              // "sag=22%", as --hold gives it; empty: as the file and `set` say
  Held held = Held::nothing;     // sag: one that is not known yet will be held
};

// judge_it = false leaves out ranges and relations, not the faults of the file itself.
Scene load_scene(const TextFiles& files, const std::string& path, const Overrides& overrides,
                 bool judge_it = true);

// The same from text; files that it names are sought in `folder`.
Scene parse_scene(const TextFiles& files, std::string_view text, const std::string& file,
                  const std::string& folder, const Overrides& overrides, bool judge_it = true);

// A fork's file alone, not judged: its numbers, what is known of them, and its service.
Scene load_fork_file(const TextFiles& files, const std::string& path);

// A fork alone, on level ground and under a rider (empty: of 80 kg).
Scene load_fork_scene(const TextFiles& files, const std::string& fork, const std::string& rider,
                      const Overrides& overrides);

// Whether a file says that it is a scene; other types and faults are for the loaders.
bool is_scene(const TextFiles& files, const std::string& path);

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

OverlaidScene load_scene(const TextFiles& files, const std::string& path, const Overlay& overlay);

// The one part of a Setup that a file of that type fills, with its defaults.
Setup load_part(const TextFiles& files, const std::string& path, std::string_view type,
                const Overrides& overrides = {}, bool judge_it = true);

// The type of any file of plunge's, with every fault of one that is no plan or brief; empty:
// unknown.
std::string check_part(const TextFiles& files, const std::string& path, Faults& faults);

}  // namespace plunge
