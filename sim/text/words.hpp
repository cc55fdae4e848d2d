// Small things that readers and messages do with words.
#pragma once

#include <fmt/core.h>

#include <string>
#include <string_view>

namespace plunge {

// A text without the blanks at its ends; a view of it.
std::string_view trimmed(std::string_view text);

inline bool is_digit(char c) { return c >= '0' && c <= '9'; }

// The text as markup (SVG, HTML) has it between tags; `quoted`: inside the quotes of an attribute
// as well.
std::string markup_of(std::string_view text, bool quoted = false);

// "a, b, c".
template <class Range>
std::string joined(const Range& words) {
  std::string text;
  for (const auto& word : words) {
    if (!text.empty()) text += ", ";
    text += word;
  }
  return text;
}

// "\"a\", \"b\"".
template <class Range>
std::string quoted_list(const Range& words) {
  std::string text;
  for (const auto& word : words) {
    if (!text.empty()) text += ", ";
    text += fmt::format("\"{}\"", word);
  }
  return text;
}

}  // namespace plunge
