// The entries of a workshop's log in memory.
//
// An entry is never changed and never removed. `undo` and `redo` are entries of their own: an entry
// is undone while an undo of it is in force, which is one that no redo has taken back. What is
// undone stays in the log and is passed over by find().
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "sim/log/log_kinds.hpp"

namespace plunge {

// A number in SI with its unit in UDUNITS spelling.
struct Measured {
  double value = 0.0;
  std::string unit;
  bool operator==(const Measured&) const = default;
};

// name, text, kept: std::string; whole: std::int64_t; entry: std::int64_t, its number;
// quantity: double [SI]; measured: Measured.
using LogValue = std::variant<std::string, double, std::int64_t, Measured>;

struct LogEntry {
  std::int64_t number = 0;  // of the log, from 1 on in the order in which they came
  std::string key;          // 32 hexadecimal digits, the same in every log that has the entry
  const LogKind* kind = nullptr;
  std::string at;  // when it was added: "2026-11-26T20:06:48Z"
  std::map<std::string, LogValue, std::less<>> fields;
  std::map<std::string, double, std::less<>> numbers;  // by name [SI]
  bool undone = false;
  std::string where = {};  // what faults put before the names of its fields: "entries[3]."

  const LogValue* find(std::string_view field) const;    // or null
  std::string text(std::string_view field) const;        // empty: it has none
  double quantity(std::string_view field) const;         // NaN: it has none
  std::int64_t reference(std::string_view field) const;  // or of a whole number; -1: it has none
};

class LogContent {
 public:
  std::vector<LogEntry> entries;  // by number

  std::int64_t next_number() const { return entries.empty() ? 1 : entries.back().number + 1; }

  // Works out anew what is undone.
  void settle();

  const LogEntry* find(std::int64_t number) const;       // undone or not, or null
  const LogEntry* find_key(std::string_view key) const;  // likewise

  // What a word means among the entries of a kind that are not undone: a number, or a name. Throws
  // InputError with `key` as the name of the fault.
  const LogEntry& demand(const LogKind& kind, std::string_view word, const std::string& key) const;
  // Among all kinds.
  const LogEntry& demand(std::string_view word, const std::string& key) const;

  // Of a kind, not undone, in their order.
  std::vector<const LogEntry*> of(std::string_view kind) const;

  // The last entry that an undo would mark, or null.
  const LogEntry* last_content() const;
  // The undo that a redo would take back: the last one in force, unless something was added since.
  // Or null.
  const LogEntry* undo_in_force() const;
};

// A text in quotes, its beginning where it is long: for messages.
std::string quoted_start(std::string_view text);

// "setting 3", "rider \"hazel\"".
std::string name_of(const LogEntry& entry);

}  // namespace plunge
