// The SQLite file of a log: opened, checked, read, added to, copied.
//
// Rollback journal, synchronous=EXTRA: an entry is on the disk, and the journal's removal too, when
// append() returns. Writers take turns by immediate transactions, and wait for each other as long
// as LogOptions says. Every opening looks the whole file through.
//
// Refused, with nothing in the file or beside it changed: what is no SQLite file, a database of
// another program, one that a newer plunge wrote, one with other tables, and one that is damaged:
// InputError. RunError: busy, read-only, a full disk, one that fails. Whatever fails, the log is as
// it was before.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "sim/log/log_content.hpp"
#include "sim/log/log_schema.hpp"

namespace plunge {

struct LogOptions {
  int wait = 10'000;  // for other writers, at most [ms]
  const LogFormat* format = &log_format();
};

// What is done where there is no log.
enum class Absent { refused, begun };

class LogDatabase {
 public:
  // `begun`: a file that is not there, or is empty, becomes a log; missing folders are made.
  LogDatabase(const std::string& path, Absent absent, const LogOptions& options = {});
  ~LogDatabase();
  LogDatabase(const LogDatabase&) = delete;
  LogDatabase& operator=(const LogDatabase&) = delete;

  const std::string& path() const;

  // Whether this opening began the log, and the copy that it made before a migration; empty: none.
  bool is_new() const;
  const std::string& copy() const;

  // All entries, as they are at one moment.
  LogContent read();

  // Adds the entries that `build` makes of the log as it is, which no one else changes meanwhile:
  // all or none of them. Their numbers go on from LogContent::next_number(); keys and times that
  // are empty are made. Throws what `build` throws, and InputError with what the judge finds
  // (log_judge.hpp). Returns the log as it is then.
  using Build = std::function<std::vector<LogEntry>(const LogContent& log)>;
  LogContent append(const Build& build);

  // Writes a copy, whole or not at all, over what is there: gates are the caller's
  // (output_gate.hpp).
  void back_up(const std::string& target);

 private:
  class File;
  std::unique_ptr<File> file_;
};

}  // namespace plunge
