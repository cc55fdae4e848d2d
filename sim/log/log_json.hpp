// A log as JSON, for other programs and other logs: `plunge log export` and `plunge log import`.
//
// scenarios/log.md describes it. In short: {"type": "plunge log", "format": [1, 1],
// "program_version": ..., "entries": [...]}, every entry, undone or not, in the order of the log,
// in SI; an entry is named by its key, which is the same in every log.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "sim/log/log_content.hpp"

namespace plunge {

inline constexpr char kLogExportType[] = "plunge log";
inline constexpr int kLogExportMajor = 1;  // readers refuse another
inline constexpr int kLogExportMinor = 1;  // readers take any

// One entry; of what it names, the key.
nlohmann::ordered_json entry_json(const LogContent& log, const LogEntry& entry);

// The whole log, for people and diffs: a line or more for each entry.
std::string export_json(const LogContent& log);

// The entries of an export that `log` does not have, numbered as they would follow in it. `file`
// names the text in faults. Throws InputError: what is no JSON, with line and column; another type
// or major version; an unknown or missing key, a value of the wrong type, with the entry it is in;
// an entry that the log has with other contents. What fields and numbers must be, the judge says
// when they are added (log_judge.hpp).
std::vector<LogEntry> imported_entries(const LogContent& log, const std::string& text,
                                       const std::string& file);

}  // namespace plunge
