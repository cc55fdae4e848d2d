// What the program says: results on standard output, everything else on standard error.
#pragma once

#include <fmt/core.h>

#include <string_view>
#include <utility>

namespace plunge {

void say_text(std::string_view text);  // on standard output
// From here on what is said goes to standard error: the standard output is a file of results.
void say_on_standard_error();

void tell_text(std::string_view text);  // on standard error

template <class... Values>
void say(fmt::format_string<Values...> format, Values&&... values) {
  say_text(fmt::format(format, std::forward<Values>(values)...));
}

template <class... Values>
void tell(fmt::format_string<Values...> format, Values&&... values) {
  tell_text(fmt::format(format, std::forward<Values>(values)...));
}

}  // namespace plunge
