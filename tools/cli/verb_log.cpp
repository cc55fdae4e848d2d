#include <fmt/format.h>

#include <cstdlib>
#include <filesystem>
#include <system_error>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/disk/text_file.hpp"
#include "sim/log/log_json.hpp"
#include "sim/log/workshop_log.hpp"
#include "tools/cli/csv.hpp"
#include "tools/cli/json_number.hpp"
#include "tools/cli/log_words.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/table.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

using Json = nlohmann::ordered_json;

// Where the log stands: what --log says, else PLUNGE_LOG, else a file here.
std::string log_path(const LogVerbOptions& options) {
  if (!options.log.empty()) return options.log;
  const char* const said = std::getenv("PLUNGE_LOG");
  return said != nullptr && *said != '\0' ? said : kUsualLog;
}

// Words must not go into the log, nor into what is read.
void demand_words_elsewhere(const LogVerbOptions& options, std::vector<std::string> inputs = {}) {
  inputs.push_back(log_path(options));
  demand_free_standard_output(inputs);
}

void tell_of_copy(const LogVerbOptions& options, const WorkshopLog& log) {
  if (log.copy().empty()) return;
  note("{} is brought to the format of this plunge; as it was: {}\n", shown(log_path(options)),
       shown(log.copy()));
}

// All that a log has, for verbs that change nothing.
LogContent content_of(const LogVerbOptions& options) {
  WorkshopLog log(log_path(options));
  tell_of_copy(options, log);
  return log.read();
}

Json said_json(const LogContent& log, const LogEntry& entry) {
  Json object = entry_json(log, entry);
  object["undone"] = entry.undone;
  return object;
}

void say_json(const LogVerbOptions& options, const Json& more) {
  Json object = {{"file", log_path(options)}};
  object.update(more);
  say("{}\n", json_text({{"log", object}}));
}

// What add, undo and redo did to an entry.
int say_change(const LogVerbOptions& options, const WorkshopLog& log, const LogChange& change,
               const char* what) {
  tell_of_copy(options, log);
  remember_written(log_path(options));
  const LogEntry& entry = *change.log.find(change.entry);
  if (options.json) {
    say_json(options, {{"begun", log.is_new()},
                       {what, !change.was_there},
                       {"entry", said_json(change.log, entry)}});
    return 0;
  }
  if (log.is_new()) say("{} is begun\n", shown(log_path(options)));
  say("{} {} is {}: {}\n", entry.kind->name, entry.number,
      change.was_there ? "there already" : what, shown(said_entry(change.log, entry, options.bar)));
  return 0;
}

std::vector<const LogEntry*> wanted_entries(const LogContent& log, const LogVerbOptions& options) {
  const LogKind* kind = options.kind.empty() ? nullptr : &demand_kind(options.kind);
  std::vector<const LogEntry*> wanted;
  for (const LogEntry& entry : log.entries) {
    if (kind != nullptr && entry.kind != kind) continue;
    if (options.all || (!entry.undone && !entry.kind->is_mark)) wanted.push_back(&entry);
  }
  return wanted;
}

std::string list_text(const LogContent& log, const std::vector<const LogEntry*>& entries,
                      const LogVerbOptions& options) {
  if (entries.empty())
    return fmt::format("no {} in the log\n",
                       options.kind.empty() ? "entry" : demand_kind(options.kind).name);
  if (options.kind.empty()) {
    std::string text;
    for (const LogEntry* entry : entries) {
      text += shown(fmt::format("{:>4}  {}  {}{}: {}", entry->number, entry->at, entry->kind->name,
                                entry->undone ? ", undone" : "",
                                said_entry(log, *entry, options.bar))) +
              "\n";
    }
    return text;
  }
  Table table;
  const std::vector<LogColumn> columns =
      log_columns(log, demand_kind(options.kind), entries, options.bar, LogNumbers::said);
  for (const LogColumn& column : columns) table.column(column.name, column.unit);
  for (std::size_t row = 0; row < entries.size(); ++row) {
    std::vector<std::string> cells;
    for (const LogColumn& column : columns) {
      cells.push_back(column.cells[row].empty() ? "-" : column.cells[row]);
    }
    table.row(std::move(cells));
  }
  return table.text();
}

std::string csv_text(const LogContent& log, const std::vector<const LogEntry*>& entries,
                     const LogVerbOptions& options) {
  const std::vector<LogColumn> columns =
      log_columns(log, demand_kind(options.kind), entries, options.bar, LogNumbers::all);
  std::vector<std::string> cells;
  for (const LogColumn& column : columns) {
    cells.push_back(text_cell(with_unit(column.name, column.unit.empty() ? "1" : column.unit)));
  }
  std::string text = fmt::format("{}\r\n", fmt::join(cells, ","));
  for (std::size_t row = 0; row < entries.size(); ++row) {
    cells.clear();
    for (const LogColumn& column : columns) {
      cells.push_back(column.is_number ? column.cells[row] : text_cell(column.cells[row]));
    }
    text += fmt::format("{}\r\n", fmt::join(cells, ","));
  }
  return text;
}

// Entries that name an entry, in their order.
std::vector<const LogEntry*> named_by(const LogContent& log, const LogEntry& entry) {
  std::vector<const LogEntry*> others;
  for (const LogEntry& other : log.entries) {
    if (other.undone || other.kind->is_mark) continue;
    for (const LogField& field : other.kind->fields) {
      if (field.type == FieldType::entry && other.reference(field.name) == entry.number) {
        others.push_back(&other);
        break;
      }
    }
  }
  return others;
}

// The rides of an account that an entry is about: itself, those at a setting, or on a prediction.
LogAccount account_about(const LogContent& log, const LogEntry& entry) {
  LogAccount account = account_of(log);
  std::erase_if(account.rows, [&](const AccountRow& row) {
    return row.ride != entry.number && row.setting != entry.number &&
           row.prediction != entry.number;
  });
  account.foretold = {};
  account.afterwards = {};
  return account;
}

}  // namespace

int log_verb(const LogVerbOptions& options) {
  demand_words_elsewhere(options);
  std::error_code error;
  const bool there = std::filesystem::exists(log_path(options), error) || error;
  const LogContent log = there ? content_of(options) : LogContent();
  const LogAccount account = account_of(log);
  if (options.json) {
    Json counts = Json::object();
    for (const LogKind& kind : log_kinds()) {
      if (!kind.is_mark) counts[std::string(kind.name)] = log.of(kind.name).size();
    }
    say_json(options, {{"entries", counts}, {"account", account_json(account)}});
    return 0;
  }
  say("{}: {}\n", shown(log_path(options)),
      there ? counts_text(log) : "no log yet; plunge log add begins it");
  if (const LogEntry* last = log.last_content()) {
    say("last: {} {}, {}: {}\n", last->kind->name, last->number, last->at,
        shown(said_entry(log, *last, options.bar)));
  }
  say_text(account_text(log, account, false));
  return 0;
}

int log_add_verb(const LogVerbOptions& options) {
  const LogKind& kind = demand_kind(options.kind);
  if (kind.is_mark) {
    throw InputError(Fault{
        "kind", options.kind, fmt::format("is not added: plunge log {} does it", kind.name), {}});
  }
  const LogDraft draft(kind, options.words, disk_files(), seal_for(options.unsealed));
  demand_words_elsewhere(options, draft.inputs());
  WorkshopLog log(log_path(options), Absent::begun);
  return say_change(options, log, log.add(draft), "added");
}

int log_list_verb(const LogVerbOptions& options) {
  demand_words_elsewhere(options);
  const LogContent log = content_of(options);
  const std::vector<const LogEntry*> entries = wanted_entries(log, options);
  const bool accounts = !options.kind.empty() && demand_kind(options.kind).name == "prediction";
  const LogAccount account = accounts ? account_of(log) : LogAccount();
  if (options.json) {
    Json list = Json::array();
    for (const LogEntry* entry : entries) list.push_back(said_json(log, *entry));
    Json object = {{"entries", list}};
    if (accounts) object["account"] = account_json(account);
    say_json(options, object);
    return 0;
  }
  say_text(list_text(log, entries, options));
  const std::string text = account_text(log, account, true);
  if (!text.empty()) say("\n{}", text);
  return 0;
}

int log_show_verb(const LogVerbOptions& options) {
  demand_words_elsewhere(options);
  const LogContent log = content_of(options);
  const LogEntry& entry = log.demand(options.entry, "entry");
  const std::vector<const LogEntry*> others = named_by(log, entry);
  const LogAccount account = account_about(log, entry);
  if (options.json) {
    Json list = Json::array();
    for (const LogEntry* other : others) list.push_back(said_json(log, *other));
    say_json(options, {{"entry", said_json(log, entry)},
                       {"named_by", list},
                       {"account", account_json(account).at("rides")}});
    return 0;
  }
  say_text(entry_text(log, entry, options.bar));
  if (!others.empty()) say("\nnamed by\n");
  for (const LogEntry* other : others) {
    say("  {} {}: {}\n", other->kind->name, other->number,
        shown(said_entry(log, *other, options.bar)));
  }
  const std::string text = account_text(log, account, true);
  if (!text.empty()) say("\n{}", text);
  return 0;
}

int log_undo_verb(const LogVerbOptions& options) {
  demand_words_elsewhere(options);
  WorkshopLog log(log_path(options));
  return say_change(options, log, log.undo(), "undone");
}

int log_redo_verb(const LogVerbOptions& options) {
  demand_words_elsewhere(options);
  WorkshopLog log(log_path(options));
  return say_change(options, log, log.redo(), "back in the log");
}

int log_export_verb(const LogVerbOptions& options) {
  const bool to_file = !options.output.empty() && options.output != kStandardOutput;
  if (!options.csv.empty() && options.json && !to_file) {
    throw InputError(
        Fault{"--csv", options.csv, "goes where --json goes: name a file with --output", {}});
  }
  const LogContent log = content_of(options);
  LogVerbOptions asked = options;
  asked.kind = options.csv;
  const std::string text =
      options.csv.empty() ? export_json(log) : csv_text(log, wanted_entries(log, asked), asked);
  if (!to_file) {
    demand_words_elsewhere(options);
    put_text(text);
    return 0;
  }
  Outputs outputs;
  outputs.table = options.output;
  outputs.replace = options.replace;
  open_outputs(outputs, {log_path(options)});
  write_file_atomically(options.output, text);
  remember_written(options.output);
  if (options.json) {
    say_json(options, {{"written", options.output}});
  } else {
    say("{}: {} of {}\n", shown(options.output), counts_text(log), shown(log_path(options)));
  }
  return 0;
}

int log_import_verb(const LogVerbOptions& options) {
  const std::string text = read_text_file(options.input);
  demand_words_elsewhere(options, {options.input});
  // Looked through before a log is begun for it.
  static_cast<void>(imported_entries({}, text, options.input));
  WorkshopLog log(log_path(options), Absent::begun);
  const std::size_t added = log.import(text, options.input);
  tell_of_copy(options, log);
  remember_written(log_path(options));
  if (options.json) {
    say_json(options, {{"begun", log.is_new()}, {"added", added}});
    return 0;
  }
  if (log.is_new()) say("{} is begun\n", shown(log_path(options)));
  say("{}: {} added; what was there already is as it was\n", shown(log_path(options)),
      added == 1 ? "1 entry" : fmt::format("{} entries", added));
  return 0;
}

int log_backup_verb(const LogVerbOptions& options) {
  if (options.output == kStandardOutput) {
    throw InputError(Fault{"--output", options.output, "must be a file", {}});
  }
  std::error_code error;
  if (!options.replace && std::filesystem::exists(options.output, error)) {
    throw InputError(Fault{"--output",
                           options.output,
                           "is there already: name another file, or replace it with --replace",
                           {}});
  }
  Outputs outputs;
  outputs.table = options.output;
  outputs.replace = options.replace;
  open_outputs(outputs, {log_path(options)});
  WorkshopLog log(log_path(options));
  tell_of_copy(options, log);
  log.back_up(options.output);
  remember_written(options.output);
  if (options.json) {
    say_json(options, {{"written", options.output}});
  } else {
    say("{}: a copy of {}\n", shown(options.output), shown(log_path(options)));
  }
  return 0;
}

}  // namespace plunge
