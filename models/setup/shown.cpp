#include "models/setup/shown.hpp"

#include <algorithm>

namespace plunge {
namespace {

// The number of a character of `length` bytes.
unsigned code_point(std::string_view text, std::size_t at, std::size_t length) {
  const auto byte = [&](std::size_t k) {
    return static_cast<unsigned>(static_cast<unsigned char>(text[at + k]));
  };
  if (length == 1) return byte(0);
  unsigned code = byte(0) & (0x7FU >> length);
  for (std::size_t k = 1; k < length; ++k) code = code << 6U | (byte(k) & 0x3FU);
  return code;
}

// Control characters, ends of lines and paragraphs, marks that turn the order of letters round and
// the mark of a byte order, which does not show, and its like, which are no characters.
bool is_hidden(unsigned code) {
  return code < 0x20 || (code >= 0x7F && code < 0xA0) || code == 0x061C || code == 0x200E ||
         code == 0x200F || (code >= 0x2028 && code <= 0x202E) ||
         (code >= 0x2066 && code <= 0x2069) || code == 0xFEFF || code == 0xFFFE || code == 0xFFFF;
}

std::string hexadecimal(unsigned number, int digits) {
  std::string text;
  for (int k = digits - 1; k >= 0; --k) {
    text += "0123456789abcdef"[number >> (4U * static_cast<unsigned>(k)) & 0xFU];
  }
  return text;
}

enum class Style { line, lines, json };

std::string written_out(std::string_view text, Style style) {
  const auto plain = [](char c) { return (c >= 0x20 && c < 0x7F) || c == '\n'; };
  if (style != Style::line && std::ranges::all_of(text, plain)) return std::string(text);
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t length = character_length(text, at);
    const std::string_view whole = text.substr(at, std::max<std::size_t>(length, 1));
    at += whole.size();
    const auto first = static_cast<unsigned char>(whole[0]);
    if (length == 0) {
      out += "\\x" + hexadecimal(first, 2);
      continue;
    }
    const unsigned code = code_point(whole, 0, length);
    if (!is_hidden(code) || (code == '\n' && style != Style::line)) {
      out += whole;
    } else if (style == Style::json || code > 0x7F) {
      out += "\\u" + hexadecimal(code, 4);
    } else {
      out += "\\x" + hexadecimal(code, 2);
    }
  }
  return out;
}

}  // namespace

std::size_t character_length(std::string_view text, std::size_t at) {
  const auto byte = [&](std::size_t k) {
    return k < text.size() ? static_cast<unsigned char>(text[k]) : 0U;
  };
  const auto follows = [&](std::size_t k) { return (byte(k) & 0xC0U) == 0x80U; };
  const unsigned first = byte(at);
  if (first < 0x80) return 1;
  if (first >= 0xC2 && first <= 0xDF) return follows(at + 1) ? 2 : 0;
  if (first >= 0xE0 && first <= 0xEF) {
    const bool overlong = first == 0xE0 && byte(at + 1) < 0xA0;
    const bool surrogate = first == 0xED && byte(at + 1) > 0x9F;
    return follows(at + 1) && follows(at + 2) && !overlong && !surrogate ? 3 : 0;
  }
  if (first >= 0xF0 && first <= 0xF4) {
    const bool overlong = first == 0xF0 && byte(at + 1) < 0x90;
    const bool beyond = first == 0xF4 && byte(at + 1) > 0x8F;
    const bool whole = follows(at + 1) && follows(at + 2) && follows(at + 3);
    return whole && !overlong && !beyond ? 4 : 0;
  }
  return 0;
}

std::string shown(std::string_view text) { return written_out(text, Style::line); }

std::string shown_lines(std::string_view text) { return written_out(text, Style::lines); }

std::string shown_json(std::string_view json) { return written_out(json, Style::json); }

}  // namespace plunge
