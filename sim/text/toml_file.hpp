// A TOML 1.0 document as a tree whose every value knows its line and column.
//
// Keys of a table come in the order in which the file has them. A value keeps the text as written,
// for messages. Not here: what the keys mean (sim/input/scene_reader.hpp).
// Throws InputError: what demand_utf8() refuses, bad TOML with file, line, column and the rule,
// values nested deeper than kDeepestNesting.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "models/setup/fault.hpp"

namespace plunge {

inline constexpr int kDeepestNesting = 64;  // chosen; far past any file of plunge

struct TomlMember;

struct TomlNode {
  enum class Kind { text, whole, real, boolean, date, array, table };

  Kind kind = Kind::table;
  int line = 0;                 // 1-based; of a table: of its header, its brace or its first key
  int column = 0;               // 1-based, in characters
  std::string text;             // the string; of another value that is no list, as written
  double number = 0.0;          // whole and real
  std::vector<TomlNode> items;  // of an array
  std::vector<TomlMember> members;  // of a table

  // The value of a key of this table, or null.
  const TomlNode* find(std::string_view key) const;
};

struct TomlMember {
  std::string key;
  int line = 0;
  int column = 0;
  TomlNode value;
};

struct TomlFile {
  std::string file;
  TomlNode root;

  Place place(const TomlNode& node) const { return {file, node.line, node.column}; }
};

// `file` names the text in faults.
TomlFile parse_toml(std::string_view text, const std::string& file);

// What a value is, for messages: "the bare number 150", "the boolean true", "a table".
std::string describe(const TomlNode& node);

// A string as TOML writes it, in quotes.
std::string toml_quoted(std::string_view text);

// The shortest TOML number that reads back to the same double.
std::string toml_number(double value);

}  // namespace plunge
