// The tables of a log's database and the versions of their format.
//
// Every entry has a row in `entry` and one of the same number in the table of its kind
// (log_kinds.hpp); its numbers by name stand in `quantity`. Triggers refuse to change or remove a
// row. The page scenarios/log.md holds the whole text.
//
// A database of an older version is copied and then brought up step by step, all in one
// transaction. A newer one is refused.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace plunge {

inline constexpr int kLogVersion = 2;                         // user_version of the database
inline constexpr std::uint32_t kLogApplication = 0x706c6e67;  // application_id, "plng"

// What makes version `from` + 1 of version `from`.
struct LogMigration {
  int from = 0;
  std::string statements;
};

struct LogFormat {
  int version = kLogVersion;
  std::vector<std::string> tables;  // statements that make an empty log of this version
  std::vector<LogMigration> migrations;
};

// The format of this plunge.
const LogFormat& log_format();

// The column in which a field keeps its value, and of what is measured that of its unit.
std::string unit_column(const std::string& field);

}  // namespace plunge
