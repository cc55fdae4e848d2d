// Tables of plunge's TOML files into a Setup: keys of the parameter table, rows, features, events.
//
// Which keys there are and what they mean is the parameter table's business
// (models/setup/parameters.hpp); tables nest, and a key may be dotted. A number, word or row that
// is at fault is left alone, with a fault in the findings. Keys below a prefix: "fork.", or "". Not
// here: files and what is in which (scene_reader.hpp), terrain (terrain_reader.hpp).
#pragma once

#include <fmt/core.h>

#include <algorithm>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "models/setup/parameters.hpp"
#include "models/setup/setup.hpp"
#include "sim/input/findings.hpp"
#include "sim/input/toml_values.hpp"
#include "sim/text/toml_file.hpp"
#include "sim/text/words.hpp"

namespace plunge {

class TableReader {
 public:
  // Both are filled and must outlive the reader.
  TableReader(Setup& setup, Findings& found) : setup_(setup), found_(found) {}

  bool demand_table(const TomlFile& file, const TomlNode& value, const std::string& key);
  void unknown(const TomlFile& file, const TomlMember& member, const std::string& key,
               const std::vector<std::string_view>& candidates);

  // Whether a key is one of type, format and note, which may head a table.
  static bool is_heading(std::string_view key);
  // Whether a key of a fork is a table that is read elsewhere (knowledge_reader.hpp,
  // service_reader.hpp).
  static bool is_read_elsewhere(std::string_view key);
  // `note` is free text; type and format are read elsewhere (toml_values.hpp).
  void check_note(const TomlFile& file, const TomlNode& table);

  // A table of a scene such as "ride".
  void read_table(const TomlFile& file, const TomlNode& value, const std::string& part);
  // The content of a fork, bike or rider: a file's root or a table in a scene.
  void read_part(const TomlFile& file, const TomlNode& table, const std::string& prefix);
  // Keys of the parameter table below a prefix. `headed`: type, format and note may stand among
  // them, and in a fork the tables of other readers.
  void read_keys(const TomlFile& file, const TomlNode& table, const std::string& prefix,
                 bool headed = false);
  void read_name(const TomlFile& file, const TomlNode& value, const std::string& key);
  void read_number(const TomlFile& file, const TomlNode& value, const std::string& key,
                   const NumberRule& rule, double& number);
  void read_events(const TomlFile& file, const TomlNode& list);
  void read_hold(const TomlFile& file, const TomlNode& hold);

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
    found_.remember(key, file, item);
    const TomlNode* kind = item.find("kind");
    if (kind == nullptr) {
      found_.add({key + ".kind", "",
                  fmt::format("must be given: one of {}", quoted_list(names_of(kinds.values))),
                  file.place(item)});
      return false;
    }
    return read_word(file, *kind, key + ".kind", kinds.values) >= 0;
  }

 private:
  void read_key(const TomlFile& file, const TomlMember& member, const std::string& prefix);
  // The position of the word among the values; -1 after a fault.
  int read_word(const TomlFile& file, const TomlNode& value, const std::string& key,
                std::span<const ChoiceValue> values);
  template <class Row>
  void read_rows(const TomlFile& file, const TomlNode& value, const std::string& key,
                 std::span<const Field<Row>> fields, std::vector<Row>& rows);
  // False for a key that is no table of a damper.
  bool read_damper_table(const TomlFile& file, const TomlNode& value, const std::string& key);

  Setup& setup_;
  Findings& found_;
};

}  // namespace plunge
