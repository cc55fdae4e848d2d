// The workshop's log: bikes, riders, forks, settings, rides, readings, predictions and notes.
//
//   WorkshopLog log("workshop.plunge-log");
//   const LoggedSetting setting = logged_setting(log.read(), "rental, as it came");
//   ride(setting.setup)
//
// A log is a SQLite file (log_database.hpp) that one program after the other may write. Nothing in
// it is ever changed: what is wrong is undone by a mark, and added again. Everything throws what
// log_database.hpp says: InputError for what is wrong with the log or with what is asked of it.
// Units are SI.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "models/setup/knowledge.hpp"
#include "models/setup/setup.hpp"
#include "sim/fit/readings.hpp"
#include "sim/log/log_content.hpp"
#include "sim/log/log_database.hpp"
#include "sim/log/log_draft.hpp"

namespace plunge {

// ---- what other parts read, by name or number ----

struct LoggedFork {
  std::int64_t number = 0;
  std::string name;
  std::string file;     // text of its TOML file; empty: none was given
  Setup setup;          // its file with its numbers laid over: setup.fork
  Knowledge knowledge;  // of its numbers, as its file says; without those that were laid over
};

struct LoggedRider {
  std::int64_t number = 0;
  std::string name;
  std::string file;
  Setup setup;  // setup.rider
};

struct LoggedSetting {
  std::int64_t number = 0;
  std::string name;       // empty: it has none
  std::int64_t fork = 0;  // numbers of entries; -1: none
  std::int64_t rider = 0;
  std::int64_t bike = 0;
  std::int64_t parent = 0;
  Setup setup;          // fork, rider, bike and what was set
  Knowledge knowledge;  // of the fork's numbers, without those that were set
};

struct LoggedReading {
  std::int64_t number = 0;
  std::string at;  // when it was added, UTC
  std::string what;
  double value = kUnset;   // in `unit`
  double spread = kUnset;  // standard deviation, likewise; NaN: not given
  std::string unit;        // SI, UDUNITS spelling
  double travel = kUnset;  // [m]; NaN: not given
  double load = kUnset;    // [kg]; NaN: not given
  std::string moving;      // "down"; empty: not said
  std::int64_t count = 0;  // spacers measured together; 0: not said
  std::string instrument;
  Setup setup;  // how the fork stood: its setting and the reading's own numbers
};

LoggedFork logged_fork(const LogContent& log, std::string_view fork);
LoggedRider logged_rider(const LogContent& log, std::string_view rider);
LoggedSetting logged_setting(const LogContent& log, std::string_view setting);
// All readings of a fork that are not undone, in their order.
std::vector<LoggedReading> logged_readings(const LogContent& log, std::string_view fork);

// A log's readings of a fork as plunge fit takes them.
struct ReadingsToFit {
  Readings readings;                  // with the usual instruments and ambient air
  std::vector<std::int64_t> numbers;  // of their entries
  std::vector<std::string> left_out;  // "reading 7: why"
};

// Of `what` the first word is the kind of reading (sim/fit/readings.hpp): what says no such word,
// or lacks a spread or a condition that its kind needs, is left out. A ring comes from a file of
// readings, with its scene.
ReadingsToFit readings_to_fit(const LogContent& log, std::string_view fork);

// ---- the log itself ----

// What became of an addition.
struct LogChange {
  LogContent log;        // as it is then
  std::int64_t entry{};  // that was added, undone or taken back; or that was there already
  bool was_there = false;
};

class WorkshopLog {
 public:
  explicit WorkshopLog(const std::string& path, Absent absent = Absent::refused,
                       const LogOptions& options = {});

  LogContent read() { return database_.read(); }

  // A bike, rider or fork of the same name and contents is there already and not added again.
  LogChange add(const LogDraft& draft);

  // A setting and what is foretold of it, both or neither; a setting that is there already with
  // the same contents is not added again, and the prediction is for that one. The change's entry is
  // the prediction's. `prediction`: its words name no setting.
  LogChange foretell(const LogDraft& setting, const LogDraft& prediction);

  // Marks the last entry that is not undone. Throws InputError where there is none.
  LogChange undo();

  // Takes back the last undo, unless something was added since.
  LogChange redo();

  // The entries of an export (log_json.hpp) that are not there yet: how many.
  std::size_t import(const std::string& text, const std::string& file);

  void back_up(const std::string& target) { database_.back_up(target); }

  // Whether opening began the log, and the copy that it made before a migration; empty: none.
  bool is_new() const { return database_.is_new(); }
  const std::string& copy() const { return database_.copy(); }

 private:
  LogDatabase database_;
};

}  // namespace plunge
