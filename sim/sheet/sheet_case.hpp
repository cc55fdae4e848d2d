// Whose sheet it is: what is in the fork and what is to be set, from files, a brief or the log.
//
//   a fork's file     as it is; with settings beside it, before and after them
//   a brief           today's set-up and the next step that was suggested for it
//   the log           from one setting of a fork to another one of the same fork
// Set-ups come out settled (sim/input/settle.hpp), on level ground; the scenes are ridden with the
// same settings. Where the fork's file does not say its pressure, or guesses it, nothing is known
// of before. Throws InputError; a fault of what a request gives bears the name of its option.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "sim/log/log_content.hpp"
#include "sim/search/suggestion.hpp"
#include "sim/sheet/sheet_content.hpp"
#include "sim/text/text_files.hpp"

namespace plunge {

// Files, and numbers as text with units; empty: as the files say.
struct SheetRequest {
  std::string fork;
  std::string rider;
  std::string bike;
  std::vector<std::string> scenes;
  std::string spacers;
  std::string pressure;
  std::string sag;  // in place of a pressure
  std::string compression;
  std::string rebound;
  std::string temperature;  // where it is pumped
  std::string altitude;
  std::string ride_temperature;  // where it is ridden
  std::string ride_altitude;
};

SheetCase sheet_of_fork(const TextFiles& files, const SheetRequest& request);

// What was found for a brief; where no step is better, today's set-up alone.
SheetCase sheet_of_brief(const Brief& brief, const Suggestion& found);

SheetCase sheet_of_log(const LogContent& log, std::string_view from, std::string_view to);

}  // namespace plunge
