// What the program says: results on standard output, everything else on standard error.
//
// Control characters and bytes that are no UTF-8 are written out (models/setup/shown.hpp), wherever
// they come from. What cannot be written, into a closed or full output or to a reader that has
// gone, is remembered: the work goes on, its files are written, and close_voice() says so at the
// end. From one thread at a time.
#pragma once

#include <fmt/core.h>

#include <cstddef>
#include <string>
#include <string_view>
#include <utility>

namespace plunge {

// To be called before anything is opened: files must not land where standard output or standard
// error is closed, and neither a reader that goes nor a
// file that may grow no more must end the program.
void open_voice();

// Writes what is left to write. Returns the exit code: 1 in place of 0 where something that was
// said could not be written; standard error then tells which, and what remember_written() was told.
int close_voice(int code);

// Notes and progress from now on: none.
void be_quiet();

void say_text(std::string_view text);  // on standard output
void put_text(std::string_view text);  // on standard output, with its control characters
// From here on what is said goes to standard error: the standard output is a file of results.
void say_on_standard_error();
void tell_text(std::string_view text);  // on standard error: what is wrong
void note_text(std::string_view text);  // on standard error, unless quiet: what is good to know

template <class... Values>
void say(fmt::format_string<Values...> format, Values&&... values) {
  say_text(fmt::format(format, std::forward<Values>(values)...));
}

template <class... Values>
void tell(fmt::format_string<Values...> format, Values&&... values) {
  tell_text(fmt::format(format, std::forward<Values>(values)...));
}

template <class... Values>
void note(fmt::format_string<Values...> format, Values&&... values) {
  note_text(fmt::format(format, std::forward<Values>(values)...));
}

// What has been said is out before something that takes long begins.
void finish_saying();

// A file that is written, whatever becomes of what is said about it.
void remember_written(const std::string& path);

// A line on a terminal that the next one is written over; nothing where standard error is no
// terminal or all is to be quiet.
bool shows_progress();
void show_progress(std::string_view line);
void clear_progress();

// The line of the progress is gone however the work ends.
class ProgressLine {
 public:
  ProgressLine() = default;
  ProgressLine(const ProgressLine&) = delete;
  ~ProgressLine() { clear_progress(); }
};

// Letters to a line: what COLUMNS says, else as wide as the terminal that standard output is, else
// kPlainWidth; never less than kLeastWidth.
inline constexpr std::size_t kPlainWidth = 80;
inline constexpr std::size_t kLeastWidth = 20;
std::size_t line_width();

}  // namespace plunge
