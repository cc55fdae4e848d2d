#include "sim/input/scene_reader.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <optional>

#include "models/setup/parameters.hpp"
#include "sim/input/findings.hpp"
#include "sim/input/knowledge_reader.hpp"
#include "sim/input/overrides.hpp"
#include "sim/input/service_reader.hpp"
#include "sim/input/settle.hpp"
#include "sim/input/table_reader.hpp"
#include "sim/input/terrain_reader.hpp"
#include "sim/input/toml_values.hpp"

namespace plunge {
namespace {

// What is done with a file of another type.
std::string verb_for(const std::string& type) {
  if (type == "plan") return "; a plan is ridden by plunge sweep";
  if (type == "readings") return "; readings are fitted by plunge fit";
  if (type == "brief") return "; a brief is answered by plunge suggest";
  if (type == "fork") return "; a fork is drawn by plunge curve, and named by a scene";
  return "";
}

// A type whose content belongs to a later room.
bool is_read_later(std::string_view type) {
  return type == "plan" || type == "brief" || type == "readings";
}

using Kind = TomlNode::Kind;

// Reads files into a Setup and remembers where each key came from.
class SceneReader {
 public:
  Setup setup;

  explicit SceneReader(const TextFiles& files) : files_(files) {}
  SceneReader(const SceneReader&) = delete;
  SceneReader& operator=(const SceneReader&) = delete;

  // The type of a file by its `type` key; empty: faulty.
  std::string read_any(const std::string& path) {
    const auto file = opened(path);
    if (!file) return {};
    Faults faults;
    const std::string type = read_type(*file, faults);
    found_.add(faults);
    if (!type.empty() && !is_read_later(type)) read_file(*file, type, files_.folder_of(path));
    return type;
  }

  // `named`: where another file names this one.
  void read(const std::string& path, std::string_view type, const Source* named = nullptr) {
    const auto file = opened(path, std::string(type), named);
    if (file) {
      read_as(*file, type, files_.folder_of(path));
    } else {
      found_.leave_unread(std::string(type));
    }
  }

  void read_text(std::string_view text, const std::string& file, const std::string& folder) {
    try {
      read_as(parse_toml(text, file), "scene", folder);
    } catch (const InputError& error) {
      found_.add(error.faults());
      found_.leave_unread("scene");
    }
  }

  // A file in place of the one that the scene, read next, names for a part.
  void exchange(const std::string& part, const std::string& path) { exchange_[part] = path; }

  // A table like a scene's [set].
  void lay_over(const TomlFile& file, const TomlNode& set) {
    if (tables_.demand_table(file, set, "set")) tables_.read_keys(file, set, "");
  }

  void lay_over(const Overrides& overrides) {
    for (const std::string& text : overrides.set) override_with(text);
    if (!overrides.hold.empty()) hold(overrides.hold);
    held_ = overrides.held;
  }

  // Fills in what the files leave out: a fork's family, then the defaults.
  void complete() {
    knowledge_.complete(holds(setup.hold) || held_ == Held::sag);
    fill_defaults(setup);
  }

  const Knowledge& knowledge() const { return knowledge_.knowledge(); }
  const Service& service() const { return service_.service(); }

  // Completes and adds what the judge finds, led back to the files.
  void judge_as(std::string_view type) {
    complete();
    if (found_.is_unread("scene") || found_.is_unread(std::string(type))) return;
    if (type == "fork") found_.add_judged(judge(setup.fork));
    if (type == "bike") found_.add_judged(judge(setup.bike));
    if (type == "rider") found_.add_judged(judge(setup.rider));
    if (type == "terrain") found_.add_judged(judge(setup.terrain));
    if (type == "scene") {
      // A sag that could not be read is held as well.
      const Held held = found_.knows("hold.sag") ? Held::sag : held_;
      found_.add_judged(
          judge_ride(setup, held, found_.none() ? GroundJudge(judge_ground_of) : GroundJudge()));
    }
  }

  void locate(Fault& fault) const { found_.locate(fault); }
  Faults take_faults() { return found_.take_faults(); }
  void throw_faults() { found_.throw_faults(); }

 private:
  // One override of the command line.
  void override_with(const std::string& text) {
    const Place place{"--set", 0, 0};
    try {
      const auto [name, value] = split_setting(text);
      found_.set_source(name, place, value);
      apply_override(setup, text);
    } catch (const InputError& error) {
      for (Fault fault : error.faults()) {
        fault.place = place;
        found_.add(fault);
      }
    }
  }

  void hold(const std::string& text) {
    try {
      setup.hold = parse_hold(text);
      found_.set_source("hold.sag", {"--hold", 0, 0}, text.substr(text.find('=') + 1));
    } catch (const InputError& error) {
      found_.add(error.faults());
    }
  }

  std::optional<TomlFile> opened(const std::string& path, const std::string& key = {},
                                 const Source* named = nullptr) {
    try {
      return parse_toml(text_of(files_, path, key, named), path);
    } catch (const InputError& error) {
      found_.add(error.faults());
      return std::nullopt;
    }
  }

  void read_as(const TomlFile& file, std::string_view type, const std::string& folder) {
    Faults faults;
    const std::string found = read_type(file, faults);
    found_.add(faults);
    if (found != type) {
      if (!found.empty()) {
        found_.blame(
            file, *file.root.find("type"), "type",
            fmt::format("must be \"{}\" here{}", type, type == "scene" ? verb_for(found) : ""));
      }
      found_.leave_unread(std::string(type));
      return;
    }
    read_file(file, type, folder);
  }

  void read_file(const TomlFile& file, std::string_view type, const std::string& folder) {
    const Place whole_file{file.file, 0, 0};
    if (type == "scene") {
      found_.set_source("", whole_file);
      read_scene(file, folder);
    } else if (type == "terrain") {
      found_.set_source("terrain", whole_file);
      terrain_.read_file(file, folder);
    } else {
      found_.set_source(std::string(type), whole_file);
      read_part(file, file.root, std::string(type));
    }
  }

  void read_part(const TomlFile& file, const TomlNode& table, const std::string& part) {
    tables_.read_part(file, table, part + ".");
    if (part == "rider") knowledge_.read_rider(file, table);
    if (part != "fork") return;
    knowledge_.read(file, table);
    service_.read(file, table);
  }

  void read_scene(const TomlFile& file, const std::string& folder) {
    constexpr std::string_view kKeys[] = {"type",    "format", "note",  "name", "fork",
                                          "bike",    "rider",  "ride",  "hold", "terrain",
                                          "ambient", "pumped", "event", "set"};
    tables_.check_note(file, file.root);
    for (const TomlMember& member : file.root.members) {
      const std::string& key = member.key;
      const TomlNode& value = member.value;
      if (tables_.is_heading(key) || key == "set" || key == "hold") continue;
      if (key == "name") {
        tables_.read_name(file, value, "name");
      } else if (key == "fork" || key == "bike" || key == "rider") {
        if (!exchange_.contains(key)) read_file_or_table(file, value, key, folder);
      } else if (key == "terrain") {
        if (value.kind == Kind::text) {
          const Source named{file.place(value), written(value)};
          found_.set_source(key, named.place);
          read(files_.beside(folder, value.text), key, &named);
        } else {
          terrain_.read_features(file, value, folder);
        }
      } else if (key == "ride" || key == "ambient" || key == "pumped") {
        tables_.read_table(file, value, key);
      } else if (key == "event") {
        tables_.read_events(file, value);
      } else {
        tables_.unknown(file, member, key, {std::begin(kKeys), std::end(kKeys)});
      }
    }
    for (const std::string_view part : {"fork", "rider", "terrain"}) {
      if (file.root.find(part) == nullptr && !exchange_.contains(std::string(part))) {
        found_.add({std::string(part),
                    "",
                    fmt::format("must be given: the path of a {} file, or its content", part),
                    {file.file, 0, 0}});
        found_.leave_unread(std::string(part));
      }
    }
    for (const auto& [part, path] : exchange_) read(path, part);
    if (const TomlNode* set = file.root.find("set")) {
      if (tables_.demand_table(file, *set, "set")) tables_.read_keys(file, *set, "");
    }
    if (const TomlNode* hold = file.root.find("hold")) tables_.read_hold(file, *hold);
  }

  void read_file_or_table(const TomlFile& file, const TomlNode& value, const std::string& part,
                          const std::string& folder) {
    if (value.kind == Kind::text) {
      const Source named{file.place(value), written(value)};
      found_.set_source(part, named.place);
      read(files_.beside(folder, value.text), part, &named);
    } else if (value.kind == Kind::table) {
      found_.remember(part, file, value);
      read_part(file, value, part);
    } else {
      found_.blame(
          file, value, part,
          fmt::format("must be the path of a {} file or a table; found {}", part, describe(value)));
      found_.leave_unread(part);
    }
  }

  const TextFiles& files_;
  Findings found_;
  TableReader tables_{setup, found_};
  TerrainReader terrain_{files_, setup, found_, tables_};
  KnowledgeReader knowledge_{setup, found_, tables_};
  ServiceReader service_{found_, tables_};
  std::map<std::string, std::string> exchange_;  // files in place of the scene's own, by part
  Held held_ = Held::nothing;
};

Scene finish(SceneReader& reader, const std::string& path, const Overrides& overrides,
             bool judge_it) {
  reader.lay_over(overrides);
  if (judge_it) {
    reader.judge_as("scene");
  } else {
    reader.complete();
  }
  reader.throw_faults();
  return {std::move(reader.setup), path, reader.knowledge(), reader.service()};
}

}  // namespace

Scene load_scene(const TextFiles& files, const std::string& path, const Overrides& overrides,
                 bool judge_it) {
  SceneReader reader(files);
  reader.read(path, "scene");
  return finish(reader, path, overrides, judge_it);
}

Scene parse_scene(const TextFiles& files, std::string_view text, const std::string& file,
                  const std::string& folder, const Overrides& overrides, bool judge_it) {
  SceneReader reader(files);
  reader.read_text(text, file, folder);
  return finish(reader, file, overrides, judge_it);
}

Scene load_fork_file(const TextFiles& files, const std::string& path) {
  SceneReader reader(files);
  reader.read(path, "fork");
  reader.complete();
  reader.throw_faults();
  return {std::move(reader.setup), path, reader.knowledge(), reader.service()};
}

Scene load_fork_scene(const TextFiles& files, const std::string& fork, const std::string& rider,
                      const Overrides& overrides) {
  SceneReader reader(files);
  Setup& setup = reader.setup;
  Feature flat;
  flat.length = 1.0;
  setup.terrain = {flat};
  setup.ride.speed = 5.0;  // nothing is ridden
  reader.read(fork, "fork");
  setup.name = setup.fork.name;
  if (rider.empty()) {
    setup.rider.mass = 80.0;
  } else {
    reader.read(rider, "rider");
  }
  reader.lay_over(overrides);
  reader.judge_as("fork");
  if (!rider.empty()) reader.judge_as("rider");
  reader.throw_faults();
  return {std::move(setup), fork, reader.knowledge(), reader.service()};
}

bool is_scene(const TextFiles& files, const std::string& path) {
  const TomlFile file = parse_toml(files.read(path), path);
  const TomlNode* type = file.root.find("type");
  return type != nullptr && type->text == "scene";
}

OverlaidScene load_scene(const TextFiles& files, const std::string& path, const Overlay& overlay) {
  const auto reader = std::make_shared<SceneReader>(files);
  for (const auto& [part, file] : overlay.files) reader->exchange(part, file);
  reader->read(path, "scene");
  if (overlay.set != nullptr) reader->lay_over(*overlay.file, *overlay.set);
  reader->complete();
  reader->throw_faults();
  return {{reader->setup, path, reader->knowledge(), reader->service()},
          [reader](Fault& fault) { reader->locate(fault); }};
}

Setup load_part(const TextFiles& files, const std::string& path, std::string_view type,
                const Overrides& overrides, bool judge_it) {
  SceneReader reader(files);
  reader.read(path, type);
  reader.lay_over(overrides);
  if (judge_it) {
    reader.judge_as(type);
  } else {
    reader.complete();
  }
  reader.throw_faults();
  return std::move(reader.setup);
}

std::string check_part(const TextFiles& files, const std::string& path, Faults& faults) {
  SceneReader reader(files);
  std::string type = reader.read_any(path);
  if (!type.empty() && !is_read_later(type)) reader.judge_as(type);
  faults = reader.take_faults();
  return type;
}

}  // namespace plunge
