#include "sim/log/log_json.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>
#include <set>

#include "models/setup/fault.hpp"
#include "models/setup/shown.hpp"
#include "sim/text/utf8.hpp"
#include "sim/text/version.hpp"

namespace plunge {
namespace {

using Json = nlohmann::ordered_json;

constexpr std::size_t kKeyLetters = 32;
constexpr int kDeepest = 8;  // lists and objects in each other, past any export

// Line and column of a byte, from 1 on.
Place place_in(const std::string& text, std::size_t byte, const std::string& file) {
  const std::string_view before = std::string_view(text).substr(0, std::min(byte, text.size()));
  const std::size_t line_begin = before.rfind('\n') + 1;  // npos + 1 is 0
  return {file, static_cast<int>(1 + std::ranges::count(before, '\n')),
          static_cast<int>(1 + count_letters(before.substr(line_begin)))};
}

std::string said_of(const Json& value) {
  return printable(value.dump(-1, ' ', false, Json::error_handler_t::replace), kShownLetters);
}

bool is_time(std::string_view at) {
  constexpr std::string_view kForm = "0000-00-00T00:00:00Z";
  return std::ranges::equal(
      at, kForm, [](char c, char form) { return form == '0' ? c >= '0' && c <= '9' : c == form; });
}

class Import {
 public:
  Import(const LogContent& log, const std::string& file) : log_(log), file_(file) {}

  std::vector<LogEntry> read(const Json& document) {
    head(document);
    std::size_t place = 0;
    for (const Json& item : document.at("entries")) {
      entry(item, fmt::format("entries[{}].", place));
      ++place;
      if (faults_.size() >= kMostFaults) break;
    }
    if (!faults_.empty()) throw InputError(std::move(faults_));
    return std::move(added_);
  }

 private:
  static constexpr std::size_t kMostFaults = 100;

  void blame(const std::string& key, std::string value, std::string rule) {
    faults_.push_back({key, std::move(value), std::move(rule), {file_}});
  }
  [[noreturn]] void refuse(const std::string& key, std::string value, std::string rule) const {
    throw InputError(Fault{key, std::move(value), std::move(rule), {file_}});
  }

  void head(const Json& document) const {
    const auto type = document.is_object() ? document.find("type") : document.end();
    if (type == document.end() || *type != kLogExportType) {
      refuse("type", type == document.end() ? "" : said_of(*type),
             fmt::format("must be \"{}\": the file that plunge log export writes", kLogExportType));
    }
    const auto format = document.find("format");
    const bool whole = format != document.end() && format->is_array() && format->size() == 2 &&
                       (*format)[0].is_number_integer() && (*format)[1].is_number_integer();
    if (!whole) refuse("format", "", "must be two whole numbers");
    if ((*format)[0] != kLogExportMajor) {
      refuse("format", said_of(*format), fmt::format("must be {}.x", kLogExportMajor));
    }
    const auto entries = document.find("entries");
    if (entries == document.end() || !entries->is_array()) {
      refuse("entries", "", "must be a list");
    }
  }

  // A text of the entry's head; empty, with a fault, where it is none.
  std::string head_text(const Json& item, const std::string& where, const char* name) {
    const auto found = item.find(name);
    if (found != item.end() && found->is_string()) return found->get<std::string>();
    blame(where + name, found == item.end() ? "" : said_of(*found), "must be a text");
    return "";
  }

  void entry(const Json& item, const std::string& where) {
    if (!item.is_object()) return blame(where, said_of(item), "must be an object");
    LogEntry entry;
    entry.where = where;
    entry.key = head_text(item, where, "key");
    entry.at = head_text(item, where, "at");
    const std::string kind = head_text(item, where, "kind");
    const bool hexadecimal = std::ranges::all_of(
        entry.key, [](char c) { return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f'); });
    if (entry.key.size() != kKeyLetters || !hexadecimal) {
      return blame(where + "key", printable(entry.key, kShownLetters),
                   fmt::format("must be {} hexadecimal digits", kKeyLetters));
    }
    if (!is_time(entry.at)) {
      return blame(where + "at", printable(entry.at, kShownLetters),
                   "must be a time such as 2026-11-26T20:06:48Z");
    }
    const auto known = std::ranges::find(log_kinds(), kind, &LogKind::name);
    if (known == log_kinds().end()) {
      return blame(where + "kind", printable(kind, kShownLetters), "is no kind of entry");
    }
    entry.kind = &*known;
    if (!seen_.insert(entry.key).second) {
      return blame(where + "key", entry.key, "must be given once");
    }
    const LogEntry* there = log_.find_key(entry.key);
    entry.number = there != nullptr ? there->number
                                    : log_.next_number() + static_cast<std::int64_t>(added_.size());
    numbers_[entry.key] = entry.number;
    if (!parts(item, entry)) return;
    if (there == nullptr) {
      added_.push_back(std::move(entry));
    } else if (there->kind != entry.kind || there->at != entry.at ||
               there->fields != entry.fields || there->numbers != entry.numbers) {
      blame(where + "key", entry.key,
            fmt::format("is there already, as number {}, with other contents", there->number));
    }
  }

  // Fields and numbers; false: one of them is at fault.
  bool parts(const Json& item, LogEntry& entry) {
    const std::size_t before = faults_.size();
    for (const auto& [name, value] : item.items()) {
      const LogField* field = entry.kind->find(name);
      if (field != nullptr) {
        this->field(value, *field, entry);
      } else if (name == "numbers") {
        numbers(value, entry);
      } else if (name != "number" && name != "key" && name != "kind" && name != "at") {
        blame(entry.where + printable(name, kShownLetters), "",
              fmt::format("is no field of {}", one_of(entry.kind->name)));
      }
    }
    return faults_.size() == before;
  }

  void field(const Json& value, const LogField& field, LogEntry& entry) {
    const auto take = [&](LogValue taken) { entry.fields.emplace(field.name, std::move(taken)); };
    const auto wrong = [&](const char* rule) {
      blame(entry.where + std::string(field.name), said_of(value), rule);
    };
    switch (field.type) {
      case FieldType::name:
      case FieldType::text:
      case FieldType::kept:
        if (!value.is_string()) return wrong("must be a text");
        return take(value.get<std::string>());
      case FieldType::whole:
        if (!value.is_number_integer()) return wrong("must be a whole number");
        return take(value.get<std::int64_t>());
      case FieldType::quantity:
        if (!value.is_number()) return wrong("must be a number in SI");
        return take(value.get<double>());
      case FieldType::measured:
        if (!value.is_object() || value.size() != 2 || !value.contains("value") ||
            !value.contains("unit") || !value["value"].is_number() || !value["unit"].is_string()) {
          return wrong("must be {\"value\": a number in SI, \"unit\": its unit}");
        }
        return take(Measured{value["value"].get<double>(), value["unit"].get<std::string>()});
      case FieldType::entry: {
        const auto named =
            value.is_string() ? numbers_.find(value.get<std::string>()) : numbers_.end();
        if (named == numbers_.end()) return wrong("must be the key of an entry before it");
        return take(named->second);
      }
    }
  }

  void numbers(const Json& list, LogEntry& entry) {
    if (!list.is_object()) {
      return blame(entry.where + "numbers", said_of(list), "must be an object of numbers");
    }
    for (const auto& [name, value] : list.items()) {
      if (value.is_number()) {
        entry.numbers[name] = value.get<double>();
      } else {
        blame(entry.where + printable(name, kShownLetters), said_of(value),
              "must be a number in SI");
      }
    }
  }

  const LogContent& log_;
  const std::string& file_;
  std::map<std::string, std::int64_t> numbers_;  // in the log, of the entries so far, by key
  std::set<std::string> seen_;
  std::vector<LogEntry> added_;
  Faults faults_;
};

}  // namespace

Json entry_json(const LogContent& log, const LogEntry& entry) {
  Json object = {
      {"number", entry.number}, {"key", entry.key}, {"kind", entry.kind->name}, {"at", entry.at}};
  for (const LogField& field : entry.kind->fields) {
    const LogValue* value = entry.find(field.name);
    if (value == nullptr) continue;
    Json& place = object[std::string(field.name)];
    if (field.type == FieldType::entry) {
      place = log.find(std::get<std::int64_t>(*value))->key;
    } else if (const auto* measured = std::get_if<Measured>(value)) {
      place = {{"value", measured->value}, {"unit", measured->unit}};
    } else {
      std::visit(
          [&](const auto& held) {
            if constexpr (!std::is_same_v<std::decay_t<decltype(held)>, Measured>) place = held;
          },
          *value);
    }
  }
  if (!entry.numbers.empty()) object["numbers"] = entry.numbers;
  return object;
}

std::string export_json(const LogContent& log) {
  Json entries = Json::array();
  for (const LogEntry& entry : log.entries) entries.push_back(entry_json(log, entry));
  const Json document = {{"type", kLogExportType},
                         {"format", {kLogExportMajor, kLogExportMinor}},
                         {"program_version", kProgramVersion},
                         {"entries", std::move(entries)}};
  return shown_json(document.dump(2)) + "\n";
}

std::vector<LogEntry> imported_entries(const LogContent& log, const std::string& text,
                                       const std::string& file) {
  const auto demand_flat = [&](int depth, Json::parse_event_t, Json&) {
    if (depth <= kDeepest) return true;
    throw InputError(Fault{"", "", fmt::format("nests values deeper than {}", kDeepest), {file}});
  };
  Json document;
  try {
    document = Json::parse(text, demand_flat);
  } catch (const Json::parse_error& error) {
    throw InputError(Fault{"", "", "is no JSON from here on",
                           place_in(text, error.byte > 0 ? error.byte - 1 : 0, file)});
  } catch (const Json::out_of_range&) {
    throw InputError(Fault{"", "", "holds a number that is too large", {file}});
  }
  return Import(log, file).read(document);
}

}  // namespace plunge
