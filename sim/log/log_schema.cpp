#include "sim/log/log_schema.hpp"

#include <fmt/core.h>

#include "sim/log/log_kinds.hpp"

namespace plunge {
namespace {

std::string column(const LogField& field) {
  const char* const needed = field.needed ? " NOT NULL" : "";
  const auto text = [&](std::size_t longest) {
    return fmt::format("{0} TEXT{1} CHECK (length({0}) BETWEEN 1 AND {2})", field.name, needed,
                       longest);
  };
  switch (field.type) {
    case FieldType::name:
      return text(kLongestName);
    case FieldType::text:
      return text(kLongestText);
    case FieldType::kept:
      return text(kLongestKept);
    case FieldType::whole:
      return fmt::format("{0} INTEGER{1} CHECK ({0} BETWEEN {2} AND {3})", field.name, needed,
                         field.low, field.high);
    case FieldType::quantity:  // its range is the judge's
      return fmt::format("{0} REAL{1} CHECK (abs({0}) <= {2})", field.name, needed, kLargestNumber);
    case FieldType::measured:
      return fmt::format("{0} REAL{1} CHECK (abs({0}) <= {3}),\n  {2} TEXT{1}", field.name, needed,
                         unit_column(std::string(field.name)), kLargestNumber);
    case FieldType::entry:
      return fmt::format("{} INTEGER{} REFERENCES {} (number)", field.name, needed,
                         field.refers.empty() ? "entry" : field.refers);
  }
  return "";
}

// Refuses to change or remove a row.
void keep(std::vector<std::string>& statements, std::string_view table) {
  for (const char* const action : {"UPDATE", "DELETE"}) {
    statements.push_back(fmt::format(
        "CREATE TRIGGER {0}_{1} BEFORE {1} ON {0} BEGIN\n"
        "  SELECT RAISE (ABORT, 'an entry of a log is never changed and never removed');\nEND",
        table, action));
  }
}

std::vector<std::string> tables() {
  std::vector<std::string> statements = {
      "CREATE TABLE entry (\n"
      "  number INTEGER PRIMARY KEY AUTOINCREMENT,\n"
      "  key TEXT NOT NULL UNIQUE CHECK (length(key) = 32),\n"
      "  kind TEXT NOT NULL,\n"
      "  at TEXT NOT NULL CHECK (length(at) = 20)\n) STRICT",
      fmt::format("CREATE TABLE quantity (\n"
                  "  entry INTEGER NOT NULL REFERENCES entry (number),\n"
                  "  name TEXT NOT NULL,\n"
                  "  value REAL NOT NULL CHECK (abs(value) <= {}),\n"
                  "  PRIMARY KEY (entry, name)\n) STRICT, WITHOUT ROWID",
                  kLargestNumber)};
  keep(statements, "entry");
  keep(statements, "quantity");
  for (const LogKind& kind : log_kinds()) {
    std::string statement = fmt::format(
        "CREATE TABLE {} (\n  number INTEGER PRIMARY KEY REFERENCES entry (number)", kind.name);
    for (const LogField& field : kind.fields) statement += ",\n  " + column(field);
    statements.push_back(statement + "\n) STRICT");
    keep(statements, kind.name);
  }
  return statements;
}

// The table of a kind and its triggers in the words of this version.
std::string table_of(std::string_view kind) {
  std::string text;
  for (const std::string& statement : tables()) {
    const bool own = statement.starts_with(fmt::format("CREATE TABLE {} (", kind)) ||
                     statement.starts_with(fmt::format("CREATE TRIGGER {}_", kind));
    if (own) text += statement + ";\n";
  }
  return text;
}

// Puts the rows of version 1 into a table that has more columns. A table that is dropped takes its
// triggers with it, and no other table names this one.
std::string widened(std::string_view kind, std::string_view columns) {
  return fmt::format(
      "ALTER TABLE {0} RENAME TO {0}_before;\n"
      "DROP TRIGGER {0}_UPDATE;\nDROP TRIGGER {0}_DELETE;\n{2}"
      "INSERT INTO {0} ({1}) SELECT {1} FROM {0}_before;\nDROP TABLE {0}_before",
      kind, columns, table_of(kind));
}

// Readings say how the fork moved and how many spacers were measured, predictions how far a ring
// may be off.
std::string to_version_2() {
  return widened("reading",
                 "number, what, fork, setting, value, value_unit, spread, spread_unit, travel, "
                 "load, instrument, remarks") +
         ";\n" +
         widened("prediction", "number, setting, ride, scene, file, history, program, remarks");
}

}  // namespace

std::string unit_column(const std::string& field) { return field + "_unit"; }

const LogFormat& log_format() {
  static const LogFormat format{kLogVersion, tables(), {{1, to_version_2()}}};
  return format;
}

}  // namespace plunge
