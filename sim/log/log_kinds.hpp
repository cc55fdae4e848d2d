// What a workshop's log holds: every kind of entry and every field, told once.
//
// The tables of the database (log_schema.hpp), the words that `plunge log add` takes, JSON, CSV,
// what is listed and the page scenarios/log.md read this table. A field has
//   name      its column, its key in JSON, its word on the command line: "ring"
//   type      below
//   needed    whether an entry must have it
//   unit      of a quantity: its SI unit in UDUNITS spelling
//   said      of a quantity: the unit in which people say it
//   low, high the closed range of a quantity [SI] or a whole number
//   refers    of a reference: the kind of the entry that it names; empty: any
// Beside its fields an entry may have numbers by name: inputs by their dotted name from the table
// of parameters, "fork.pressure", or results from the table of metrics, "travel_max". Neither table
// is copied here.
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "models/setup/setup.hpp"

namespace plunge {

enum class FieldType {
  name,      // one line of letters that show, its own among the entries of its kind
  text,      // any text
  kept,      // the text of a TOML file
  whole,     // a whole number
  quantity,  // a number in SI
  measured,  // a number in SI with its unit, of any dimension
  entry,     // another entry
};

struct LogField {
  std::string_view name;
  FieldType type = FieldType::text;
  bool needed = false;
  std::string_view meaning;
  std::string_view unit = {};
  std::string_view said = {};
  double low = kUnset;
  double high = kUnset;
  std::string_view refers = {};
};

// Which numbers by name an entry may have.
enum class NumbersBy { none, parameter, metric };

struct LogKind {
  std::string_view name;  // "ride"
  std::string_view meaning;
  std::vector<LogField> fields;  // a word without a name stands for the first
  NumbersBy numbers = NumbersBy::none;
  std::string_view prefix = {};  // of the names of its parameters: "rider."; empty: any
  bool is_mark = false;          // it says something of another entry and is no content

  const LogField* find(std::string_view field) const;  // or null
};

// Letters of a value that messages show: chosen, what fits into a line.
inline constexpr std::size_t kShownLetters = 60;

inline constexpr char kUndo[] = "undo";
inline constexpr char kRedo[] = "redo";

// Lengths past which a text is refused: chosen, past anything that is written by hand.
inline constexpr std::size_t kLongestName = 200;        // letters
inline constexpr std::size_t kLongestText = 10'000;     // letters
inline constexpr std::size_t kLongestKept = 1'000'000;  // bytes of a file
inline constexpr std::size_t kMostNumbers = 1'000;      // of an entry
inline constexpr double kLargestNumber = 1e30;          // of what is measured, in SI

// All kinds, in the order in which people read them.
std::span<const LogKind> log_kinds();

// The kind of that name, "ride" or "rides", or null.
const LogKind* find_kind(std::string_view name);

// The same; throws InputError with the nearest name.
const LogKind& demand_kind(std::string_view name);

// "a ride", "an undo".
std::string one_of(std::string_view kind);

// The unit of a number by name, in SI and as people say it; both empty where no table has the name.
struct NumberUnit {
  std::string unit;
  std::string said;
};
NumberUnit unit_of_number(std::string_view name);

// The tables of scenarios/log.md, in Markdown.
std::string log_page();

}  // namespace plunge
