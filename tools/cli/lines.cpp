#include "tools/cli/lines.hpp"

#include <algorithm>
#include <sstream>

#include "sim/text/utf8.hpp"

namespace plunge {

std::vector<std::string> broken(std::string_view text, std::size_t width) {
  std::vector<std::string> lines{""};
  std::istringstream words{std::string(text)};
  for (std::string word; words >> word;) {
    std::string& last = lines.back();
    if (last.empty()) {
      last = word;
    } else if (count_letters(last) + 1 + count_letters(word) <= width) {
      last += " " + word;
    } else {
      lines.push_back(word);
    }
  }
  return lines;
}

std::string wrapped(std::string_view text, std::size_t width, std::size_t indent) {
  std::string out;
  for (const std::string& line : broken(text, width - std::min(width, indent))) {
    if (!out.empty()) out += "\n" + std::string(indent, ' ');
    out += line;
  }
  return out;
}

}  // namespace plunge
