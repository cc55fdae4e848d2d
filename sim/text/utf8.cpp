#include "sim/text/utf8.hpp"

#include <fmt/core.h>

#include <algorithm>

#include "models/setup/fault.hpp"

namespace plunge {
namespace {

// Whether a byte goes on with a character that began before it.
bool goes_on(char byte) { return (static_cast<unsigned char>(byte) & 0xC0U) == 0x80U; }

constexpr const char* kEllipsis = "…";

}  // namespace

void demand_utf8(std::string_view text, const std::string& file) {
  int line = 1;
  int column = 1;
  for (std::size_t i = 0; i < text.size();) {
    const std::size_t length = character_length(text, i);
    if (length == 0 || text[i] == '\0') {
      const auto byte = static_cast<unsigned>(static_cast<unsigned char>(text[i]));
      throw InputError(Fault{"",
                             fmt::format("byte 0x{:02x}", byte),
                             "is not text: the file must be UTF-8",
                             {file, line, column}});
    }
    if (text[i] == '\n') {
      ++line;
      column = 0;
    }
    ++column;
    i += length;
  }
}

std::size_t count_letters(std::string_view text) {
  return static_cast<std::size_t>(std::ranges::count_if(
      text, [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

std::string printable(std::string_view text, std::size_t longest) {
  const std::string line = shown(text);
  if (count_letters(line) <= longest) return line;
  std::size_t end = 0;
  for (std::size_t count = 0; count < longest; ++count) end = next_character(line, end);
  return line.substr(0, end) + kEllipsis;
}

std::size_t next_character(std::string_view text, std::size_t at) {
  ++at;
  while (at < text.size() && goes_on(text[at])) ++at;
  return at;
}

std::string shortened(std::string_view text, std::size_t most) {
  if (text.size() <= most) return std::string(text);
  std::size_t cut = most;
  while (cut > 0 && goes_on(text[cut])) --cut;
  return std::string(text.substr(0, cut)) + "...";
}

}  // namespace plunge
