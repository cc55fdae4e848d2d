#include "sim/log/log_database.hpp"

#include <SQLiteCpp/Backup.h>
#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/core.h>
#include <sqlite3.h>

#include <algorithm>
#include <filesystem>
#include <optional>
#include <system_error>
#include <type_traits>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/folder.hpp"
#include "sim/disk/regular_file.hpp"
#include "sim/log/log_judge.hpp"

namespace plunge {
namespace {

// Header of a database: https://www.sqlite.org/fileformat2.html, 1.3.
constexpr std::string_view kMagic{"SQLite format 3\0", 16};
constexpr std::size_t kHeader = 100;  // [byte]
constexpr std::size_t kUserVersion = 60;
constexpr std::size_t kApplicationId = 68;

std::uint32_t big_endian(std::string_view bytes, std::size_t at) {
  std::uint32_t number = 0;
  for (std::size_t k = 0; k < 4; ++k) {
    number = number << 8U | static_cast<unsigned char>(bytes[at + k]);
  }
  return number;
}

[[noreturn]] void refuse(const std::string& path, std::string rule) {
  throw InputError(Fault{"", path, std::move(rule), {}});
}

[[noreturn]] void refuse_newer(const std::string& path, std::int64_t version, int own) {
  refuse(path,
         fmt::format("is a log of format {}: a newer plunge wrote it, this one reads up to {}",
                     version, own));
}

[[noreturn]] void refuse_damaged(const std::string& path, const std::string& how) {
  refuse(path, fmt::format("is a damaged log ({}): go on with a backup of it", how));
}

// What SQLite complains of, in the program's words.
[[noreturn]] void translate(const SQLite::Exception& error, const std::string& path, int wait) {
  switch (error.getErrorCode()) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      throw RunError(
          fmt::format("the log {} is being written by another program, which did not "
                      "end within {:g} s: try again",
                      path, wait / 1000.0));
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
      refuse_damaged(path, error.what());
    case SQLITE_READONLY:
      throw RunError(fmt::format("cannot write {}: it, or its folder, is read-only", path));
    case SQLITE_FULL:
      throw RunError(fmt::format("cannot write {}: No space left on device", path));
    case SQLITE_CANTOPEN:
      throw RunError(fmt::format("cannot open {} or make a journal beside it", path));
    default:
      throw RunError(fmt::format("the log {} failed: {}", path, error.what()));
  }
}

// The header of the file, empty where there is no file, or an empty one.
std::string header_of(const std::string& path) {
  std::error_code error;
  if (!std::filesystem::exists(path, error) && !error) return {};
  const RegularFile file(path);
  return file.read_at(0, static_cast<std::size_t>(std::min<std::uint64_t>(kHeader, file.size())));
}

[[noreturn]] void refuse_absent(const std::string& path, const char* how) {
  refuse(path, fmt::format("{}; plunge log add begins a log", how));
}

// Looks at the header before SQLite opens the file, which may write to it as it opens it. Whether
// there is one.
bool has_header(const std::string& path, Absent absent, int version) {
  const std::string header = header_of(path);
  if (header.empty()) {
    if (absent == Absent::begun) return false;
    std::error_code error;
    refuse_absent(path, std::filesystem::exists(path, error) ? "is empty" : "does not exist");
  }
  if (header.size() < kHeader || !header.starts_with(kMagic)) {
    refuse(path, "is no log of plunge, and no SQLite file");
  }
  if (big_endian(header, kApplicationId) != kLogApplication) {
    refuse(path, "is a SQLite file of another program, and no log of plunge");
  }
  const std::uint32_t found = big_endian(header, kUserVersion);
  if (found > static_cast<std::uint32_t>(version)) refuse_newer(path, found, version);
  return true;
}

// SQLite has a meaning of its own for some names.
std::string plain_name(const std::string& path) { return path[0] == '/' ? path : "./" + path; }

LogValue value_of(SQLite::Statement& row, int& at, const LogField& field) {
  const SQLite::Column column = row.getColumn(at++);
  switch (field.type) {
    case FieldType::whole:
    case FieldType::entry:
      return static_cast<std::int64_t>(column.getInt64());
    case FieldType::quantity:
      return column.getDouble();
    case FieldType::measured:
      return Measured{column.getDouble(), row.getColumn(at++).getString()};
    default:
      return column.getString();
  }
}

void read_kind(SQLite::Database& database, const LogKind& kind, LogContent& log) {
  std::string columns = "number";
  for (const LogField& field : kind.fields) {
    columns += fmt::format(", {}", field.name);
    if (field.type == FieldType::measured) columns += ", " + unit_column(std::string(field.name));
  }
  SQLite::Statement row(database,
                        fmt::format("SELECT {} FROM {} ORDER BY number", columns, kind.name));
  while (row.executeStep()) {
    const auto entry = std::ranges::lower_bound(
        log.entries, static_cast<std::int64_t>(row.getColumn(0).getInt64()), {}, &LogEntry::number);
    int at = 1;
    for (const LogField& field : kind.fields) {
      if (row.isColumnNull(at)) {
        at += field.type == FieldType::measured ? 2 : 1;
      } else {
        entry->fields.emplace(field.name, value_of(row, at, field));
      }
    }
  }
}

LogContent read_all(SQLite::Database& database) {
  LogContent log;
  SQLite::Statement row(database, "SELECT number, key, kind, at FROM entry ORDER BY number");
  while (row.executeStep()) {
    LogEntry entry;
    entry.number = row.getColumn(0).getInt64();
    entry.key = row.getColumn(1).getString();
    entry.kind = &demand_kind(row.getColumn(2).getString());
    entry.at = row.getColumn(3).getString();
    log.entries.push_back(std::move(entry));
  }
  for (const LogKind& kind : log_kinds()) read_kind(database, kind, log);
  SQLite::Statement number(database, "SELECT entry, name, value FROM quantity");
  while (number.executeStep()) {
    const auto entry = std::ranges::lower_bound(
        log.entries, static_cast<std::int64_t>(number.getColumn(0).getInt64()), {},
        &LogEntry::number);
    entry->numbers.emplace(number.getColumn(1).getString(), number.getColumn(2).getDouble());
  }
  log.settle();
  return log;
}

void bind(SQLite::Statement& statement, int& at, const LogValue& value) {
  if (const auto* measured = std::get_if<Measured>(&value)) {
    statement.bind(at++, measured->value);
    statement.bind(at++, measured->unit);
  } else if (const auto* text = std::get_if<std::string>(&value)) {
    statement.bind(at++, *text);
  } else if (const auto* number = std::get_if<double>(&value)) {
    statement.bind(at++, *number);
  } else {
    statement.bind(at++, std::get<std::int64_t>(value));
  }
}

void insert(SQLite::Database& database, const LogEntry& entry) {
  SQLite::Statement head(database,
                         "INSERT INTO entry (number, key, kind, at) VALUES (?, coalesce(?, "
                         "lower(hex(randomblob(16)))),"
                         " ?, coalesce(?, strftime('%Y-%m-%dT%H:%M:%SZ', 'now')))");
  head.bind(1, entry.number);
  if (!entry.key.empty()) head.bind(2, entry.key);
  head.bind(3, std::string(entry.kind->name));
  if (!entry.at.empty()) head.bind(4, entry.at);
  head.exec();
  std::string columns = "number";
  std::string places = "?";
  for (const auto& [name, value] : entry.fields) {
    columns += ", " + name;
    places += ", ?";
    if (!std::holds_alternative<Measured>(value)) continue;
    columns += ", " + unit_column(name);
    places += ", ?";
  }
  SQLite::Statement row(
      database, fmt::format("INSERT INTO {} ({}) VALUES ({})", entry.kind->name, columns, places));
  row.bind(1, entry.number);
  int at = 2;
  for (const auto& [name, value] : entry.fields) bind(row, at, value);
  row.exec();
  for (const auto& [name, value] : entry.numbers) {
    SQLite::Statement number(database, "INSERT INTO quantity VALUES (?, ?, ?)");
    number.bind(1, entry.number);
    number.bind(2, name);
    number.bind(3, value);
    number.exec();
  }
}

}  // namespace

class LogDatabase::File {
 public:
  File(const std::string& path, Absent absent, const LogOptions& options)
      : path_(path), wait_(options.wait), format_(*options.format) {
    if (path.empty()) refuse("\"\"", "is no name of a log");
    const bool there = has_header(path, absent, format_.version);
    if (!there && std::filesystem::path(path).has_parent_path()) {
      make_folders(std::filesystem::path(path).parent_path().string());
    }
    asked([&] {
      // Read-write for readers too, who roll back what a killed writer left. SQLite falls back to
      // reading where the file may not be written.
      database_.emplace(plain_name(path),
                        SQLite::OPEN_READWRITE | (there ? 0 : SQLite::OPEN_CREATE), wait_);
      for (const char* const setting :
           {"foreign_keys = ON", "journal_mode = DELETE", "synchronous = EXTRA",
            "trusted_schema = OFF", "cell_size_check = ON"}) {
        database_->exec(fmt::format("PRAGMA {}", setting));
      }
      // What was seen of the header may have been rolled back, as a writer was killed that began
      // it.
      if (pragma("page_count") == 0) begin_log(absent);
      check();
      if (version() < format_.version) migrate();
    });
  }

  // Runs what asks SQLite for something.
  template <class Ask>
  std::invoke_result_t<Ask> asked(Ask ask) {
    try {
      return ask();
    } catch (const SQLite::Exception& error) {
      translate(error, path_, wait_);
    }
  }

  void back_up(const std::string& target) {
    NewFile file(target, Links::followed, Part::named);
    asked([&] {
      SQLite::Database copy(plain_name(file.path()), SQLite::OPEN_READWRITE, wait_);
      // The file has no name yet that anyone reads; take_name() forces it to the disk.
      copy.exec("PRAGMA journal_mode = OFF");
      copy.exec("PRAGMA synchronous = OFF");
      SQLite::Backup backup(copy, *database_);
      constexpr int kAllPages = -1;
      if (const int code = backup.executeStep(kAllPages); code != SQLITE_DONE) {
        throw SQLite::Exception("backup", code);
      }
    });
    file.take_name();
  }

  SQLite::Database& database() { return *database_; }
  const std::string& path() const { return path_; }
  const std::string& copy() const { return copy_; }
  bool is_new() const { return fresh_; }

 private:
  std::int64_t pragma(const char* name) {
    return database_->execAndGet(fmt::format("PRAGMA {}", name)).getInt64();
  }
  std::int64_t version() { return pragma("user_version"); }

  void begin_log(Absent absent) {
    if (absent == Absent::refused) refuse_absent(path_, "is empty");
    SQLite::Transaction turn(*database_, SQLite::TransactionBehavior::IMMEDIATE);
    // Another program may have begun it meanwhile.
    fresh_ = database_->execAndGet("SELECT count(*) FROM sqlite_master").getInt64() == 0;
    if (!fresh_) return;
    database_->exec(fmt::format("PRAGMA application_id = {}", kLogApplication));
    for (const std::string& statement : format_.tables) database_->exec(statement);
    database_->exec(fmt::format("PRAGMA user_version = {}", format_.version));
    turn.commit();
  }

  // Everything that must hold of the file, looked at in one go.
  void check() {
    SQLite::Transaction look(*database_);
    const std::string found = database_->execAndGet("PRAGMA integrity_check(1)").getString();
    if (found != "ok") refuse_damaged(path_, found);
    if (pragma("application_id") != std::int64_t{kLogApplication}) {
      refuse(path_, "is a SQLite file of another program, and no log of plunge");
    }
    if (version() > format_.version) refuse_newer(path_, version(), format_.version);
    SQLite::Statement lost(*database_, "PRAGMA foreign_key_check");
    if (lost.executeStep()) refuse_damaged(path_, "an entry names another that is not there");
    if (version() != format_.version) return;
    demand_tables();
    SQLite::Statement alone(*database_, rows_without_their_half());
    if (alone.executeStep()) refuse_damaged(path_, "an entry is there in half");
  }

  // Numbers of entries without a row of their kind, and the other way round.
  static std::string rows_without_their_half() {
    std::string all;
    for (const LogKind& kind : log_kinds()) {
      all += fmt::format("{}SELECT number, '{}' AS kind FROM {}", all.empty() ? "" : " UNION ALL ",
                         kind.name, kind.name);
    }
    const std::string entries = "SELECT number, kind FROM entry";
    return fmt::format(
        "SELECT * FROM (SELECT * FROM ({0}) EXCEPT {1}) UNION ALL "
        "SELECT * FROM ({1} EXCEPT SELECT * FROM ({0}))",
        all, entries);
  }

  void demand_tables() {
    std::vector<std::string> found;
    SQLite::Statement row(*database_,
                          "SELECT sql FROM sqlite_master WHERE sql IS NOT NULL AND name "
                          "NOT LIKE 'sqlite@_%' ESCAPE '@'");
    while (row.executeStep()) found.push_back(row.getColumn(0).getString());
    std::vector<std::string> wanted = format_.tables;
    std::ranges::sort(found);
    std::ranges::sort(wanted);
    if (found != wanted) refuse(path_, "has other tables than a log of plunge");
  }

  void migrate() {
    SQLite::Transaction turn(*database_, SQLite::TransactionBehavior::IMMEDIATE);
    const std::int64_t begun = version();
    if (begun == format_.version) return;  // another program did it meanwhile
    std::string statements;
    for (std::int64_t at = begun; at < format_.version; ++at) {
      const auto step = std::ranges::find(format_.migrations, at, &LogMigration::from);
      if (step == format_.migrations.end()) {
        refuse(path_,
               fmt::format("is a log of format {}, which this plunge no longer reads", begun));
      }
      statements += step->statements + ";\n";
    }
    // Written from a reader's own connection; nothing in the file has changed yet.
    copy_ = free_name(fmt::format("{}.format-{}", path_, begun));
    File(path_, wait_).back_up(copy_);
    database_->exec(statements);
    database_->exec(fmt::format("PRAGMA user_version = {}", format_.version));
    turn.commit();
    check();
  }

  // A second connection, to copy from.
  File(const std::string& path, int wait) : path_(path), wait_(wait), format_(log_format()) {
    database_.emplace(plain_name(path), SQLite::OPEN_READONLY, wait);
  }

  static std::string free_name(const std::string& wanted) {
    std::string name = wanted;
    for (int count = 2; std::filesystem::exists(std::filesystem::symlink_status(name)); ++count) {
      name = fmt::format("{}-{}", wanted, count);
    }
    return name;
  }

  std::string path_;
  int wait_;
  const LogFormat& format_;
  std::optional<SQLite::Database> database_;
  bool fresh_ = false;
  std::string copy_;
};

LogDatabase::LogDatabase(const std::string& path, Absent absent, const LogOptions& options)
    : file_(std::make_unique<File>(path, absent, options)) {}

LogDatabase::~LogDatabase() = default;

const std::string& LogDatabase::path() const { return file_->path(); }
const std::string& LogDatabase::copy() const { return file_->copy(); }
bool LogDatabase::is_new() const { return file_->is_new(); }

LogContent LogDatabase::read() {
  return file_->asked([&] {
    SQLite::Transaction look(file_->database());
    return read_all(file_->database());
  });
}

LogContent LogDatabase::append(const Build& build) {
  return file_->asked([&] {
    SQLite::Database& database = file_->database();
    SQLite::Transaction turn(database, SQLite::TransactionBehavior::IMMEDIATE);
    LogContent log = read_all(database);
    const std::vector<LogEntry> added = build(log);
    if (added.empty()) return log;
    const std::size_t first = log.entries.size();
    log.entries.insert(log.entries.end(), added.begin(), added.end());
    if (Faults faults = judge_added(log, first); !faults.empty()) {
      throw InputError(std::move(faults));
    }
    for (const LogEntry& entry : added) insert(database, entry);
    log = read_all(database);
    turn.commit();
    return log;
  });
}

void LogDatabase::back_up(const std::string& target) { file_->back_up(target); }

}  // namespace plunge
