// Text in UTF-8: whether it is, and where its characters begin.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace plunge {

// Throws InputError unless the text is UTF-8 without NUL; `file` names it in the fault, with line
// and column.
void demand_utf8(std::string_view text, const std::string& file);

// The byte at which the character after the one at byte `at` begins, in a text that is UTF-8.
std::size_t next_character(std::string_view text, std::size_t at);

// The text as it is, or at most `most` bytes of it with "..." where it is longer; no character is
// cut in two.
std::string shortened(std::string_view text, std::size_t most);

}  // namespace plunge
