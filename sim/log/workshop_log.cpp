#include "sim/log/workshop_log.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "models/setup/fault.hpp"
#include "models/setup/judge.hpp"
#include "models/setup/parameters.hpp"
#include "sim/input/toml_values.hpp"
#include "sim/log/log_json.hpp"
#include "sim/log/log_setups.hpp"

namespace plunge {
namespace {

// Makes a reading that fit takes of one of the log; why it is none, or nothing.
std::string fitted_as(const LoggedReading& logged, const Setup& fork, Reading& reading) {
  const std::string word = logged.what.substr(0, logged.what.find_first_of(" ,"));
  const std::vector<ChoiceValue> kinds = reading_kinds();
  const int kind = find_value(kinds, word);
  if (kind < 0) return fmt::format("\"{}\" is no kind that plunge fit takes", logged.what);
  reading.kind = static_cast<ReadingKind>(kind);
  if (reading.kind == ReadingKind::ring) return "a ring is fitted from a file, with its scene";
  const ReadingRow& row = row_of(reading.kind);
  if (logged.unit != row.unit) return fmt::format("its value must be in {}", row.said);
  if (!in_range(logged.value, row.low, row.high)) {
    return "its value must be " + say_range(row.low, row.high, row.said);
  }
  if (std::isnan(logged.spread)) return "it says no spread";
  reading.reads = logged.value;
  reading.spread = logged.spread;
  reading.instrument = logged.instrument;
  reading.label = fmt::format("reading {} ({}){}", logged.number, row.name,
                              logged.instrument.empty() ? "" : ", " + logged.instrument);
  if (reads_moving(reading.kind) && !logged.moving.empty()) {
    reading.moving = static_cast<Moving>(find_value(movings(), logged.moving));
  }
  Reading said = reading;
  said.pressure = logged.setup.fork.pressure;
  // As a file says it: unset where they are the fork's own.
  if (logged.setup.fork.spacers != fork.fork.spacers) said.spacers = logged.setup.fork.spacers;
  said.travel = logged.travel;
  said.weight = logged.load;
  if (logged.count > 0) said.count = static_cast<double>(logged.count);
  for (const Field<Reading>& field : condition_fields()) {
    if (!is_read(field, reading)) continue;
    const double value = std::isnan(field.get(said)) ? field.fallback : field.get(said);
    field.set(reading, value);
    const bool needed = field.needed != nullptr && std::isnan(value);
    if (needed) return fmt::format("it lacks its {}: {}", field.name, field.meaning);
  }
  return {};
}

LogEntry mark(const LogContent& log, const char* kind, const char* field, std::int64_t target) {
  LogEntry entry;
  entry.number = log.next_number();
  entry.kind = &demand_kind(kind);
  entry.fields[field] = target;
  return entry;
}

}  // namespace

LoggedFork logged_fork(const LogContent& log, std::string_view fork) {
  const LogEntry& entry = log.demand(demand_kind("fork"), fork, "fork");
  return {entry.number, entry.text("name"), entry.text("file"), setup_of_thing(entry),
          knowledge_of_fork(entry)};
}

LoggedRider logged_rider(const LogContent& log, std::string_view rider) {
  const LogEntry& entry = log.demand(demand_kind("rider"), rider, "rider");
  return {entry.number, entry.text("name"), entry.text("file"), setup_of_thing(entry)};
}

LoggedSetting logged_setting(const LogContent& log, std::string_view setting) {
  const LogEntry& entry = log.demand(demand_kind("setting"), setting, "setting");
  return {entry.number,
          entry.text("name"),
          entry.reference("fork"),
          entry.reference("rider"),
          entry.reference("bike"),
          entry.reference("parent"),
          setup_of_setting(log, entry),
          knowledge_of_fork(*log.find(entry.reference("fork")), &entry)};
}

std::vector<LoggedReading> logged_readings(const LogContent& log, std::string_view fork) {
  const LogEntry& of = log.demand(demand_kind("fork"), fork, "fork");
  std::vector<LoggedReading> readings;
  for (const LogEntry* entry : log.of("reading")) {
    if (entry->reference("fork") != of.number) continue;
    const auto& [value, unit] = std::get<Measured>(*entry->find("value"));
    LoggedReading reading;
    reading.number = entry->number;
    reading.at = entry->at;
    reading.what = entry->text("what");
    reading.value = value;
    reading.unit = unit;
    if (const LogValue* spread = entry->find("spread")) {
      reading.spread = std::get<Measured>(*spread).value;
    }
    reading.travel = entry->quantity("travel");
    reading.load = entry->quantity("load");
    reading.moving = entry->text("moving");
    reading.count = std::max<std::int64_t>(0, entry->reference("count"));
    reading.instrument = entry->text("instrument");
    const LogEntry* setting = log.find(entry->reference("setting"));
    reading.setup = setting != nullptr ? setup_of_setting(log, *setting) : setup_of_thing(of);
    put_numbers(reading.setup, *entry);
    readings.push_back(std::move(reading));
  }
  return readings;
}

ReadingsToFit readings_to_fit(const LogContent& log, std::string_view fork) {
  ReadingsToFit found;
  found.readings.name = "readings of the log";
  found.readings.instruments = usual_instruments();
  found.readings.ambient = defaults().ambient;
  const Setup own = logged_fork(log, fork).setup;
  for (const LoggedReading& logged : logged_readings(log, fork)) {
    Reading reading;
    const std::string why = fitted_as(logged, own, reading);
    if (why.empty()) {
      found.readings.list.push_back(std::move(reading));
      found.numbers.push_back(logged.number);
    } else {
      found.left_out.push_back(fmt::format("reading {}: {}", logged.number, why));
    }
  }
  return found;
}

WorkshopLog::WorkshopLog(const std::string& path, Absent absent, const LogOptions& options)
    : database_(path, absent, options) {}

LogChange WorkshopLog::add(const LogDraft& draft) {
  LogChange change;
  change.log = database_.append([&](const LogContent& log) -> std::vector<LogEntry> {
    LogEntry entry = draft.entry(log);
    change.entry = entry.number;
    for (const LogEntry* other : log.of(entry.kind->name)) {
      change.was_there = entry.kind->fields.front().name == "name" &&
                         entry.kind->fields.front().needed && other->fields == entry.fields &&
                         other->numbers == entry.numbers;
      if (!change.was_there) continue;
      change.entry = other->number;
      return {};
    }
    return {std::move(entry)};
  });
  return change;
}

LogChange WorkshopLog::foretell(const LogDraft& setting, const LogDraft& prediction) {
  LogChange change;
  change.log = database_.append([&](const LogContent& log) {
    std::vector<LogEntry> added;
    LogContent grown = log;
    const LogEntry made = setting.entry(log);
    std::int64_t number = made.number;
    for (const LogEntry* other : log.of("setting")) {
      if (other->fields == made.fields && other->numbers == made.numbers) number = other->number;
    }
    if (number == made.number) {
      added.push_back(made);
      grown.entries.push_back(made);
    }
    LogEntry foretold = prediction.entry(grown);
    foretold.fields["setting"] = number;
    change.entry = foretold.number;
    added.push_back(std::move(foretold));
    return added;
  });
  return change;
}

LogChange WorkshopLog::undo() {
  LogChange change;
  change.log = database_.append([&](const LogContent& log) -> std::vector<LogEntry> {
    const LogEntry* last = log.last_content();
    if (last == nullptr) {
      throw InputError(Fault{"", database_.path(), "has nothing that could be undone", {}});
    }
    change.entry = last->number;
    return {mark(log, kUndo, "entry", last->number)};
  });
  return change;
}

LogChange WorkshopLog::redo() {
  LogChange change;
  change.log = database_.append([&](const LogContent& log) -> std::vector<LogEntry> {
    const LogEntry* undo = log.undo_in_force();
    if (undo == nullptr) {
      throw InputError(Fault{"",
                             database_.path(),
                             "has no undo to take back: none was made since the last addition",
                             {}});
    }
    change.entry = undo->reference("entry");
    return {mark(log, kRedo, "undo", undo->number)};
  });
  return change;
}

std::size_t WorkshopLog::import(const std::string& text, const std::string& file) {
  std::size_t added = 0;
  static_cast<void>(database_.append([&](const LogContent& log) {
    std::vector<LogEntry> entries = imported_entries(log, text, file);
    added = entries.size();
    return entries;
  }));
  return added;
}

}  // namespace plunge
