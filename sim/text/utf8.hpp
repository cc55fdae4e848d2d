// Text in UTF-8: whether it is, where its characters begin, how long it shows.
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

// One line that can be shown (models/setup/shown.hpp); what is longer than `longest` letters ends
// there in an ellipsis.
std::string printable(std::string_view text, std::size_t longest);

// The byte at which the character after the one at byte `at` begins, in a text that is UTF-8.
std::size_t next_character(std::string_view text, std::size_t at);

// The text as it is, or at most `most` bytes of it with "..." where it is longer; no character is
// cut in two.
std::string shortened(std::string_view text, std::size_t most);

}  // namespace plunge
