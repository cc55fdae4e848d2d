#include "sim/log/workshop_log.hpp"

#include <fmt/core.h>

#include "models/setup/fault.hpp"
#include "sim/log/log_json.hpp"
#include "sim/log/log_setups.hpp"

namespace plunge {
namespace {

template <class Thing>
Thing logged_thing(const LogContent& log, const char* kind, std::string_view word) {
  const LogEntry& entry = log.demand(demand_kind(kind), word, kind);
  return {entry.number, entry.text("name"), entry.text("file"), setup_of_thing(entry)};
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
  return logged_thing<LoggedFork>(log, "fork", fork);
}

LoggedRider logged_rider(const LogContent& log, std::string_view rider) {
  return logged_thing<LoggedRider>(log, "rider", rider);
}

LoggedSetting logged_setting(const LogContent& log, std::string_view setting) {
  const LogEntry& entry = log.demand(demand_kind("setting"), setting, "setting");
  return {entry.number,
          entry.text("name"),
          entry.reference("fork"),
          entry.reference("rider"),
          entry.reference("bike"),
          entry.reference("parent"),
          setup_of_setting(log, entry)};
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
    reading.instrument = entry->text("instrument");
    const LogEntry* setting = log.find(entry->reference("setting"));
    reading.setup = setting != nullptr ? setup_of_setting(log, *setting) : setup_of_thing(of);
    put_numbers(reading.setup, *entry);
    readings.push_back(std::move(reading));
  }
  return readings;
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
