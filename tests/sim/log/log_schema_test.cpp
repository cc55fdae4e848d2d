#include "sim/log/log_schema.hpp"

#include <gtest/gtest.h>
#include <sqlite3.h>

#include "sim/log/log_kinds.hpp"
#include "tests/small_log.hpp"

namespace plunge::log_schema_test {
namespace {

// What SQLite itself says of a statement on the file, past everything of plunge's.
std::string said_by_sqlite(const std::string& path, const std::string& statement) {
  sqlite3* database = nullptr;
  EXPECT_EQ(sqlite3_open(path.c_str(), &database), SQLITE_OK);
  sqlite3_exec(database, "PRAGMA foreign_keys = ON", nullptr, nullptr, nullptr);
  char* message = nullptr;
  const int code = sqlite3_exec(database, statement.c_str(), nullptr, nullptr, &message);
  const std::string said = code == SQLITE_OK ? "" : message;
  sqlite3_free(message);
  sqlite3_close(database);
  return said;
}

TEST(LogSchema, TheDatabaseItselfRefusesToChangeOrRemoveWhatItHolds) {
  const SmallLog log;
  add_setting(log);
  for (const char* const statement :
       {"UPDATE fork SET name = 'x'", "DELETE FROM fork", "UPDATE entry SET at = at",
        "DELETE FROM entry", "UPDATE quantity SET value = 1", "DELETE FROM quantity",
        "UPDATE setting SET remarks = 'x'", "DELETE FROM setting"}) {
    EXPECT_EQ(said_by_sqlite(log.path(), statement),
              "an entry of a log is never changed and never removed")
        << statement;
  }
}

TEST(LogSchema, TheDatabaseItselfKeepsTheConstraints) {
  const SmallLog log;
  add_setting(log);
  const auto said = [&](const char* statement) { return said_by_sqlite(log.path(), statement); };
  const std::string entry =
      "INSERT INTO entry VALUES (4, '0123456789abcdef0123456789abcdef', 'ride',"
      " '2026-11-26T20:06:48Z');";
  EXPECT_EQ(said((entry + "INSERT INTO ride (number, setting) VALUES (4, 3)").c_str()), "");
  EXPECT_EQ(said("INSERT INTO ride (number, setting) VALUES (5, 3)"),
            "FOREIGN KEY constraint failed");
  EXPECT_EQ(said("INSERT INTO ride (number, setting) VALUES (4, 1)"),
            "UNIQUE constraint failed: ride.number");
  EXPECT_EQ(said("INSERT INTO reading (number, fork) VALUES (1, 1)"),
            "NOT NULL constraint failed: reading.what");
  EXPECT_EQ(said("INSERT INTO quantity VALUES (3, 'fork.pressure', 1)"),
            "UNIQUE constraint failed: quantity.entry, quantity.name");
  EXPECT_EQ(said("INSERT INTO quantity VALUES (3, 'fork.x', 'text')"),
            "cannot store TEXT value in REAL column quantity.value");
  EXPECT_EQ(said("INSERT INTO quantity VALUES (3, 'fork.x', 9e999)"),
            "CHECK constraint failed: abs(value) <= 1e+30");
  EXPECT_EQ(said(entry.c_str()), "UNIQUE constraint failed: entry.number");
}

TEST(LogSchema, IsMadeInOneStatementATable) {
  // Two for each kind, entry and quantity, that keep its rows, and the table itself.
  EXPECT_EQ(log_format().tables.size(), 3 * (log_kinds().size() + 2));
  // One from each version to the next.
  EXPECT_EQ(log_format().migrations.size(), static_cast<std::size_t>(kLogVersion - 1));
  EXPECT_EQ(unit_column("spread"), "spread_unit");
}

}  // namespace
}  // namespace plunge::log_schema_test
