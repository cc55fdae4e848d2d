#include "sim/text/utf8.hpp"

#include <fmt/core.h>

#include <algorithm>

#include "models/setup/fault.hpp"

namespace plunge {
namespace {

// Bytes of the UTF-8 character at `i`, 0: none that is valid. Unicode 15, table 3-7.
std::size_t character_length(std::string_view text, std::size_t i) {
  const auto byte = [&](std::size_t k) {
    return k < text.size() ? static_cast<unsigned char>(text[k]) : 0U;
  };
  const auto follows = [&](std::size_t k) { return (byte(k) & 0xC0U) == 0x80U; };
  const unsigned first = byte(i);
  if (first < 0x80) return 1;
  if (first >= 0xC2 && first <= 0xDF) return follows(i + 1) ? 2 : 0;
  if (first >= 0xE0 && first <= 0xEF) {
    const bool overlong = first == 0xE0 && byte(i + 1) < 0xA0;
    const bool surrogate = first == 0xED && byte(i + 1) > 0x9F;
    return follows(i + 1) && follows(i + 2) && !overlong && !surrogate ? 3 : 0;
  }
  if (first >= 0xF0 && first <= 0xF4) {
    const bool overlong = first == 0xF0 && byte(i + 1) < 0x90;
    const bool beyond = first == 0xF4 && byte(i + 1) > 0x8F;
    return follows(i + 1) && follows(i + 2) && follows(i + 3) && !overlong && !beyond ? 4 : 0;
  }
  return 0;
}

constexpr const char* kReplacement = "\xef\xbf\xbd";  // U+FFFD
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
  std::string out;
  std::size_t count = 0;
  for (std::size_t i = 0; i < text.size();) {
    if (count++ == longest) return out + kEllipsis;
    const std::size_t length = character_length(text, i);
    const auto c = static_cast<unsigned char>(text[i]);
    if (length == 0) {
      out += kReplacement;
    } else if (c < 0x20 || c == 0x7F) {
      out += ' ';
    } else {
      out += text.substr(i, length);
    }
    i += std::max<std::size_t>(length, 1);
  }
  return out;
}

}  // namespace plunge
