#include "sim/log/log_database.hpp"

#include <fmt/core.h>
#include <gtest/gtest.h>
#include <sqlite3.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <filesystem>
#include <functional>
#include <map>

#include "models/setup/fault.hpp"
#include "sim/text/words.hpp"
#include "tests/as_nobody.hpp"
#include "tests/small_log.hpp"

namespace plunge::log_database_test {
namespace {

namespace fs = std::filesystem;

bool says(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

void run_sql(const std::string& path, const std::string& statements) {
  sqlite3* database = nullptr;
  ASSERT_EQ(sqlite3_open(path.c_str(), &database), SQLITE_OK);
  char* message = nullptr;
  EXPECT_EQ(sqlite3_exec(database, statements.c_str(), nullptr, nullptr, &message), SQLITE_OK)
      << message;
  sqlite3_close(database);
}

std::string asked_of(const std::string& path, const std::string& statement) {
  sqlite3* database = nullptr;
  EXPECT_EQ(sqlite3_open_v2(path.c_str(), &database, SQLITE_OPEN_READONLY, nullptr), SQLITE_OK);
  sqlite3_stmt* row = nullptr;
  EXPECT_EQ(sqlite3_prepare_v2(database, statement.c_str(), -1, &row, nullptr), SQLITE_OK);
  std::string text;
  if (sqlite3_step(row) == SQLITE_ROW) {
    text = reinterpret_cast<const char*>(sqlite3_column_text(row, 0));
  }
  sqlite3_finalize(row);
  sqlite3_close(database);
  return text;
}

std::map<std::string, std::string> files_in(const fs::path& folder) {
  std::map<std::string, std::string> files;
  for (const auto& entry : fs::directory_iterator(folder)) {
    files[entry.path().filename()] = bytes_of(entry.path());
  }
  return files;
}

// What opening says, in both ways; not a byte in the folder changes.
std::string refusal(const SmallLog& log) {
  const auto before = files_in(log.directory().path());
  const std::string said = complaint([&] { LogDatabase(log.path(), Absent::refused).read(); });
  EXPECT_EQ(complaint([&] { log.add("note", {"x"}); }), said);
  EXPECT_THROW(LogDatabase(log.path(), Absent::begun), InputError);
  EXPECT_EQ(files_in(log.directory().path()), before);
  return said;
}

TEST(LogDatabase, BeginsWithTheFirstAdditionAndSaysWhatItIs) {
  const SmallLog log;
  EXPECT_TRUE(says(complaint([&] { log.read(); }), "a.plunge-log: does not exist"));
  EXPECT_FALSE(fs::exists(log.path()));
  {
    LogDatabase database(log.path(), Absent::begun);
    EXPECT_TRUE(database.is_new());
    EXPECT_TRUE(database.read().entries.empty());
  }
  EXPECT_FALSE(LogDatabase(log.path(), Absent::begun).is_new());
  EXPECT_EQ(asked_of(log.path(), "PRAGMA application_id"), std::to_string(0x706c6e67));
  EXPECT_EQ(asked_of(log.path(), "PRAGMA user_version"), std::to_string(kLogVersion));
  EXPECT_EQ(asked_of(log.path(), "PRAGMA journal_mode"), "delete");
  EXPECT_EQ(log.directory().entries(), 1u) << "no journal is left";
  // An empty file, as a program that was killed at the very start leaves it.
  std::ofstream(log.directory() / "empty");
  EXPECT_TRUE(says(complaint([&] { LogDatabase(log.directory() / "empty", Absent::refused); }),
                   "is empty"));
  EXPECT_TRUE(LogDatabase(log.directory() / "empty", Absent::begun).is_new());
  EXPECT_TRUE(LogDatabase(log.directory() / "sub/below/a", Absent::begun).is_new());
}

TEST(LogDatabase, NamesThatMeanSomethingToSqliteAreFilesToo) {
  const ScratchDirectory directory;
  const fs::path here = fs::current_path();
  fs::current_path(directory.path());
  for (const std::string name : {":memory:", "file:a?mode=memory", "it's", "a b", "-x"}) {
    EXPECT_TRUE(LogDatabase(name, Absent::begun).is_new());
    EXPECT_FALSE(LogDatabase(name, Absent::begun).is_new());
    EXPECT_GT(fs::file_size(directory.path() / name), 0u);
  }
  fs::current_path(here);
  EXPECT_THROW(LogDatabase("", Absent::begun), InputError);
  EXPECT_ANY_THROW(LogDatabase(directory.path().string(), Absent::begun));
}

TEST(LogDatabase, WhatIsNoLogIsRefusedAndLeftAsItIs) {
  const SmallLog log;
  std::ofstream(log.path()) << "type = \"fork\"\n";
  EXPECT_TRUE(says(refusal(log), "a.plunge-log: is no log of plunge, and no SQLite file"));
  fs::remove(log.path());
  run_sql(log.path(), "CREATE TABLE entry (number); PRAGMA user_version = 1");
  EXPECT_TRUE(says(refusal(log), "is a SQLite file of another program, and no log of plunge"));
  // One with a journal that asks to be rolled back is not even opened.
  std::ofstream(log.path() + "-journal") << std::string(8192, 'j');
  EXPECT_TRUE(says(refusal(log), "of another program"));
}

TEST(LogDatabase, ALogOfANewerPlungeOrWithOtherTablesIsRefused) {
  const SmallLog log;
  add_setting(log);
  run_sql(log.path(), "CREATE TABLE mine (a)");
  EXPECT_TRUE(says(refusal(log), "has other tables than a log of plunge"));
  run_sql(log.path(),
          "DROP TABLE mine; CREATE TRIGGER mine AFTER INSERT ON note BEGIN SELECT 1; END");
  EXPECT_TRUE(says(refusal(log), "has other tables than a log of plunge"));
  run_sql(log.path(), fmt::format("DROP TRIGGER mine; PRAGMA user_version = {}", kLogVersion + 1));
  EXPECT_TRUE(says(refusal(log), fmt::format("is a log of format {}: a newer plunge wrote it, this "
                                             "one reads up to {}",
                                             kLogVersion + 1, kLogVersion)));
  run_sql(log.path(), "PRAGMA user_version = 0");
  EXPECT_TRUE(says(refusal(log), "is a log of format 0, which this plunge no longer reads"));
  run_sql(log.path(), fmt::format("PRAGMA user_version = {}", kLogVersion));
  EXPECT_EQ(log.read().entries.size(), 3u);
}

// Every page spoilt in turn, and the file cut at every page: refused, or read as it was where
// nothing of it was hit that tells.
TEST(LogDatabase, ADamagedLogIsRefusedAndLeftAsItIs) {
  const SmallLog log;
  add_setting(log);
  for (int i = 0; i < 30; ++i) log.add("note", {"text=" + std::string(400, 'n')});
  const std::string whole = bytes_of(log.path());
  const auto write = [&](const std::string& bytes) {
    std::ofstream(log.path(), std::ios::binary | std::ios::trunc) << bytes;
  };
  constexpr std::size_t kPage = 4096;
  ASSERT_GT(whole.size(), 10 * kPage);
  std::size_t refused = 0;
  for (std::size_t page = 0; page < whole.size() / kPage; ++page) {
    std::string spoilt = whole;
    spoilt.replace(page * kPage + (page == 0 ? 100 : 0), 600, 600, '\x5a');
    write(spoilt);
    EXPECT_TRUE(says(refusal(log), "is a damaged log (")) << page;
    ++refused;
    if (page == 0) continue;
    write(whole.substr(0, page * kPage));
    EXPECT_TRUE(says(refusal(log), "is a damaged log (")) << page;
  }
  EXPECT_GT(refused, 10u);
  // An entry whose other half is gone: sound to SQLite, no log.
  write(whole);
  run_sql(log.path(),
          "PRAGMA writable_schema = ON; DROP TRIGGER note_DELETE; DELETE FROM note WHERE "
          "number = 7");
  for (const std::string& table : log_format().tables) {
    if (table.starts_with("CREATE TRIGGER note_DELETE")) run_sql(log.path(), table);
  }
  EXPECT_TRUE(says(refusal(log), "is a damaged log (an entry is there in half)"));
  write(whole);
  EXPECT_EQ(log.read().entries.size(), 33u);
}

// The mechanism, with a format that this test makes up: the next version has one more table.
TEST(LogDatabase, AnOlderLogIsCopiedAndThenBroughtUp) {
  const SmallLog log;
  add_setting(log);
  const std::string before = bytes_of(log.path());
  const std::string copy_path = fmt::format("{}.format-{}", log.path(), kLogVersion);
  LogFormat next = log_format();
  next.version = kLogVersion + 1;
  next.tables.emplace_back("CREATE TABLE tyre (number INTEGER PRIMARY KEY) STRICT");
  next.migrations = {{kLogVersion, next.tables.back()}};
  LogOptions options;
  options.format = &next;
  {
    LogDatabase database(log.path(), Absent::refused, options);
    EXPECT_EQ(database.copy(), copy_path);
    EXPECT_EQ(database.read().entries.size(), 3u);
  }
  EXPECT_EQ(asked_of(log.path(), "PRAGMA user_version"), std::to_string(kLogVersion + 1));
  EXPECT_EQ(asked_of(log.path(), "SELECT count(*) FROM tyre"), "0");
  // The copy is a log of the version before with all that was there.
  const SmallLog copy;
  fs::copy_file(copy_path, copy.path());
  EXPECT_EQ(copy.read().entries.size(), 3u);
  EXPECT_EQ(LogDatabase(log.path(), Absent::refused, options).copy(), "") << "once";
  EXPECT_TRUE(says(complaint([&] { log.read(); }), "a newer plunge wrote it"));

  // A step that fails leaves the log as it was; the copy's name is never taken twice.
  std::ofstream(log.path(), std::ios::binary | std::ios::trunc) << before;
  next.migrations = {
      {kLogVersion, "CREATE TABLE tyre (number INTEGER PRIMARY KEY) STRICT; SELECT nonsense"}};
  EXPECT_ANY_THROW(LogDatabase(log.path(), Absent::refused, options));
  EXPECT_EQ(bytes_of(log.path()), before);
  EXPECT_TRUE(fs::exists(copy_path + "-2"));
  EXPECT_EQ(log.read().entries.size(), 3u);
  next.migrations.clear();
  EXPECT_TRUE(says(complaint([&] { LogDatabase(log.path(), Absent::refused, options); }),
                   "which this plunge no longer reads"));
}

// tests/sim/log/version-1.sql: a log as plunge of log format 1 wrote it.
TEST(LogDatabase, ALogOfVersion1IsBroughtUpWithAllThatItHolds) {
  const SmallLog log;
  run_sql(log.path(), bytes_of("tests/sim/log/version-1.sql"));
  LogDatabase database(log.path(), Absent::refused);
  EXPECT_EQ(database.copy(), log.path() + ".format-1");
  const LogContent content = database.read();
  ASSERT_EQ(content.entries.size(), 8u);
  EXPECT_EQ(content.entries[3].text("what"), "sag");
  EXPECT_EQ(std::get<Measured>(*content.entries[3].find("value")), (Measured{0.033, "m"}));
  EXPECT_EQ(content.entries[3].text("instrument"), "ruler");
  EXPECT_DOUBLE_EQ(content.entries[5].numbers.at("travel_max"), 0.139);
  EXPECT_EQ(content.entries[5].text("scene"), "drop");
  EXPECT_TRUE(content.entries[6].undone);
  log.add("reading", {"push", "fork=teasel", "value=57kg", "moving=down"});
  EXPECT_EQ(log.read().entries.size(), 9u);
}

TEST(LogDatabase, AWriterThatDoesNotEndIsTold) {
  const SmallLog log;
  add_setting(log);
  sqlite3* other = nullptr;
  ASSERT_EQ(sqlite3_open(log.path().c_str(), &other), SQLITE_OK);
  ASSERT_EQ(sqlite3_exec(other, "BEGIN IMMEDIATE", nullptr, nullptr, nullptr), SQLITE_OK);
  LogOptions options;
  options.wait = 50;
  WorkshopLog busy(log.path(), Absent::refused, options);
  EXPECT_EQ(busy.read().entries.size(), 3u) << "readers go on";
  EXPECT_THROW(busy.undo(), RunError);
  EXPECT_TRUE(says(complaint([&] { busy.undo(); }),
                   "is being written by another program, which did not end within 0.05 s"));
  ASSERT_EQ(sqlite3_exec(other, "ROLLBACK", nullptr, nullptr, nullptr), SQLITE_OK);
  sqlite3_close(other);
  EXPECT_EQ(busy.undo().entry, 3);
}

TEST(LogDatabase, AReadOnlyLogIsReadAndNotWritten) {
  const SmallLog log;
  add_setting(log);
  fs::permissions(log.directory().path(), fs::perms(0555));
  fs::permissions(log.path(), fs::perms(0444));
  {
    const AsNobody nobody;
    EXPECT_EQ(log.read().entries.size(), 3u);
    EXPECT_TRUE(says(complaint([&] { log.undo(); }), "read-only"));
  }
  fs::permissions(log.directory().path(), fs::perms(0755));
}

TEST(LogDatabase, AFullDiskIsToldAndCostsNothing) {
  const SmallLog small("disk/a.plunge-log");
  fs::create_directory(small.directory() / "disk");
  const SmallDisk disk(small.directory() / "disk", "size=256k");
  if (!disk.mounted()) GTEST_SKIP() << "no file system can be mounted here";
  add_setting(small);
  std::string said;
  std::size_t added = 0;
  while (said.empty() && added < 1000) {
    said = small.refusal("note", {"text=" + std::string(9000, 'n')});
    if (said.empty()) ++added;
  }
  EXPECT_TRUE(says(said, "No space left on device")) << said;
  EXPECT_GT(added, 3u);
  EXPECT_EQ(small.read().of("note").size(), added);
  EXPECT_TRUE(
      says(complaint([&] { WorkshopLog(small.path()).back_up(small.directory() / "disk/b"); }),
           "No space left on device"));
  EXPECT_FALSE(fs::exists(small.directory() / "disk/b"));
}

TEST(LogDatabase, AFileThatMayGrowNoMoreIsToldAndCostsNothing) {
  const SmallLog log;
  add_setting(log);
  const auto size = static_cast<rlim_t>(fs::file_size(log.path()));
  const pid_t child = ::fork();
  if (child == 0) {
    std::signal(SIGXFSZ, SIG_IGN);
    const rlimit limit = {size + 4096, size + 4096};
    ::setrlimit(RLIMIT_FSIZE, &limit);
    const std::string said = log.refusal("note", {"text=" + std::string(9000, 'n')});
    ::_exit(says(said, log.path()) ? 0 : 1);
  }
  int status = 0;
  ::waitpid(child, &status, 0);
  EXPECT_EQ(status, 0);
  EXPECT_EQ(log.read().entries.size(), 3u);
  log.add("note", {"room again"});
}

TEST(LogDatabase, AllOrNothingIsAdded) {
  const SmallLog log;
  add_setting(log);
  LogDatabase database(log.path(), Absent::refused);
  const auto note = [](const LogContent& content, std::int64_t more, const char* text) {
    LogEntry entry;
    entry.number = content.next_number() + more;
    entry.kind = find_kind("note");
    entry.fields["text"] = std::string(text);
    return entry;
  };
  EXPECT_THROW(database.append([&](const LogContent& content) {
    return std::vector{note(content, 0, "good"), note(content, 1, "")};
  }),
               InputError);
  EXPECT_EQ(database.read().entries.size(), 3u);
  const LogContent after = database.append([&](const LogContent& content) {
    return std::vector{note(content, 0, "good"), note(content, 1, "better")};
  });
  EXPECT_EQ(after.entries.size(), 5u);
  EXPECT_EQ(after.entries.back().at.size(), 20u);
  EXPECT_EQ(after.entries.back().key.size(), 32u);
  EXPECT_NE(after.entries[3].key, after.entries[4].key);
}

TEST(LogDatabase, ABackupIsWholeAndAsTheLogWas) {
  const SmallLog log;
  add_setting(log);
  const std::string copy = log.directory() / "copy.plunge-log";
  LogDatabase database(log.path(), Absent::refused);
  // While another program waits to write.
  sqlite3* other = nullptr;
  ASSERT_EQ(sqlite3_open(log.path().c_str(), &other), SQLITE_OK);
  ASSERT_EQ(sqlite3_exec(other, "BEGIN IMMEDIATE", nullptr, nullptr, nullptr), SQLITE_OK);
  database.back_up(copy);
  sqlite3_close(other);
  EXPECT_EQ(asked_of(copy, "PRAGMA integrity_check"), "ok");
  EXPECT_EQ(asked_of(copy, "PRAGMA journal_mode"), "delete");
  const LogContent a = database.read();
  const LogContent b = LogDatabase(copy, Absent::refused).read();
  ASSERT_EQ(a.entries.size(), b.entries.size());
  for (std::size_t i = 0; i < a.entries.size(); ++i) EXPECT_EQ(a.entries[i].key, b.entries[i].key);
  EXPECT_EQ(log.directory().entries(), 2u);
  EXPECT_ANY_THROW(database.back_up(log.directory() / "no/where"));
}

}  // namespace
}  // namespace plunge::log_database_test
