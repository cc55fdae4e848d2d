// A foreign text as people may see it: a name out of a file, the name of a file.
//
// What would move a cursor, colour a screen or turn the order of letters round is written out
// instead: bytes that are no UTF-8 and control characters as "\x1b", others as "\u202e". A text
// without any of them is as it was, so that showing a text twice shows it once.
// Not here: how long a text may be (sim/text/utf8.hpp).
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace plunge {

// Bytes of the UTF-8 character at byte `at`, 0: none that is valid. Unicode 15, table 3-7.
std::size_t character_length(std::string_view text, std::size_t at);

// One line.
std::string shown(std::string_view text);

// Lines that stay lines; all else is shown.
std::string shown_lines(std::string_view text);

// JSON that says the same without such characters, as escapes of its own. Takes JSON in UTF-8.
std::string shown_json(std::string_view json);

}  // namespace plunge
