#include "sim/sweep/plan_difference.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <set>
#include <sstream>
#include <string_view>
#include <utility>
#include <vector>

#include "models/setup/fault.hpp"
#include "models/setup/knob.hpp"
#include "models/setup/parameters.hpp"
#include "sim/text/units.hpp"
#include "sim/text/utf8.hpp"
#include "sim/text/words.hpp"

namespace plunge {
namespace {

constexpr std::size_t kMostLines = 20;
constexpr std::size_t kLongest = 80;  // letters of a fact
constexpr std::size_t kListed = 8;    // values of an axis
constexpr std::string_view kAxis = "axis ";
constexpr std::string_view kBase = " | ";  // between a combination of files and a key

// Facts by what they are about, in the order of the text.
using Facts = std::vector<std::pair<std::string, std::string>>;

Facts facts_in(const std::string& text) {
  Facts facts;
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    const std::size_t sign = line.find(": ");
    if (line.empty()) continue;
    facts.emplace_back(line.substr(0, sign),
                       sign == std::string::npos ? "" : line.substr(sign + 2));
  }
  return facts;
}

// The unit in which people say the number of that name; empty: not known.
std::string said_of(const std::string& name, const std::string& unit) {
  if (name == sag_knob().name) return unit == "m" ? sag_length_knob().said : sag_knob().said;
  if (const Parameter* parameter = find_parameter(name)) return std::string(parameter->said);
  const std::string last = name.substr(name.rfind('.') + 1);
  const auto field_of = [&](const auto& fields) {
    const auto found = std::ranges::find_if(fields, [&](const auto& f) { return f.name == last; });
    return found == fields.end() ? std::string() : std::string(found->said);
  };
  if (name.starts_with("terrain[")) return field_of(feature_fields());
  if (name.starts_with("event[")) return field_of(event_fields());
  return {};
}

// A number in SI as people say it, "95 psi"; with its SI unit where no other is known.
std::string in_words(double value, const std::string& name, const std::string& unit) {
  const std::string said = said_of(name, unit);
  const CommonUnit* common = find_common_unit(said);
  if (common != nullptr && common->unit == unit) return say(value, said);
  return unit == "1" ? fmt::format("{}", value) : fmt::format("{} {}", value, unit);
}

// "60 to 95 psi in steps of 5", or the values one by one.
std::string values_in_words(const std::vector<double>& values, const std::string& name,
                            const std::string& unit) {
  std::vector<Quantity> said;
  for (const double value : values) said.push_back(split_quantity(in_words(value, name, unit)));
  const std::size_t count = said.size();
  const std::string behind = said.front().unit.empty() ? "" : " " + said.front().unit;
  const auto number = [&](std::size_t i) { return fmt::format("{:.6g}", said[i].number); };
  if (count > 2) {
    const double step = (said.back().number - said.front().number) / static_cast<double>(count - 1);
    const auto fits = [&](std::size_t i) {
      const double there = said.front().number + static_cast<double>(i) * step;
      return std::abs(said[i].number - there) <= 1e-4 * std::abs(step);
    };
    bool even = step > 0.0;
    for (std::size_t i = 1; i < count; ++i) even = even && fits(i);
    if (even) {
      return fmt::format("{} to {}{} in steps of {:.4g}", number(0), number(count - 1), behind,
                         step);
    }
  }
  std::vector<std::string> words;
  for (std::size_t i = 0; i < std::min(count, kListed); ++i) words.push_back(number(i));
  if (count <= kListed) return joined(words) + behind;
  return fmt::format("{} ... {}{} ({} values)", joined(words), number(count - 1), behind, count);
}

// The unit that stands behind a fact in brackets, which is taken off; "1" where there is none.
std::string take_unit(std::string& fact) {
  const std::size_t bracket = fact.rfind(" [");
  if (bracket == std::string::npos || fact.back() != ']') return "1";
  const std::string unit = fact.substr(bracket + 2, fact.size() - bracket - 3);
  fact.resize(bracket);
  return unit;
}

std::optional<double> number_in(const std::string& word) {
  std::istringstream stream(word);
  double number = 0.0;
  stream >> number;
  return stream && stream.eof() ? std::optional(number) : std::nullopt;
}

// "normal, mean 75, deviation 12" with units.
std::string distribution_in_words(const std::string& fact, const std::string& name,
                                  const std::string& unit) {
  std::istringstream parts(fact);
  std::vector<std::string> words;
  for (std::string part; std::getline(parts, part, ',');) {
    part = std::string(trimmed(part));
    const std::size_t blank = part.find(' ');
    const auto number =
        blank == std::string::npos ? std::nullopt : number_in(part.substr(blank + 1));
    if (!number) {
      words.push_back(part);
    } else if (part.starts_with("deviation")) {
      // A difference, and of a logarithm a bare number.
      const bool bare = words.front() == "log_normal";
      const bool kelvins = unit == "K";
      words.push_back("deviation " + (bare      ? fmt::format("{}", *number)
                                      : kelvins ? fmt::format("{} K", *number)
                                                : in_words(*number, name, unit)));
    } else {
      words.push_back(part.substr(0, blank + 1) + in_words(*number, name, unit));
    }
  }
  return joined(words);
}

// What an axis of numbers goes over.
std::string axis_in_words(std::string fact, const std::string& name) {
  const std::string unit = take_unit(fact);
  std::vector<double> values;
  std::istringstream words(fact);
  for (std::string word; words >> word;) {
    const std::optional<double> number = number_in(word);
    if (!number) return distribution_in_words(fact, name, unit);
    values.push_back(*number);
  }
  return values.empty() ? fact : values_in_words(values, name, unit);
}

// A number of a scene, which stands as in a scene file in SI units.
std::string setting_in_words(const std::string& fact, const std::string& name) {
  const bool text = fact.size() > 1 && fact.front() == '"' && fact.back() == '"';
  try {
    const Quantity quantity = split_quantity(text ? fact.substr(1, fact.size() - 2) : fact);
    return in_words(quantity.number, name, quantity.unit.empty() ? "1" : quantity.unit);
  } catch (const InputError&) {
    return fact;  // a word or a list
  }
}

bool is_file_axis(const std::string& name) {
  return name == "scene" || name == "fork" || name == "rider" || name == "bike";
}

// Both texts from where they differ, where they are long.
std::string was_and_is(const std::string& was, const std::string& is) {
  std::size_t start = 0;
  if (std::max(was.size(), is.size()) > kLongest) {
    while (start < std::min(was.size(), is.size()) && was[start] == is[start]) ++start;
    constexpr std::size_t kBefore = 30;  // bytes that stay in front
    const std::size_t least = start > kBefore ? start - kBefore : 0;
    const std::size_t blank = least > 0 ? was.find(' ', least) : 0;
    start = blank < start ? blank : least;
    while (start > 0 && (static_cast<unsigned char>(was[start]) & 0xc0) == 0x80) --start;
  }
  const auto part = [&](const std::string& text) {
    return (start > 0 ? "..." : "") + shortened(text.substr(start), kLongest);
  };
  return fmt::format("was {}, is {}", part(was), part(is));
}

std::vector<std::string> words_of(const std::string& list) {
  std::vector<std::string> words;
  std::istringstream stream(list);
  for (std::string word; std::getline(stream, word, ',');) words.emplace_back(trimmed(word));
  return words;
}

// "no longer a; new: b" of two lists; of the same things in another order, both.
std::string lists_in_words(const std::string& was, const std::string& is) {
  const std::vector<std::string> old_words = words_of(was);
  const std::vector<std::string> new_words = words_of(is);
  const auto only_in = [](const std::vector<std::string>& words,
                          const std::vector<std::string>& others) {
    std::vector<std::string> found;
    for (const std::string& word : words) {
      if (std::ranges::find(others, word) == others.end()) found.push_back(word);
    }
    return joined(found);
  };
  const std::string gone = only_in(old_words, new_words);
  const std::string fresh = only_in(new_words, old_words);
  if (gone.empty() && fresh.empty()) return was_and_is(was, is);
  if (fresh.empty()) return "no longer " + shortened(gone, kLongest);
  if (gone.empty()) return "new: " + shortened(fresh, kLongest);
  return fmt::format("no longer {}; new: {}", shortened(gone, kLongest),
                     shortened(fresh, kLongest));
}

// The combination of files that a fact is about; empty: none.
std::string base_in(const std::string& key) {
  const std::size_t base = key.find(kBase);
  return base == std::string::npos ? "" : key.substr(0, base);
}

std::set<std::string> bases_in(const Facts& facts) {
  std::set<std::string> bases{""};
  for (const auto& [key, fact] : facts) bases.insert(base_in(key));
  return bases;
}

// One difference, and where it is found.
struct Difference {
  std::string key;
  std::string text;
  std::vector<std::string> in;  // combinations of files
};

class Differences {
 public:
  // Empty: the fact is not there.
  void add(const std::string& key, const std::optional<std::string>& was,
           const std::optional<std::string>& is) {
    const std::string base = base_in(key);
    if (!base.empty()) {
      const std::string name = key.substr(base.size() + kBase.size());
      const auto words = [&](const std::string& fact) { return setting_in_words(fact, name); };
      put(name, text_of(was, is, words), base);
    } else if (key.starts_with(kAxis)) {
      const std::string name = key.substr(kAxis.size());
      const auto words = [&](const std::string& fact) {
        return is_file_axis(name) ? fact : axis_in_words(fact, name);
      };
      const bool files = is_file_axis(name) && was && is;
      put(name, files ? lists_in_words(*was, *is) : text_of(was, is, words), "");
    } else {
      const auto words = [](const std::string& fact) { return fact; };
      const bool lists = key.starts_with("kept ") && was && is;
      put(key, lists ? lists_in_words(*was, *is) : text_of(was, is, words), "");
    }
  }

  std::string text() const {
    std::string text;
    for (std::size_t i = 0; i < std::min(found_.size(), kMostLines); ++i) {
      const Difference& one = found_[i];
      text += one.key + ": " + one.text;
      if (!one.in.empty()) {
        const std::size_t more = one.in.size() - 1;
        text += fmt::format(" (in {}{})", one.in.front(),
                            more == 0 ? "" : " and " + counted(more, "combination") + " more");
      }
      text += "\n";
    }
    if (found_.size() > kMostLines) {
      text += fmt::format("and {} more\n", found_.size() - kMostLines);
    }
    return text;
  }

 private:
  template <class Words>
  static std::string text_of(const std::optional<std::string>& was,
                             const std::optional<std::string>& is, const Words& words) {
    if (was && is) return was_and_is(words(*was), words(*is));
    if (was) return fmt::format("was {}, is not there now", shortened(words(*was), kLongest));
    return fmt::format("was not there, is {}", shortened(words(*is), kLongest));
  }

  void put(const std::string& key, const std::string& text, const std::string& base) {
    const auto [place, fresh] = places_.try_emplace({key, text}, found_.size());
    if (fresh) found_.push_back({key, text, {}});
    if (!base.empty()) found_[place->second].in.push_back(base);
  }

  std::vector<Difference> found_;
  std::map<std::pair<std::string, std::string>, std::size_t> places_;
};

}  // namespace

std::string plan_difference(const std::string& before, const std::string& now) {
  const Facts old_facts = facts_in(before);
  const Facts new_facts = facts_in(now);
  const std::map<std::string, std::string> old_by_key(old_facts.begin(), old_facts.end());
  const std::map<std::string, std::string> new_by_key(new_facts.begin(), new_facts.end());
  // Of a combination that only one of them has, the axes tell.
  const std::set<std::string> old_bases = bases_in(old_facts);
  const std::set<std::string> new_bases = bases_in(new_facts);
  Differences differences;
  for (const auto& [key, was] : old_facts) {
    if (!new_bases.contains(base_in(key))) continue;
    const auto found = new_by_key.find(key);
    if (found == new_by_key.end()) {
      differences.add(key, was, std::nullopt);
    } else if (found->second != was) {
      differences.add(key, was, found->second);
    }
  }
  for (const auto& [key, is] : new_facts) {
    if (old_by_key.contains(key) || !old_bases.contains(base_in(key))) continue;
    differences.add(key, std::nullopt, is);
  }
  return differences.text();
}

}  // namespace plunge
