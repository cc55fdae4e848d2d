#include "tools/cli/csv.hpp"

#include <string_view>

#include "models/setup/shown.hpp"

namespace plunge {

std::string text_cell(const std::string& text) {
  std::string cell = shown(text);
  if (!cell.empty() && std::string_view("=+-@").find(cell.front()) != std::string_view::npos) {
    cell.insert(0, 1, ' ');
  }
  if (cell.find_first_of(",\"") == std::string::npos) return cell;
  std::string quoted = "\"";
  for (const char c : cell) quoted += c == '"' ? std::string("\"\"") : std::string(1, c);
  return quoted + "\"";
}

}  // namespace plunge
