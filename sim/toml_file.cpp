#include "sim/toml_file.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "sim/text_file.hpp"

// The parser asserts what it takes for granted; some bad files, "a = ]", break that. Without NDEBUG
// it checks in every build, and a check that fails ends the parse.
namespace plunge {
struct ParserStopped {};
[[noreturn]] static void stop_parser() { throw ParserStopped(); }
}  // namespace plunge
#pragma push_macro("NDEBUG")
#undef NDEBUG
#define TOML_ASSERT(condition) ((condition) ? static_cast<void>(0) : plunge::stop_parser())
#include <toml++/toml.h>
#pragma pop_macro("NDEBUG")

namespace plunge {
namespace {

// Refuses dotted keys and brackets that nest deeper than the tree may be. The parser bounds
// brackets itself; keys such as a.a.a.a... it would follow without end.
void demand_shallow(std::string_view text, const std::string& file) {
  int line = 1;
  int dots = 0;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (c == '#') {
      i = std::min(text.find('\n', i), text.size()) - 1;
    } else if (c == '"' || c == '\'') {
      for (++i; i < text.size() && text[i] != c; ++i) {
        if (text[i] == '\n') ++line;
        if (text[i] == '\\' && c == '"') ++i;
      }
    } else if (c == '.') {
      if (++dots > kDeepestNesting) {
        throw InputError(Fault{"",
                               "",
                               fmt::format("must not nest deeper than {} levels", kDeepestNesting),
                               {file, line, 1}});
      }
    } else if (std::string_view(",{}[]=\n").find(c) != std::string_view::npos) {
      dots = 0;
      if (c == '\n') ++line;
    }
  }
}

// Builds the tree from what the parser gives.
class TreeBuilder {
 public:
  TreeBuilder(std::string_view text, const std::string& file) : text_(text), file_(file) {
    starts_.push_back(0);
    for (std::size_t i = 0; i < text.size(); ++i) {
      if (text[i] == '\n') starts_.push_back(i + 1);
    }
  }

  TomlNode node(const toml::node& from, int depth, bool in_array) const {
    TomlNode to;
    to.line = static_cast<int>(from.source().begin.line);
    to.column = static_cast<int>(from.source().begin.column);
    if (depth > kDeepestNesting) {
      throw InputError(Fault{"",
                             "",
                             fmt::format("must not nest deeper than {} levels", kDeepestNesting),
                             {file_, to.line, to.column}});
    }
    if (const auto* table = from.as_table()) {
      for (const auto& [key, value] : *table) {
        to.members.push_back({std::string(key.str()), static_cast<int>(key.source().begin.line),
                              static_cast<int>(key.source().begin.column),
                              node(value, depth + 1, false)});
      }
      std::ranges::stable_sort(to.members, [](const TomlMember& a, const TomlMember& b) {
        return std::pair(a.line, a.column) < std::pair(b.line, b.column);
      });
    } else if (const auto* array = from.as_array()) {
      to.kind = TomlNode::Kind::array;
      to.items.reserve(array->size());
      for (const auto& item : *array) to.items.push_back(node(item, depth + 1, true));
    } else if (const auto* text = from.as_string()) {
      to.kind = TomlNode::Kind::text;
      to.text = text->get();
    } else if (const auto* whole = from.as_integer()) {
      to.kind = TomlNode::Kind::whole;
      to.number = static_cast<double>(whole->get());
      to.text = written(from, in_array, fmt::format("{}", whole->get()));
    } else if (const auto* real = from.as_floating_point()) {
      to.kind = TomlNode::Kind::real;
      to.number = real->get();
      to.text = written(from, in_array, fmt::format("{}", real->get()));
    } else if (const auto* boolean = from.as_boolean()) {
      to.kind = TomlNode::Kind::boolean;
      to.text = boolean->get() ? "true" : "false";
    } else {
      to.kind = TomlNode::Kind::date;
      to.text = written(from, in_array, "a date");
    }
    return to;
  }

 private:
  // The source of a value, where it is on one line and cheap to find; else `otherwise`.
  std::string written(const toml::node& from, bool in_array, std::string otherwise) const {
    constexpr std::uint32_t kFarColumn = 2000;
    const auto& begin = from.source().begin;
    const auto& end = from.source().end;
    const bool on_line = begin.line == end.line && begin.line >= 1 && begin.line <= starts_.size();
    if (in_array || !on_line || begin.column >= end.column || end.column > kFarColumn) {
      return otherwise;
    }
    const std::string_view rest = text_.substr(starts_[begin.line - 1]);
    const std::size_t first = offset_of(rest, begin.column);
    const std::size_t last = offset_of(rest, end.column);
    std::string_view source = rest.substr(first, last - first);
    while (source.ends_with(' ') || source.ends_with('\r')) source.remove_suffix(1);
    return source.empty() ? otherwise : std::string(source);
  }

  // The byte at which the character of a 1-based column begins.
  static std::size_t offset_of(std::string_view line, std::uint32_t column) {
    std::size_t i = 0;
    for (std::uint32_t c = 1; c < column && i < line.size(); ++c) {
      ++i;
      while (i < line.size() && (static_cast<unsigned char>(line[i]) & 0xC0U) == 0x80U) ++i;
    }
    return i;
  }

  std::string_view text_;
  const std::string& file_;
  std::vector<std::size_t> starts_;
};

// What people mostly got wrong where the parser says so.
struct Hint {
  std::string_view parser_says;
  std::string_view hint;
};

constexpr Hint kHints[] = {
    {"could not determine value type", "a text stands in straight quotes, \"85 psi\""},
    {"expected a comment or whitespace", "a number with a unit stands in quotes, \"85 psi\""},
    {"unescaped control characters", "is a closing quote missing?"},
    {"escape sequence", "a path is written with / or with \\\\"},
    {"expected hex digit", "a path is written with / or with \\\\"},
};

// "Error while parsing value: expected ..." without its first words, with a hint where there is
// one.
std::string plain_rule(std::string_view description) {
  constexpr std::string_view kFirstWords = "Error while parsing ";
  if (description.find("TOML_MAX_NESTED_VALUES") != std::string_view::npos) {
    return fmt::format("must not nest deeper than {} levels", kDeepestNesting);
  }
  if (description.starts_with(kFirstWords)) description.remove_prefix(kFirstWords.size());
  std::string rule = fmt::format("is not TOML: {}", description);
  for (const Hint& hint : kHints) {
    if (description.find(hint.parser_says) == std::string_view::npos) continue;
    return rule + "; " + std::string(hint.hint);
  }
  return rule;
}

// The line that stops the parser: the first lines of a text stop it once they include that one.
int stopping_line(std::string_view text) {
  std::vector<std::size_t> ends;
  for (std::size_t i = text.find('\n'); i != std::string_view::npos; i = text.find('\n', i + 1)) {
    ends.push_back(i + 1);
  }
  ends.push_back(text.size());
  const auto stops = [&](std::size_t end) {
    try {
      static_cast<void>(toml::parse(text.substr(0, end)));
    } catch (const ParserStopped&) {
      return true;
    } catch (const toml::parse_error&) {
    }
    return false;
  };
  const auto first =
      std::ranges::partition_point(ends, [&](std::size_t end) { return !stops(end); });
  return static_cast<int>(first - ends.begin()) + 1;
}

}  // namespace

const TomlNode* TomlNode::find(std::string_view key) const {
  const auto found = std::ranges::find(members, key, &TomlMember::key);
  return found == members.end() ? nullptr : &found->value;
}

TomlFile read_toml(const std::string& path) { return parse_toml(read_text_file(path), path); }

TomlFile parse_toml(std::string_view text, const std::string& file) {
  demand_utf8(text, file);
  demand_shallow(text, file);
  try {
    const toml::table table = toml::parse(text, std::string_view(file));
    TomlFile result{file, TreeBuilder(text, file).node(table, 0, false)};
    return result;
  } catch (const ParserStopped&) {
    throw InputError(Fault{"", "", "is not TOML", {file, stopping_line(text), 1}});
  } catch (const toml::parse_error& error) {
    const auto& begin = error.source().begin;
    throw InputError(Fault{"",
                           "",
                           plain_rule(error.description()),
                           {file, static_cast<int>(begin.line), static_cast<int>(begin.column)}});
  }
}

std::string describe(const TomlNode& node) {
  switch (node.kind) {
    case TomlNode::Kind::text:
      return "the text " + toml_quoted(node.text);
    case TomlNode::Kind::whole:
    case TomlNode::Kind::real:
      return "the bare number " + node.text;
    case TomlNode::Kind::boolean:
      return "the boolean " + node.text;
    case TomlNode::Kind::date:
      return "a date";
    case TomlNode::Kind::array:
      return "an array";
    case TomlNode::Kind::table:
      return "a table";
  }
  return "nothing";
}

std::string toml_quoted(std::string_view text) {
  std::string quoted = "\"";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\') {
      quoted += '\\';
      quoted += c;
    } else if (byte < 0x20 || byte == 0x7F) {
      quoted += fmt::format("\\u{:04X}", static_cast<unsigned>(byte));
    } else {
      quoted += c;
    }
  }
  return quoted + "\"";
}

std::string toml_number(double value) {
  if (value == 0.0 && std::signbit(value)) return "-0.0";
  return fmt::format("{}", value);
}

}  // namespace plunge
