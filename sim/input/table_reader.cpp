#include "sim/input/table_reader.hpp"

#include <optional>
#include <set>

#include "models/setup/knob.hpp"

namespace plunge {
namespace {

using Kind = TomlNode::Kind;

DamperSetup* find_damper(Setup& setup, std::string_view key) {
  if (key == "fork.compression") return &setup.fork.compression;
  if (key == "fork.rebound") return &setup.fork.rebound;
  return nullptr;
}

bool holds_names(const std::string& key) {
  const auto names = dotted_names();
  return std::ranges::any_of(names,
                             [&](std::string_view name) { return name.starts_with(key + "."); });
}

// What may stand below a prefix: the next words, and whole names.
std::vector<std::string_view> candidates_below(std::string_view prefix) {
  std::set<std::string_view> words;
  for (const std::string_view name : dotted_names()) {
    if (!name.starts_with(prefix)) continue;
    const std::string_view rest = name.substr(prefix.size());
    words.insert(rest);
    words.insert(rest.substr(0, rest.find('.')));
  }
  if (prefix == "fork.compression." || prefix == "fork.rebound.") {
    const DamperSetup damper;
    for_each_table(damper, [&](const char* name, const char*, bool, const auto&, auto) {
      words.insert(name);
    });
  }
  if (prefix == "rider.") words.insert("known");
  if (prefix == "fork.") words.insert({"family", "known", "joint", "service"});
  return {words.begin(), words.end()};
}

}  // namespace

bool TableReader::demand_table(const TomlFile& file, const TomlNode& value,
                               const std::string& key) {
  if (value.kind == Kind::table) return true;
  found_.blame(file, value, key, "must be a table; found " + describe(value));
  return false;
}

void TableReader::unknown(const TomlFile& file, const TomlMember& member, const std::string& key,
                          const std::vector<std::string_view>& candidates) {
  found_.add({key,
              written(member.value),
              "is no known key" + suggestion(member.key, candidates),
              {file.file, member.line, member.column}});
}

bool TableReader::is_heading(std::string_view key) {
  return key == "type" || key == "format" || key == "note";
}

bool TableReader::is_read_elsewhere(std::string_view key) {
  return key == "family" || key == "known" || key == "joint" || key == "service";
}

void TableReader::check_note(const TomlFile& file, const TomlNode& table) {
  const TomlNode* note = table.find("note");
  if (note != nullptr && note->kind != Kind::text) {
    found_.blame(file, *note, "note", "must be text; found " + describe(*note));
  }
}

void TableReader::read_table(const TomlFile& file, const TomlNode& value, const std::string& part) {
  if (!demand_table(file, value, part)) return;
  found_.remember(part, file, value);
  read_keys(file, value, part + ".");
}

void TableReader::read_part(const TomlFile& file, const TomlNode& table,
                            const std::string& prefix) {
  check_note(file, table);
  const std::string_view part = std::string_view(prefix).substr(0, prefix.size() - 1);
  const TomlNode* type = table.find("type");
  if (&table != &file.root && type != nullptr && (type->kind != Kind::text || type->text != part)) {
    found_.blame(file, *type, "type", fmt::format("must be \"{}\" here", part));
  }
  read_keys(file, table, prefix, true);
}

void TableReader::read_keys(const TomlFile& file, const TomlNode& table, const std::string& prefix,
                            bool headed) {
  for (const TomlMember& member : table.members) {
    if (headed && is_heading(member.key)) continue;
    if (headed && prefix == "fork." && is_read_elsewhere(member.key)) continue;
    if (headed && prefix == "rider." && member.key == "known") continue;
    read_key(file, member, prefix);
  }
}

void TableReader::read_key(const TomlFile& file, const TomlMember& member,
                           const std::string& prefix) {
  const std::string key = prefix + member.key;
  const TomlNode& value = member.value;
  std::optional<Knob> knob;
  try {
    knob = knob_or_none(setup_, key);
  } catch (const InputError& error) {
    for (Fault fault : error.faults()) {
      fault.place = {file.file, member.line, member.column};
      found_.add(std::move(fault));
    }
    return;
  }
  if (knob && !knob->holds_sag()) {
    double number = knob->get(setup_);
    read_number(file, value, key, {knob->unit, knob->whole}, number);
    knob->put(setup_, number);
  } else if (const Choice<Setup>* choice = find_choice(key)) {
    const int word = read_word(file, value, key, choice->values);
    if (word >= 0) choice->set(setup_, word);
  } else if (find_name(key) != nullptr) {
    read_name(file, value, key);
  } else if (read_damper_table(file, value, key)) {
    return;
  } else if (holds_names(key)) {
    if (!demand_table(file, value, key)) return;
    if (!found_.knows(key)) found_.remember(key, file, value);
    read_keys(file, value, key + ".");
  } else {
    unknown(file, member, key, candidates_below(prefix));
  }
}

void TableReader::read_name(const TomlFile& file, const TomlNode& value, const std::string& key) {
  constexpr std::size_t kLongestName = 200;
  if (value.kind != Kind::text) {
    found_.blame(file, value, key, "must be text; found " + describe(value));
  } else if (value.text.size() > kLongestName) {
    found_.blame(file, value, key, fmt::format("must be at most {} bytes", kLongestName));
  } else if (const NameField* name = find_name(key)) {
    name->at(setup_) = value.text;
  }
}

int TableReader::read_word(const TomlFile& file, const TomlNode& value, const std::string& key,
                           std::span<const ChoiceValue> values) {
  found_.remember(key, file, value);
  if (value.kind != Kind::text) {
    found_.blame(
        file, value, key,
        fmt::format("must be one of {}; found {}", quoted_list(names_of(values)), describe(value)));
    return -1;
  }
  const int word = find_value(values, value.text);
  if (word < 0) found_.blame(file, value, key, word_rule(values, value.text));
  return word;
}

void TableReader::read_number(const TomlFile& file, const TomlNode& value, const std::string& key,
                              const NumberRule& rule, double& number) {
  found_.remember(key, file, value);
  Faults found;
  plunge::read_number(file, value, key, rule, number, found);
  found_.add(found);
}

template <class Row>
void TableReader::read_rows(const TomlFile& file, const TomlNode& value, const std::string& key,
                            std::span<const Field<Row>> fields, std::vector<Row>& rows) {
  found_.remember(key, file, value);
  if (value.kind != Kind::array) {
    found_.blame(file, value, key, "must be an array of tables; found " + describe(value));
    return;
  }
  if (value.items.empty()) found_.blame(file, value, key, "must have at least 2 rows");
  rows.clear();
  for (std::size_t i = 0; i < value.items.size(); ++i) {
    const std::string row_key = fmt::format("{}[{}]", key, i);
    const TomlNode& item = value.items[i];
    Row row;
    if (demand_table(file, item, row_key)) {
      found_.remember(row_key, file, item);
      read_fields(file, item, row_key, fields, row, [](const TomlMember&) { return false; });
    }
    rows.push_back(row);
  }
}

bool TableReader::read_damper_table(const TomlFile& file, const TomlNode& value,
                                    const std::string& key) {
  const std::size_t dot = key.rfind('.');
  DamperSetup* damper = find_damper(setup_, std::string_view(key).substr(0, dot));
  if (damper == nullptr) return false;
  bool known = false;
  for_each_table(*damper, [&](const char* name, const char*, bool, auto& rows, auto fields) {
    if (key.substr(dot + 1) != name) return;
    read_rows(file, value, key, fields, rows);
    known = true;
  });
  return known;
}

void TableReader::read_events(const TomlFile& file, const TomlNode& list) {
  found_.remember("event", file, list);
  if (list.kind != Kind::array) {
    found_.blame(file, list, "event",
                 "must be an array of tables, [[event]]; found " + describe(list));
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
      found_.leave_unread(key);
    }
    setup_.events.push_back(event);
  }
}

void TableReader::read_hold(const TomlFile& file, const TomlNode& hold) {
  if (!demand_table(file, hold, "hold")) return;
  if (hold.find("sag") == nullptr) {
    found_.add({"hold.sag", "", "must be given, a share of the travel such as \"22 %\"",
                file.place(hold)});
  }
  for (const TomlMember& member : hold.members) {
    if (member.key == "sag") {
      found_.remember("hold.sag", file, member.value);
      Faults faults;
      read_sag(file, member.value, "hold.sag", setup_.hold, faults);
      found_.add(faults);
    } else {
      unknown(file, member, "hold." + member.key, {"sag"});
    }
  }
}

}  // namespace plunge
