// UTF-8: what is one, how long it shows, and a line of it that can be shown.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace plunge {

// Throws InputError unless the text is UTF-8 without NUL; `file` names it in the fault, with line
// and column.
void demand_utf8(std::string_view text, const std::string& file);

// Number of code points, each taken for one letter.
std::size_t count_letters(std::string_view text);

// One line that can be shown: control characters are spaces, bytes that are no UTF-8 are U+FFFD,
// and what is longer than `longest` letters ends there in an ellipsis.
std::string printable(std::string_view text, std::size_t longest);

}  // namespace plunge
