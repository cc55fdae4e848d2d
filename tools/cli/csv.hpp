// Comma separated values by RFC 4180, for spreadsheets.
#pragma once

#include <string>

namespace plunge {

// A cell. Control characters are written out, and a text that a spreadsheet would take for a
// formula gets a blank before it.
std::string text_cell(const std::string& text);

}  // namespace plunge
