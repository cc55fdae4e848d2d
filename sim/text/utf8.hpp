// Whether a text is UTF-8.
#pragma once

#include <string>
#include <string_view>

namespace plunge {

// Throws InputError unless the text is UTF-8 without NUL; `file` names it in the fault, with line
// and column.
void demand_utf8(std::string_view text, const std::string& file);

}  // namespace plunge
