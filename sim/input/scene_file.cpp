#include "sim/input/scene_file.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <filesystem>
#include <map>
#include <memory>
#include <optional>
#include <set>

#include "models/setup/judge.hpp"
#include "sim/disk/text_file.hpp"
#include "sim/ground/terrain.hpp"
#include "sim/input/profile_file.hpp"
#include "sim/text/toml_file.hpp"
#include "sim/text/units.hpp"

namespace plunge {
namespace {

using Kind = TomlNode::Kind;

constexpr std::string_view kFileTypes[] = {"fork", "bike", "rider", "terrain", "scene", "plan"};

// Names of things, which are no numbers.
struct NameField {
  std::string_view key;
  std::string& (*at)(Setup&);
};

constexpr NameField kNames[] = {
    {"name", [](Setup& s) -> std::string& { return s.name; }},
    {"fork.name", [](Setup& s) -> std::string& { return s.fork.name; }},
    {"bike.name", [](Setup& s) -> std::string& { return s.bike.name; }},
    {"rider.name", [](Setup& s) -> std::string& { return s.rider.name; }},
};

const NameField* find_name(std::string_view key) {
  const auto found = std::ranges::find(kNames, key, &NameField::key);
  return found == std::end(kNames) ? nullptr : found;
}

const Choice<Setup>* find_choice(std::string_view key) {
  const auto found = std::ranges::find(choices(), key, &Choice<Setup>::name);
  return found == choices().end() ? nullptr : &*found;
}

DamperSetup* find_damper(Setup& setup, std::string_view key) {
  if (key == "fork.compression") return &setup.fork.compression;
  if (key == "fork.rebound") return &setup.fork.rebound;
  return nullptr;
}

template <class Range>
std::string words_of(const Range& values) {
  std::string text;
  for (const auto& value : values) {
    if (!text.empty()) text += ", ";
    text += fmt::format("\"{}\"", value);
  }
  return text;
}

std::vector<std::string_view> names_of(std::span<const ChoiceValue> values) {
  std::vector<std::string_view> names;
  for (const ChoiceValue& value : values) names.push_back(value.name);
  return names;
}

std::string word_rule(std::span<const ChoiceValue> values, std::string_view word) {
  const auto names = names_of(values);
  return fmt::format("must be one of {}{}", words_of(names), suggestion(word, names));
}

// Every dotted name that --set and [set] take, but those of features and events.
std::vector<std::string_view> all_names() {
  std::vector<std::string_view> names;
  for (const Parameter& parameter : parameters()) names.push_back(parameter.name);
  for (const auto& choice : choices()) names.push_back(choice.name);
  for (const NameField& name : kNames) names.push_back(name.key);
  return names;
}

std::string trimmed(std::string_view text) {
  constexpr std::string_view kBlank = " \t\r\n";
  const std::size_t first = text.find_first_not_of(kBlank);
  if (first == std::string_view::npos) return {};
  return std::string(text.substr(first, text.find_last_not_of(kBlank) - first + 1));
}

// Text such as "72 psi" or "2" to SI; throws InputError without a key.
double number_from_text(std::string_view text, const NumberRule& rule) {
  if (!rule.whole) return to_si(text, rule.unit);
  Quantity quantity;
  try {
    quantity = split_quantity(text);
  } catch (const InputError&) {
    quantity.unit = "?";
  }
  if (!quantity.unit.empty() || !(quantity.number == std::floor(quantity.number))) {
    throw InputError(Fault{"", fmt::format("\"{}\"", text), "needs a whole number", {}});
  }
  return quantity.number;
}

// The displacement spectrum that "class A" to "class H" name [m3]: ISO 8608, geometric means.
std::optional<double> roughness_class(std::string_view text) {
  if (text.size() != 7 || !text.starts_with("class ")) return std::nullopt;
  const int step = text.back() - 'A';
  if (step < 0 || step > 7) return std::nullopt;
  return 16e-6 * std::pow(4.0, step);
}

// "terrain[2].height" in its parts.
struct ListKey {
  std::string_view list;
  std::size_t index = 0;
  std::string_view field;
};

std::optional<ListKey> split_list_key(std::string_view name) {
  const std::size_t open = name.find('[');
  const std::size_t shut = name.find("].");
  if (open == std::string_view::npos || shut == std::string_view::npos || shut < open) {
    return std::nullopt;
  }
  ListKey key{name.substr(0, open), 0, name.substr(shut + 2)};
  const char* end = name.data() + shut;
  const auto [last, error] = std::from_chars(name.data() + open + 1, end, key.index);
  if (error != std::errc{} || last != end) return std::nullopt;
  return key;
}

template <class Owner>
std::optional<Slot> slot_in(std::vector<Owner>& owners, std::span<const Field<Owner>> fields,
                            const ListKey& key, std::string_view name) {
  if (key.index >= owners.size()) {
    throw InputError(Fault{std::string(name),
                           "",
                           owners.empty() ? fmt::format("is not there: no {} is given", key.list)
                                          : fmt::format("is not there: {}[0] to {}[{}] are",
                                                        key.list, key.list, owners.size() - 1),
                           {}});
  }
  const auto field = std::ranges::find(fields, key.field, &Field<Owner>::name);
  if (field == fields.end()) return std::nullopt;
  return Slot{std::string(name), field->unit,  field->said,
              field->meaning,    field->whole, &field->at(owners[key.index])};
}

std::optional<Slot> slot_or_none(Setup& setup, std::string_view name) {
  if (const Parameter* parameter = find_parameter(name)) {
    return Slot{std::string(name),  parameter->unit,  parameter->said,
                parameter->meaning, parameter->whole, &parameter->at(setup)};
  }
  if (const auto key = split_list_key(name)) {
    if (key->list == "terrain") return slot_in(setup.terrain, feature_fields(), *key, name);
    if (key->list == "event") return slot_in(setup.events, event_fields(), *key, name);
  }
  return std::nullopt;
}

[[noreturn]] void refuse_name(std::string_view name) {
  std::vector<std::string_view> names = all_names();
  throw InputError(Fault{std::string(name), "", "is no known name" + suggestion(name, names), {}});
}

// "name=value" in its parts; `option` names the command line's option in faults.
std::pair<std::string, std::string> split_assignment(std::string_view text, const char* option,
                                                     const char* example) {
  const std::size_t sign = text.find('=');
  if (sign == std::string_view::npos || trimmed(text.substr(0, sign)).empty()) {
    throw InputError(Fault{"",
                           fmt::format("\"{}\"", text),
                           fmt::format("must be name=value, such as {}", example),
                           {option, 0, 0}});
  }
  return {trimmed(text.substr(0, sign)), trimmed(text.substr(sign + 1))};
}

}  // namespace

std::string suggestion(std::string_view word, const std::vector<std::string_view>& candidates) {
  const std::string nearest = nearest_name(word, candidates);
  return nearest.empty() ? std::string{} : fmt::format("; did you mean \"{}\"?", nearest);
}

std::string written(const TomlNode& node) {
  constexpr std::size_t kLongest = 80;
  if (node.kind == Kind::table || node.kind == Kind::array) return {};
  if (node.kind != Kind::text) return node.text;
  std::string text = toml_quoted(node.text);
  if (text.size() <= kLongest) return text;
  std::size_t cut = kLongest;
  while (cut > 0 && (static_cast<unsigned char>(text[cut]) & 0xC0U) == 0x80U) --cut;
  return text.substr(0, cut) + "...";
}

void blame(const TomlFile& file, const TomlNode& node, std::string key, std::string rule,
           Faults& faults) {
  faults.push_back({std::move(key), written(node), std::move(rule), file.place(node)});
}

bool read_number(const TomlFile& file, const TomlNode& value, const std::string& key,
                 const NumberRule& rule, double& number, Faults& faults) {
  const std::string needs = rule.whole ? std::string("a whole number") : needed_quantity(rule.unit);
  const auto refuse = [&](std::string broken) {
    blame(file, value, key, std::move(broken), faults);
    return false;
  };
  if (value.kind == Kind::text) {
    try {
      number = number_from_text(value.text, rule);
      return true;
    } catch (const InputError& error) {
      return refuse(error.faults().front().rule);
    }
  }
  if (value.kind != Kind::whole && value.kind != Kind::real) {
    return refuse(fmt::format("needs {}; found {}", needs, describe(value)));
  }
  if (rule.unit != "1") return refuse(fmt::format("needs {}; a bare number has no unit", needs));
  if (!std::isfinite(value.number)) return refuse("must be finite");
  if (rule.whole && !(value.number == std::floor(value.number))) return refuse("needs " + needs);
  number = value.number;
  return true;
}

namespace {

void check_format(const TomlFile& file, Faults& faults) {
  const TomlNode* format = file.root.find("format");
  if (format == nullptr) {
    faults.push_back(
        {"format",
         "",
         fmt::format("must be given: format = [{}, {}]", kSceneFormatMajor, kSceneFormatMinor),
         {file.file, 0, 0}});
    return;
  }
  const bool two = format->kind == Kind::array && format->items.size() == 2 &&
                   std::ranges::all_of(format->items, [](const TomlNode& item) {
                     return item.kind == Kind::whole && item.number >= 0.0;
                   });
  if (!two) {
    blame(file, *format, "format",
          fmt::format("must be two whole numbers, [{}, {}]; found {}", kSceneFormatMajor,
                      kSceneFormatMinor, describe(*format)),
          faults);
  } else if (format->items[0].number != kSceneFormatMajor) {
    faults.push_back(
        {"format", fmt::format("[{}, {}]", format->items[0].text, format->items[1].text),
         fmt::format("must have major version {}; this program reads no other", kSceneFormatMajor),
         file.place(*format)});
  }
}

}  // namespace

std::string read_type(const TomlFile& file, Faults& faults) {
  const TomlNode* type = file.root.find("type");
  const std::size_t before = faults.size();
  if (type == nullptr) {
    faults.push_back({"type",
                      "",
                      fmt::format("must be given: one of {}", words_of(kFileTypes)),
                      {file.file, 0, 0}});
  } else if (type->kind != Kind::text ||
             std::ranges::find(kFileTypes, type->text) == std::end(kFileTypes)) {
    blame(file, *type, "type",
          fmt::format("must be one of {}{}", words_of(kFileTypes),
                      type->kind == Kind::text
                          ? suggestion(type->text, {std::begin(kFileTypes), std::end(kFileTypes)})
                          : "; found " + describe(*type)),
          faults);
  }
  check_format(file, faults);
  return faults.size() == before ? type->text : std::string{};
}

namespace {

// Where a key was set, and the value as written there.
struct Origin {
  Place place;
  std::string written;
};

// Reads files into a Setup and remembers where each key came from.
class Loader {
 public:
  Setup setup;
  double hold_sag = kUnset;

  // The type of a file by its `type` key; empty: faulty.
  std::string read_any(const std::string& path) {
    const auto file = opened(path);
    if (!file) return {};
    const std::string type = read_type(*file, faults_);
    if (!type.empty() && type != "plan") read_file(*file, type, folder_of(path));
    return type;
  }

  // `named`: where another file names this one.
  void read(const std::string& path, std::string_view type, const Origin* named = nullptr) {
    const auto file = opened(path, std::string(type), named);
    if (file) read_as(*file, type, folder_of(path));
    if (!file) unread_.insert(std::string(type));
  }

  void read_text(std::string_view text, const std::string& file, const std::string& folder) {
    try {
      read_as(parse_toml(text, file), "scene", folder);
    } catch (const InputError& error) {
      add(error.faults());
      unread_.insert("scene");
    }
  }

  // A file in place of the one that the scene, read next, names for a part.
  void exchange(const std::string& part, const std::string& path) { exchange_[part] = path; }

  // A table like a scene's [set].
  void lay_over(const TomlFile& file, const TomlNode& set) {
    if (demand_table(file, set, "set")) read_keys(file, set, "");
  }

  // One override of the command line; `prefix` is what a name may leave out.
  void override_with(const std::string& text) {
    const Place place{"--set", 0, 0};
    try {
      const auto [name, value] = split_assignment(text, "--set", "fork.spacers=2");
      if (name == "hold.sag") {
        set_hold(value, place);
        return;
      }
      origins_[name] = {place, value};
      apply_override(setup, text);
    } catch (const InputError& error) {
      for (Fault fault : error.faults()) {
        fault.place = place;
        add(fault);
      }
    }
  }

  // Fills the defaults and adds what the judge finds, led back to the files.
  void judge_as(std::string_view type) {
    fill_defaults(setup);
    if (unread_.contains("scene") || unread_.contains(std::string(type))) return;
    if (type == "fork") add_judged(judge(setup.fork));
    if (type == "bike") add_judged(judge(setup.bike));
    if (type == "rider") add_judged(judge(setup.rider));
    if (type == "terrain") add_judged(judge(setup.terrain));
    if (type == "scene") {
      const bool held = origins_.contains("hold.sag");
      if (held) add_judged(judge_hold(hold_sag));
      add_judged(judge(setup, held ? Held::sag : Held::nothing));
      if (faults_.empty()) add_judged(judge_ground(setup.terrain, setup.bike));
    }
  }

  // The place of a key, or of the nearest table, list or file around it.
  void locate(Fault& fault) const {
    std::string key = fault.key;
    if (const auto found = origins_.find(key); found != origins_.end()) {
      fault.place = found->second.place;
      if (!found->second.written.empty()) fault.value = found->second.written;
      return;
    }
    while (!key.empty()) {
      const std::size_t cut = key.find_last_of(".[");
      key.resize(cut == std::string::npos ? 0 : cut);
      if (const auto found = origins_.find(key); found != origins_.end()) {
        fault.place = found->second.place;
        return;
      }
    }
  }

  Faults take_faults() { return std::move(faults_); }

  void throw_faults() {
    if (!faults_.empty()) throw InputError(std::move(faults_));
  }

 private:
  static std::string folder_of(const std::string& path) {
    return std::filesystem::path(path).parent_path().string();
  }

  static std::string beside(const std::string& folder, const std::string& path) {
    return (std::filesystem::path(folder) / path).lexically_normal().string();
  }

  void add(Fault fault) {
    if (fault.key.ends_with(".roughness")) fault.rule += ", or \"class A\" to \"class H\"";
    faults_.push_back(std::move(fault));
  }
  void add(const Faults& faults) {
    for (const Fault& fault : faults) add(fault);
  }

  // Faults of the judge on keys that are free of faults so far, with their places.
  void add_judged(const Faults& faults) {
    std::set<std::string> faulty;
    for (const Fault& fault : faults_) faulty.insert(fault.key);
    for (Fault fault : faults) {
      if (faulty.contains(fault.key) || in_unread_part(fault.key)) continue;
      locate(fault);
      add(std::move(fault));
    }
  }

  bool in_unread_part(std::string_view key) const {
    return std::ranges::any_of(unread_, [&](const std::string& part) {
      return key == part || key.starts_with(part + ".") || key.starts_with(part + "[");
    });
  }

  // The text of a file. One that cannot be read at all is a fault of the value that names it.
  static std::string text_of(const std::string& path, const std::string& key, const Origin* named) {
    try {
      return read_text_file(path);
    } catch (const InputError& error) {
      Fault fault = error.faults().front();
      if (named == nullptr || fault.place.line > 0) throw;
      throw InputError(Fault{key, named->written, path + " " + fault.rule, named->place});
    }
  }

  std::optional<TomlFile> opened(const std::string& path, const std::string& key = {},
                                 const Origin* named = nullptr) {
    try {
      return parse_toml(text_of(path, key, named), path);
    } catch (const InputError& error) {
      add(error.faults());
      return std::nullopt;
    }
  }

  void blame(const TomlFile& file, const TomlNode& node, std::string key, std::string rule) {
    add({std::move(key), written(node), std::move(rule), file.place(node)});
  }

  void remember(const std::string& key, const TomlFile& file, const TomlNode& node) {
    origins_[key] = {file.place(node), written(node)};
  }

  void read_as(const TomlFile& file, std::string_view type, const std::string& folder) {
    const std::string found = read_type(file, faults_);
    if (found != type) {
      if (!found.empty()) {
        blame(file, *file.root.find("type"), "type", fmt::format("must be \"{}\" here", type));
      }
      unread_.insert(std::string(type));
      return;
    }
    read_file(file, type, folder);
  }

  void read_file(const TomlFile& file, std::string_view type, const std::string& folder) {
    const Origin whole_file{{file.file, 0, 0}, {}};
    if (type == "scene") {
      origins_[""] = whole_file;
      read_scene(file, folder);
    } else if (type == "terrain") {
      origins_["terrain"] = whole_file;
      read_terrain_file(file, folder);
    } else {
      origins_[std::string(type)] = whole_file;
      read_part(file, file.root, std::string(type) + ".");
    }
  }

  static bool is_heading(std::string_view key) {
    return key == "type" || key == "format" || key == "note";
  }

  // `note` is free text; type and format have been read.
  void check_note(const TomlFile& file, const TomlNode& table) {
    const TomlNode* note = table.find("note");
    if (note != nullptr && note->kind != Kind::text) {
      blame(file, *note, "note", "must be text; found " + describe(*note));
    }
  }

  void unknown(const TomlFile& file, const TomlMember& member, const std::string& key,
               const std::vector<std::string_view>& candidates) {
    add({key,
         written(member.value),
         "is no known key" + suggestion(member.key, candidates),
         {file.file, member.line, member.column}});
  }

  void read_scene(const TomlFile& file, const std::string& folder) {
    constexpr std::string_view kKeys[] = {"type",    "format", "note",  "name", "fork",
                                          "bike",    "rider",  "ride",  "hold", "terrain",
                                          "ambient", "pumped", "event", "set"};
    check_note(file, file.root);
    for (const TomlMember& member : file.root.members) {
      const std::string& key = member.key;
      const TomlNode& value = member.value;
      if (is_heading(key) || key == "set" || key == "hold") continue;
      if (key == "name") {
        read_name(file, value, "name");
      } else if (key == "fork" || key == "bike" || key == "rider") {
        if (!exchange_.contains(key)) read_file_or_table(file, value, key, folder);
      } else if (key == "terrain") {
        if (value.kind == Kind::text) {
          const Origin named{file.place(value), written(value)};
          origins_[key] = {named.place, ""};
          read(beside(folder, value.text), key, &named);
        } else {
          read_features(file, value, folder);
        }
      } else if (key == "ride" || key == "ambient" || key == "pumped") {
        read_table(file, value, key);
      } else if (key == "event") {
        read_events(file, value);
      } else {
        unknown(file, member, key, {std::begin(kKeys), std::end(kKeys)});
      }
    }
    for (const std::string_view part : {"fork", "rider", "terrain"}) {
      if (file.root.find(part) == nullptr && !exchange_.contains(std::string(part))) {
        add({std::string(part),
             "",
             fmt::format("must be given: the path of a {} file, or its content", part),
             {file.file, 0, 0}});
        unread_.insert(std::string(part));
      }
    }
    for (const auto& [part, path] : exchange_) read(path, part);
    if (const TomlNode* set = file.root.find("set")) {
      if (demand_table(file, *set, "set")) read_keys(file, *set, "");
    }
    if (const TomlNode* hold = file.root.find("hold")) read_hold(file, *hold);
  }

  void read_file_or_table(const TomlFile& file, const TomlNode& value, const std::string& part,
                          const std::string& folder) {
    if (value.kind == Kind::text) {
      const Origin named{file.place(value), written(value)};
      origins_[part] = {named.place, ""};
      read(beside(folder, value.text), part, &named);
    } else if (value.kind == Kind::table) {
      remember(part, file, value);
      read_part(file, value, part + ".");
    } else {
      blame(
          file, value, part,
          fmt::format("must be the path of a {} file or a table; found {}", part, describe(value)));
      unread_.insert(part);
    }
  }

  bool demand_table(const TomlFile& file, const TomlNode& value, const std::string& key) {
    if (value.kind == Kind::table) return true;
    blame(file, value, key, "must be a table; found " + describe(value));
    return false;
  }

  void read_table(const TomlFile& file, const TomlNode& value, const std::string& part) {
    if (!demand_table(file, value, part)) return;
    remember(part, file, value);
    read_keys(file, value, part + ".");
  }

  // The content of a fork, bike or rider: a file's root or a table in a scene.
  void read_part(const TomlFile& file, const TomlNode& table, const std::string& prefix) {
    check_note(file, table);
    const std::string_view part = std::string_view(prefix).substr(0, prefix.size() - 1);
    const TomlNode* type = table.find("type");
    if (&table != &file.root && type != nullptr &&
        (type->kind != Kind::text || type->text != part)) {
      blame(file, *type, "type", fmt::format("must be \"{}\" here", part));
    }
    read_keys(file, table, prefix, true);
  }

  // Keys of the parameter table below a prefix; tables nest. `headed`: type, format and note may
  // stand among them.
  void read_keys(const TomlFile& file, const TomlNode& table, const std::string& prefix,
                 bool headed = false) {
    for (const TomlMember& member : table.members) {
      if (headed && is_heading(member.key)) continue;
      read_key(file, member, prefix);
    }
  }

  void read_key(const TomlFile& file, const TomlMember& member, const std::string& prefix) {
    const std::string key = prefix + member.key;
    const TomlNode& value = member.value;
    std::optional<Slot> slot;
    try {
      slot = slot_or_none(setup, key);
    } catch (const InputError& error) {
      for (Fault fault : error.faults()) {
        fault.place = {file.file, member.line, member.column};
        add(std::move(fault));
      }
      return;
    }
    if (slot) {
      read_number(file, value, key, {slot->unit, slot->whole}, *slot->value);
    } else if (const Choice<Setup>* choice = find_choice(key)) {
      const int word = read_word(file, value, key, choice->values);
      if (word >= 0) choice->set(setup, word);
    } else if (find_name(key) != nullptr) {
      read_name(file, value, key);
    } else if (DamperSetup* damper = damper_above(key, "click_table")) {
      read_rows(file, value, key, click_fields(), damper->click_table);
    } else if (DamperSetup* tabled = damper_above(key, "points")) {
      read_rows(file, value, key, speed_force_fields(), tabled->points);
    } else if (holds_names(key)) {
      if (!demand_table(file, value, key)) return;
      if (!origins_.contains(key)) remember(key, file, value);
      read_keys(file, value, key + ".");
    } else {
      unknown(file, member, key, candidates_below(prefix));
    }
  }

  DamperSetup* damper_above(std::string_view key, std::string_view field) {
    const std::size_t dot = key.rfind('.');
    if (dot == std::string_view::npos || key.substr(dot + 1) != field) return nullptr;
    return find_damper(setup, key.substr(0, dot));
  }

  static bool holds_names(const std::string& key) {
    const auto names = all_names();
    return std::ranges::any_of(names,
                               [&](std::string_view name) { return name.starts_with(key + "."); });
  }

  // What may stand below a prefix: the next words, and whole names.
  static std::vector<std::string_view> candidates_below(std::string_view prefix) {
    std::set<std::string_view> words;
    for (const std::string_view name : all_names()) {
      if (!name.starts_with(prefix)) continue;
      const std::string_view rest = name.substr(prefix.size());
      words.insert(rest);
      words.insert(rest.substr(0, rest.find('.')));
    }
    if (prefix == "fork.compression." || prefix == "fork.rebound.") {
      words.insert("click_table");
      words.insert("points");
    }
    return {words.begin(), words.end()};
  }

  void read_name(const TomlFile& file, const TomlNode& value, const std::string& key) {
    constexpr std::size_t kLongestName = 200;
    if (value.kind != Kind::text) {
      blame(file, value, key, "must be text; found " + describe(value));
    } else if (value.text.size() > kLongestName) {
      blame(file, value, key, fmt::format("must be at most {} bytes", kLongestName));
    } else if (const NameField* name = find_name(key)) {
      name->at(setup) = value.text;
    }
  }

  // The position of the word among the values; -1 after a fault.
  int read_word(const TomlFile& file, const TomlNode& value, const std::string& key,
                std::span<const ChoiceValue> values) {
    remember(key, file, value);
    if (value.kind != Kind::text) {
      blame(
          file, value, key,
          fmt::format("must be one of {}; found {}", words_of(names_of(values)), describe(value)));
      return -1;
    }
    const int word = find_value(values, value.text);
    if (word < 0) blame(file, value, key, word_rule(values, value.text));
    return word;
  }

  // Leaves the number alone after a fault.
  void read_number(const TomlFile& file, const TomlNode& value, const std::string& key,
                   const NumberRule& rule, double& number) {
    remember(key, file, value);
    Faults found;
    plunge::read_number(file, value, key, rule, number, found);
    add(found);
  }

  template <class Row>
  void read_rows(const TomlFile& file, const TomlNode& value, const std::string& key,
                 std::span<const Field<Row>> fields, std::vector<Row>& rows) {
    remember(key, file, value);
    if (value.kind != Kind::array) {
      blame(file, value, key, "must be an array of tables; found " + describe(value));
      return;
    }
    if (value.items.empty()) blame(file, value, key, "must have at least 2 rows");
    rows.clear();
    for (std::size_t i = 0; i < value.items.size(); ++i) {
      const std::string row_key = fmt::format("{}[{}]", key, i);
      const TomlNode& item = value.items[i];
      Row row;
      if (demand_table(file, item, row_key)) {
        remember(row_key, file, item);
        read_fields(file, item, row_key, fields, row, [](const TomlMember&) { return false; });
      }
      rows.push_back(row);
    }
  }

  // Numbers of a row, feature or event. `other` reads a key that is no number and says whether it
  // knew it.
  template <class Owner, class Other>
  void read_fields(const TomlFile& file, const TomlNode& table, const std::string& key,
                   std::span<const Field<Owner>> fields, Owner& owner, const Other& other,
                   std::vector<std::string_view> words = {}) {
    for (const TomlMember& member : table.members) {
      const auto field =
          std::ranges::find(fields, std::string_view(member.key), &Field<Owner>::name);
      const std::string full = fmt::format("{}.{}", key, member.key);
      if (other(member)) continue;
      if (field != fields.end()) {
        read_number(file, member.value, full, {field->unit, field->whole}, field->at(owner));
      } else {
        for (const auto& known : fields) words.push_back(known.name);
        unknown(file, member, full, words);
      }
    }
  }

  // The words of a feature or event; true: the key was one of them.
  template <class Owner>
  bool read_choice(const TomlFile& file, const TomlMember& member, const std::string& key,
                   std::span<const Choice<Owner>> owner_choices, Owner& owner) {
    const auto choice =
        std::ranges::find(owner_choices, std::string_view(member.key), &Choice<Owner>::name);
    if (choice == owner_choices.end()) return false;
    const int word =
        read_word(file, member.value, fmt::format("{}.{}", key, member.key), choice->values);
    if (word >= 0) choice->set(owner, word);
    return true;
  }

  // The kind, read first; false after a fault.
  template <class Owner>
  bool read_kind(const TomlFile& file, const TomlNode& item, const std::string& key,
                 const Choice<Owner>& kinds) {
    if (!demand_table(file, item, key)) return false;
    remember(key, file, item);
    const TomlNode* kind = item.find("kind");
    if (kind == nullptr) {
      add({key + ".kind", "",
           fmt::format("must be given: one of {}", words_of(names_of(kinds.values))),
           file.place(item)});
      return false;
    }
    return read_word(file, *kind, key + ".kind", kinds.values) >= 0;
  }

  void refuse_strange_choices(const TomlFile& file, const TomlNode& item, const std::string& key,
                              const Feature& feature) {
    for (const auto& choice : feature_choices()) {
      const TomlNode* value = item.find(choice.name);
      if (value != nullptr && !choice.needed(feature)) {
        blame(file, *value, fmt::format("{}.{}", key, choice.name),
              fmt::format("does not belong to the kind \"{}\"", to_string(feature.kind)));
      }
    }
  }

  void read_terrain_file(const TomlFile& file, const std::string& folder) {
    constexpr std::string_view kKeys[] = {"type", "format", "note", "name", "terrain"};
    check_note(file, file.root);
    for (const TomlMember& member : file.root.members) {
      if (is_heading(member.key)) continue;
      if (member.key == "name") {
        if (member.value.kind != Kind::text) {
          blame(file, member.value, "name", "must be text; found " + describe(member.value));
        }
      } else if (member.key == "terrain") {
        read_features(file, member.value, folder);
      } else {
        unknown(file, member, member.key, {std::begin(kKeys), std::end(kKeys)});
      }
    }
  }

  void read_features(const TomlFile& file, const TomlNode& list, const std::string& folder) {
    remember("terrain", file, list);
    if (list.kind != Kind::array) {
      blame(file, list, "terrain",
            "must be the path of a terrain file or an array of features; found " + describe(list));
      unread_.insert("terrain");
      return;
    }
    for (std::size_t i = 0; i < list.items.size(); ++i) {
      const TomlNode& item = list.items[i];
      const std::string key = fmt::format("terrain[{}]", i);
      Feature feature;
      if (!read_kind(file, item, key, feature_choices()[0])) {
        unread_.insert(key);
        setup.terrain.push_back(feature);
        continue;
      }
      std::vector<std::string_view> words = {"file", "distance", "elevation"};
      for (const auto& choice : feature_choices()) words.push_back(choice.name);
      const auto other = [&](const TomlMember& member) {
        if (read_choice(file, member, key, feature_choices(), feature)) return true;
        const std::string full = fmt::format("{}.{}", key, member.key);
        if (member.key == "distance") {
          read_lengths(file, member.value, full, feature.distance);
        } else if (member.key == "elevation") {
          read_lengths(file, member.value, full, feature.elevation);
        } else if (member.key == "file") {
          read_profile_file(file, member.value, full, folder, feature);
        } else if (member.key == "roughness" && member.value.kind == Kind::text &&
                   roughness_class(member.value.text)) {
          remember(full, file, member.value);
          feature.roughness = *roughness_class(member.value.text);
        } else {
          return false;
        }
        return true;
      };
      read_fields(file, item, key, feature_fields(), feature, other, words);
      refuse_strange_choices(file, item, key, feature);
      const TomlNode* profile_file = item.find("file");
      if (profile_file != nullptr && (item.find("distance") || item.find("elevation"))) {
        blame(file, *profile_file, key + ".file", "must not stand beside distance or elevation");
      }
      if (profile_file != nullptr && feature.kind != FeatureKind::profile) {
        blame(file, *profile_file, key + ".file",
              fmt::format("does not belong to the kind \"{}\"", to_string(feature.kind)));
      }
      setup.terrain.push_back(std::move(feature));
    }
  }

  void read_profile_file(const TomlFile& file, const TomlNode& value, const std::string& key,
                         const std::string& folder, Feature& feature) {
    if (value.kind != Kind::text) {
      blame(file, value, key, "must be the path of a CSV file; found " + describe(value));
      unread_.insert(key.substr(0, key.rfind('.')));
      return;
    }
    const std::string path = beside(folder, value.text);
    const std::string owner = key.substr(0, key.rfind('.'));
    const Origin whole_file{{path, 0, 0}, {}};
    origins_[owner + ".distance"] = whole_file;
    origins_[owner + ".elevation"] = whole_file;
    try {
      const Origin named{file.place(value), written(value)};
      MeasuredProfile profile = parse_profile(text_of(path, key, &named), path);
      feature.distance = std::move(profile.distance);
      feature.elevation = std::move(profile.elevation);
    } catch (const InputError& error) {
      add(error.faults());
      unread_.insert(owner);
    }
  }

  // An array of lengths: texts with units, or bare numbers, which are metres.
  void read_lengths(const TomlFile& file, const TomlNode& value, const std::string& key,
                    std::vector<double>& lengths) {
    origins_[key] = {file.place(value), ""};
    if (value.kind != Kind::array) {
      blame(file, value, key, "must be an array of lengths; found " + describe(value));
      return;
    }
    lengths.reserve(value.items.size());
    for (std::size_t i = 0; i < value.items.size(); ++i) {
      const TomlNode& item = value.items[i];
      double length = kUnset;
      if ((item.kind == Kind::whole || item.kind == Kind::real) && std::isfinite(item.number)) {
        length = item.number;
      } else if (item.kind == Kind::real) {
        blame(file, item, fmt::format("{}[{}]", key, i), "must be finite");
      } else {
        read_number(file, item, fmt::format("{}[{}]", key, i), {"m", false}, length);
      }
      if (std::isnan(length)) {
        unread_.insert(key.substr(0, key.rfind('.')));
        return;
      }
      if (key.ends_with(".distance") && !lengths.empty() && !(length > lengths.back())) {
        blame(file, item, fmt::format("{}[{}]", key, i),
              fmt::format("must be above the distance before it, {}", say(lengths.back(), "m")));
      }
      lengths.push_back(length);
    }
  }

  void read_events(const TomlFile& file, const TomlNode& list) {
    remember("event", file, list);
    if (list.kind != Kind::array) {
      blame(file, list, "event", "must be an array of tables, [[event]]; found " + describe(list));
      return;
    }
    for (std::size_t i = 0; i < list.items.size(); ++i) {
      const TomlNode& item = list.items[i];
      const std::string key = fmt::format("event[{}]", i);
      RideEvent event;
      if (read_kind(file, item, key, event_choices()[0])) {
        const auto other = [&](const TomlMember& member) {
          return read_choice(file, member, key, event_choices(), event);
        };
        read_fields(file, item, key, event_fields(), event, other, {"kind"});
      } else {
        unread_.insert(key);
      }
      setup.events.push_back(event);
    }
  }

  void read_hold(const TomlFile& file, const TomlNode& hold) {
    if (!demand_table(file, hold, "hold")) return;
    if (hold.find("sag") == nullptr) {
      add({"hold.sag", "", "must be given, a share of the travel such as \"22 %\"",
           file.place(hold)});
    }
    for (const TomlMember& member : hold.members) {
      if (member.key == "sag") {
        read_number(file, member.value, "hold.sag", {"1", false}, hold_sag);
      } else {
        unknown(file, member, "hold." + member.key, {"sag"});
      }
    }
  }

  void set_hold(const std::string& value, const Place& place) {
    origins_["hold.sag"] = {place, value};
    try {
      hold_sag = to_si(value, "1");
    } catch (const InputError& error) {
      add({"hold.sag", value, error.faults().front().rule, place});
    }
  }

  Faults faults_;
  std::map<std::string, std::string> exchange_;  // files in place of the scene's own, by part
  std::map<std::string, Origin> origins_;
  std::set<std::string> unread_;  // keys whose content could not be read, not to be judged
};

Scene finish(Loader& loader, const std::string& path, const std::vector<std::string>& overrides,
             bool judge_it) {
  for (const std::string& text : overrides) loader.override_with(text);
  if (judge_it) {
    loader.judge_as("scene");
  } else {
    fill_defaults(loader.setup);
  }
  loader.throw_faults();
  return {std::move(loader.setup), loader.hold_sag, path};
}

Setup load_part(const std::string& path, std::string_view type,
                const std::vector<std::string>& overrides = {}, bool judge_it = true) {
  Loader loader;
  loader.read(path, type);
  for (const std::string& text : overrides) loader.override_with(text);
  if (judge_it) {
    loader.judge_as(type);
  } else {
    fill_defaults(loader.setup);
  }
  loader.throw_faults();
  return std::move(loader.setup);
}

// One value of the canonical text: a bare number for the unit "1", else a text in SI.
std::string canonical(double value, std::string_view unit) {
  if (unit == "1") return toml_number(value);
  return fmt::format("\"{} {}\"", value, unit);
}

template <class Owner>
std::string canonical_row(const Owner& owner, std::span<const Field<Owner>> fields) {
  std::string text;
  for (const auto& field : fields) {
    if (std::isnan(field.get(owner))) continue;
    text += fmt::format("{}{} = {}", text.empty() ? "" : ", ", field.name,
                        canonical(field.get(owner), field.unit));
  }
  return "{" + text + "}";
}

template <class Row>
std::string canonical_rows(std::string_view key, const std::vector<Row>& rows,
                           std::span<const Field<Row>> fields) {
  if (rows.empty()) return {};
  std::string text = fmt::format("{} = [\n", key);
  for (const Row& row : rows) text += "  " + canonical_row(row, fields) + ",\n";
  return text + "]\n";
}

std::string canonical_lengths(std::string_view key, const std::vector<double>& lengths) {
  if (lengths.empty()) return {};
  constexpr std::size_t kPerLine = 10;
  std::string text = fmt::format("{} = [", key);
  for (std::size_t i = 0; i < lengths.size(); ++i) {
    text += i % kPerLine == 0 ? "\n  " : " ";
    text += toml_number(lengths[i]) + ",";
  }
  return text + "\n]\n";
}

template <class Owner>
std::string canonical_entry(std::string_view list, const Owner& owner,
                            std::span<const Choice<Owner>> owner_choices,
                            std::span<const Field<Owner>> fields) {
  std::string text = fmt::format("\n[[{}]]\n", list);
  for (const auto& choice : owner_choices) {
    if (!choice.needed(owner)) continue;
    const auto word = static_cast<std::size_t>(choice.get(owner));
    text += fmt::format("{} = \"{}\"\n", choice.name, choice.values[word].name);
  }
  for (const auto& field : fields) {
    if (std::isnan(field.get(owner))) continue;
    text += fmt::format("{} = {}\n", field.name, canonical(field.get(owner), field.unit));
  }
  return text;
}

// Lines of the canonical text, by the table that they belong to.
class CanonicalTables {
 public:
  void put(std::string_view dotted, const std::string& value) {
    const std::size_t dot = dotted.rfind('.');
    lines_of(dotted.substr(0, dot)) += fmt::format("{} = {}\n", dotted.substr(dot + 1), value);
  }
  void put_lines(std::string_view table, const std::string& lines) { lines_of(table) += lines; }
  std::string text() const {
    std::string all;
    for (const auto& [table, lines] : tables_) {
      if (!lines.empty()) all += fmt::format("\n[{}]\n{}", table, lines);
    }
    return all;
  }

 private:
  std::string& lines_of(std::string_view table) {
    for (auto& [name, lines] : tables_) {
      if (name == table) return lines;
    }
    return tables_.emplace_back(std::string(table), "").second;
  }
  std::vector<std::pair<std::string, std::string>> tables_;
};

// One value of a list or one end of a range, in SI.
double variant_value(std::string_view text, const Slot& slot) {
  return number_from_text(text, {slot.unit, slot.whole});
}

[[noreturn]] void refuse_variation(const std::string& name, std::string_view text,
                                   std::string rule) {
  throw InputError(Fault{name, std::string(text), std::move(rule), {"--vary", 0, 0}});
}

std::vector<double> range_values(std::string_view text, const Slot& slot) {
  const std::size_t dots = text.find("..");
  const std::string_view rest = text.substr(dots + 2);
  const std::size_t colon = rest.find(':');
  const auto part = [&](std::string_view quantity) {
    try {
      return split_quantity(quantity);
    } catch (const InputError&) {
      refuse_variation(slot.name, text, "must be a range such as 0..4 or 60psi..90psi:5psi");
    }
  };
  const Quantity first = part(text.substr(0, dots));
  const Quantity last = part(rest.substr(0, colon));
  Quantity step{1.0, first.unit};
  if (colon != std::string_view::npos) {
    step = part(rest.substr(colon + 1));
  } else if (!slot.whole) {
    refuse_variation(slot.name, text, "needs a step, such as 60psi..90psi:5psi");
  }
  if (first.unit != last.unit || first.unit != step.unit) {
    refuse_variation(slot.name, text, "must have both ends and the step in one unit");
  }
  if (!(last.number >= first.number)) {
    refuse_variation(slot.name, text, "must rise from its first to its last value");
  }
  if (!(step.number > 0.0)) refuse_variation(slot.name, text, "must have a step above 0");
  // The far end counts as reached where rounding alone keeps the steps from it.
  constexpr double kRounding = 1e-9;
  const double steps = std::floor((last.number - first.number) / step.number + kRounding);
  if (!(steps < kMostVariants)) {
    refuse_variation(slot.name, text, fmt::format("must be at most {} values", kMostVariants));
  }
  std::vector<double> values;
  for (int k = 0; k <= static_cast<int>(steps); ++k) {
    const Quantity at{first.number + k * step.number, first.unit};
    if (slot.whole && !(at.number == std::floor(at.number) && at.unit.empty())) {
      refuse_variation(slot.name, text, "needs whole numbers");
    }
    values.push_back(to_si(at, slot.unit));
  }
  return values;
}

std::vector<double> list_values(std::string_view text, const Slot& slot) {
  std::vector<double> values;
  for (std::size_t start = 0; start <= text.size();) {
    const std::size_t end = std::min(text.find(',', start), text.size());
    values.push_back(variant_value(trimmed(text.substr(start, end - start)), slot));
    start = end + 1;
    if (values.size() > static_cast<std::size_t>(kMostVariants)) {
      refuse_variation(slot.name, "", fmt::format("must be at most {} values", kMostVariants));
    }
  }
  return values;
}

// The closed range that a slot allows.
std::pair<double, double> range_of(const std::string& name) {
  if (const Parameter* parameter = find_parameter(name)) return {parameter->low, parameter->high};
  const auto key = split_list_key(name);
  const auto pick = [&](auto fields) {
    const auto field = std::ranges::find(fields, key->field, [](const auto& f) { return f.name; });
    return std::pair(field->low, field->high);
  };
  return key->list == "terrain" ? pick(feature_fields()) : pick(event_fields());
}

}  // namespace

Scene load_scene(const std::string& path, const std::vector<std::string>& overrides,
                 bool judge_it) {
  Loader loader;
  loader.read(path, "scene");
  return finish(loader, path, overrides, judge_it);
}

Scene parse_scene(std::string_view text, const std::string& file, const std::string& folder,
                  const std::vector<std::string>& overrides, bool judge_it) {
  Loader loader;
  loader.read_text(text, file, folder);
  return finish(loader, file, overrides, judge_it);
}

ForkSetup load_fork(const std::string& path, const std::vector<std::string>& overrides,
                    bool judge_it) {
  return load_part(path, "fork", overrides, judge_it).fork;
}

BikeSetup load_bike(const std::string& path) { return load_part(path, "bike").bike; }

RiderSetup load_rider(const std::string& path) { return load_part(path, "rider").rider; }

std::vector<Feature> load_terrain(const std::string& path) {
  return load_part(path, "terrain").terrain;
}

OverlaidScene load_scene(const std::string& path, const Overlay& overlay) {
  const auto loader = std::make_shared<Loader>();
  for (const auto& [part, file] : overlay.files) loader->exchange(part, file);
  loader->read(path, "scene");
  if (overlay.set != nullptr) loader->lay_over(*overlay.file, *overlay.set);
  fill_defaults(loader->setup);
  loader->throw_faults();
  return {{loader->setup, loader->hold_sag, path},
          [loader](Fault& fault) { loader->locate(fault); }};
}

std::string check_part(const std::string& path, Faults& faults) {
  Loader loader;
  std::string type = loader.read_any(path);
  if (!type.empty() && type != "plan") loader.judge_as(type);
  faults = loader.take_faults();
  return type;
}

std::string to_scene_text(const Setup& setup, double hold_sag) {
  std::string text =
      fmt::format("type = \"scene\"\nformat = [{}, {}]\n", kSceneFormatMajor, kSceneFormatMinor);
  CanonicalTables tables;
  Setup copy = setup;
  for (const NameField& name : kNames) {
    const std::string& value = name.at(copy);
    if (value.empty()) continue;
    if (name.key == "name") {
      text += fmt::format("name = {}\n", toml_quoted(value));
    } else {
      tables.put(name.key, toml_quoted(value));
    }
  }
  for (const auto& choice : choices()) {
    const auto word = static_cast<std::size_t>(choice.get(setup));
    tables.put(choice.name, fmt::format("\"{}\"", choice.values[word].name));
  }
  for (const Parameter& parameter : parameters()) {
    const double value = parameter.get(setup);
    if (!std::isnan(value)) tables.put(parameter.name, canonical(value, parameter.unit));
  }
  for (const std::string_view key : {"fork.compression", "fork.rebound"}) {
    const DamperSetup& damper = *find_damper(copy, key);
    tables.put_lines(key, canonical_rows("click_table", damper.click_table, click_fields()) +
                              canonical_rows("points", damper.points, speed_force_fields()));
  }
  if (!std::isnan(hold_sag)) tables.put("hold.sag", toml_number(hold_sag));
  text += tables.text();
  for (const Feature& feature : setup.terrain) {
    text += canonical_entry("terrain", feature, feature_choices(), feature_fields());
    text += canonical_lengths("distance", feature.distance);
    text += canonical_lengths("elevation", feature.elevation);
  }
  for (const RideEvent& event : setup.events) {
    text += canonical_entry("event", event, event_choices(), event_fields());
  }
  return text;
}

Slot find_slot(Setup& setup, std::string_view name) {
  if (auto slot = slot_or_none(setup, name)) return *slot;
  refuse_name(name);
}

void apply_override(Setup& setup, std::string_view text) {
  const auto [name, value] = split_assignment(text, "--set", "fork.spacers=2");
  if (const NameField* field = find_name(name)) {
    field->at(setup) = value;
    return;
  }
  if (const Choice<Setup>* choice = find_choice(name)) {
    const int word = find_value(choice->values, value);
    if (word < 0) {
      throw InputError(Fault{name, value, word_rule(choice->values, value), {"--set", 0, 0}});
    }
    choice->set(setup, word);
    return;
  }
  try {
    const Slot slot = find_slot(setup, name);
    const auto rough_class = name.ends_with(".roughness") ? roughness_class(value) : std::nullopt;
    *slot.value = rough_class ? *rough_class : number_from_text(value, {slot.unit, slot.whole});
  } catch (const InputError& error) {
    Fault fault = error.faults().front();
    fault.key = name;
    fault.value = value;
    fault.place = {"--set", 0, 0};
    throw InputError(fault);
  }
}

std::vector<double> parse_values(std::string_view text, const Slot& slot) {
  return text.find("..") == std::string::npos ? list_values(text, slot) : range_values(text, slot);
}

Variation parse_variation(std::string_view text, const Setup& setup) {
  const auto [name, value] = split_assignment(text, "--vary", "fork.spacers=0..4");
  if (find_choice(name) != nullptr || find_name(name) != nullptr) {
    refuse_variation(name, value, "is no number; only numbers are varied");
  }
  try {
    Setup copy = setup;
    const Slot slot = find_slot(copy, name);
    Variation variation{name, slot.unit, slot.said, slot.meaning, find_parameter(name), {}};
    variation.values = parse_values(value, slot);
    const auto [low, high] = range_of(name);
    for (const double number : variation.values) {
      if (!in_range(number, low, high)) {
        refuse_variation(name, value, fmt::format("must be {}", say_range(low, high, slot.said)));
      }
    }
    return variation;
  } catch (const InputError& error) {
    Fault fault = error.faults().front();
    fault.key = name;
    fault.value = value;
    fault.place = {"--vary", 0, 0};
    throw InputError(fault);
  }
}

void apply_variation(Setup& setup, const Variation& variation, std::size_t k) {
  *find_slot(setup, variation.name).value = variation.values.at(k);
}

double parse_hold(std::string_view text) {
  const auto [name, value] = split_assignment(text, "--hold", "sag=22%");
  const Place place{"--hold", 0, 0};
  if (name != "sag") {
    throw InputError(Fault{name, value, "is nothing that can be held; \"sag\" is", place});
  }
  try {
    const double sag = to_si(value, "1");
    for (Fault fault : judge_hold(sag)) {
      fault.value = value;
      fault.place = place;
      throw InputError(fault);
    }
    return sag;
  } catch (const InputError& error) {
    Fault fault = error.faults().front();
    fault.key = "hold.sag";
    fault.value = value;
    fault.place = place;
    throw InputError(fault);
  }
}

}  // namespace plunge
