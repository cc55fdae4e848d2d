#include "sim/log/log_content.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <charconv>
#include <set>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "sim/text/utf8.hpp"

namespace plunge {
namespace {

constexpr std::int64_t kNone = -1;

// The number that a word is, kNone: it is none.
std::int64_t number_in(std::string_view word) {
  std::int64_t number = kNone;
  const char* end = word.data() + word.size();
  const auto [last, error] = std::from_chars(word.data(), end, number);
  return error == std::errc{} && last == end && number > 0 ? number : kNone;
}

}  // namespace

const LogValue* LogEntry::find(std::string_view field) const {
  const auto found = fields.find(field);
  return found == fields.end() ? nullptr : &found->second;
}

std::string LogEntry::text(std::string_view field) const {
  const LogValue* value = find(field);
  return value == nullptr ? "" : std::get<std::string>(*value);
}

double LogEntry::quantity(std::string_view field) const {
  const LogValue* value = find(field);
  return value == nullptr ? kUnset : std::get<double>(*value);
}

std::int64_t LogEntry::reference(std::string_view field) const {
  const LogValue* value = find(field);
  return value == nullptr ? kNone : std::get<std::int64_t>(*value);
}

void LogContent::settle() {
  std::map<std::int64_t, std::int64_t> target_of;  // by undo
  std::set<std::int64_t> undone;
  for (const LogEntry& entry : entries) {
    if (entry.kind->name == kUndo) {
      target_of[entry.number] = entry.reference("entry");
      undone.insert(entry.reference("entry"));
    } else if (entry.kind->name == kRedo) {
      const auto undo = target_of.find(entry.reference("undo"));
      if (undo == target_of.end()) continue;
      undone.erase(undo->second);
      undone.insert(undo->first);  // an undo that is not in force
    }
  }
  for (LogEntry& entry : entries) entry.undone = undone.contains(entry.number);
}

const LogEntry* LogContent::find(std::int64_t number) const {
  const auto found = std::ranges::lower_bound(entries, number, {}, &LogEntry::number);
  return found == entries.end() || found->number != number ? nullptr : &*found;
}

const LogEntry* LogContent::find_key(std::string_view key) const {
  const auto found = std::ranges::find(entries, key, &LogEntry::key);
  return found == entries.end() ? nullptr : &*found;
}

const LogEntry& LogContent::demand(const LogKind& kind, std::string_view word,
                                   const std::string& key) const {
  std::vector<std::string_view> names;
  for (const LogEntry* entry : of(kind.name)) {
    const LogValue* name = entry->find("name");
    if (name == nullptr) continue;
    names.emplace_back(std::get<std::string>(*name));
    if (names.back() == word) return *entry;
  }
  const LogEntry* entry = find(number_in(word));
  if (entry != nullptr && entry->kind != &kind) {
    throw InputError(
        Fault{key,
              std::string(word),
              fmt::format("must be {}, and is {}", one_of(kind.name), one_of(entry->kind->name)),
              {}});
  }
  if (entry != nullptr && entry->undone) {
    throw InputError(
        Fault{key, std::string(word), fmt::format("is a {} that was undone", kind.name), {}});
  }
  if (entry != nullptr) return *entry;
  throw InputError(Fault{key,
                         quoted_start(word),
                         fmt::format("is no name and no number of a {} in the log{}", kind.name,
                                     suggestion(word, names)),
                         {}});
}

const LogEntry& LogContent::demand(std::string_view word, const std::string& key) const {
  std::vector<const LogEntry*> named;
  std::vector<std::string_view> names;
  for (const LogEntry& entry : entries) {
    const LogValue* name = entry.find("name");
    if (name == nullptr || entry.undone) continue;
    names.emplace_back(std::get<std::string>(*name));
    if (names.back() == word) named.push_back(&entry);
  }
  if (named.size() == 1) return *named.front();
  if (named.size() > 1) {
    std::string rule = "is the name of";
    for (const LogEntry* entry : named) {
      rule += fmt::format("{} {} {}", entry == named.front() ? "" : ",", entry->kind->name,
                          entry->number);
    }
    throw InputError(Fault{key, quoted_start(word), rule + ": give the number", {}});
  }
  if (const LogEntry* entry = find(number_in(word))) return *entry;
  throw InputError(Fault{key,
                         quoted_start(word),
                         "is no name and no number of the log" + suggestion(word, names),
                         {}});
}

std::vector<const LogEntry*> LogContent::of(std::string_view kind) const {
  std::vector<const LogEntry*> found;
  for (const LogEntry& entry : entries) {
    if (entry.kind->name == kind && !entry.undone) found.push_back(&entry);
  }
  return found;
}

const LogEntry* LogContent::last_content() const {
  const LogEntry* last = nullptr;
  for (const LogEntry& entry : entries) {
    if (!entry.kind->is_mark && !entry.undone) last = &entry;
  }
  return last;
}

const LogEntry* LogContent::undo_in_force() const {
  const LogEntry* last = nullptr;
  for (const LogEntry& entry : entries) {
    if (!entry.kind->is_mark) last = nullptr;
    if (entry.kind->name == kUndo && !entry.undone) last = &entry;
  }
  return last;
}

std::string quoted_start(std::string_view text) {
  return "\"" + printable(text, kShownLetters) + "\"";
}

std::string name_of(const LogEntry& entry) {
  const std::string name = entry.text("name");
  return name.empty() ? fmt::format("{} {}", entry.kind->name, entry.number)
                      : fmt::format("{} \"{}\"", entry.kind->name, name);
}

}  // namespace plunge
