// What the verbs of the log say of its entries: in workshop units to people, in SI to programs.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "sim/log/log_account.hpp"
#include "sim/log/log_content.hpp"

namespace plunge {

// Entries of one kind as a table: what none of them has is left out.
struct LogColumn {
  std::string name;
  std::string unit;  // as people say it; empty: none
  std::vector<std::string> cells;
  bool is_number = false;
};

// How numbers stand in a table.
enum class LogNumbers {
  said,  // as people say them
  all,   // in the same units, with all their digits: for spreadsheets
};

std::vector<LogColumn> log_columns(const LogContent& log, const LogKind& kind,
                                   const std::vector<const LogEntry*>& entries, bool bar,
                                   LogNumbers numbers);

// What an entry says, in one line.
std::string said_entry(const LogContent& log, const LogEntry& entry, bool bar);

// Field by field, a line each, with what its parent had where that differs.
std::string entry_text(const LogContent& log, const LogEntry& entry, bool bar);

// How well plunge has done: the rides, where asked, and the sums.
std::string account_text(const LogContent& log, const LogAccount& account, bool with_rides);
nlohmann::ordered_json account_json(const LogAccount& account);

// "3 forks, 12 settings", of what is not undone.
std::string counts_text(const LogContent& log);

}  // namespace plunge
