#include "tools/cli/complaint.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <string_view>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"

namespace plunge {
namespace {

std::string name_of(const CLI::Option& option) {
  const std::vector<std::string> names = spellings(option);
  return names.empty() ? option.get_type_name() : names.back();
}

std::string nearest(const std::string& word, const std::vector<std::string>& names) {
  return nearest_name(word, std::vector<std::string_view>(names.begin(), names.end()));
}

std::vector<std::string> option_names(const CLI::App& app) {
  std::vector<std::string> names;
  for (const CLI::Option* option : options_of(app, false)) {
    for (std::string& name : spellings(*option)) names.push_back(std::move(name));
  }
  return names;
}

// "sweep merge", or the program where it is no verb.
std::string short_name(const CLI::App& app) {
  return app.get_parent() == nullptr ? full_name(app) : verb_name(app);
}

// What was taken for a verb's own place and resembles one of its verbs; else empty.
std::string taken_for_verb(const CLI::App& verb) {
  std::vector<std::string> inner;
  for (const CLI::App* one : verbs_of(verb)) inner.push_back(one->get_name());
  for (const CLI::Option* option : options_of(verb, true)) {
    if (option->count() > 0 && !nearest(option->results().front(), inner).empty()) {
      return option->results().front();
    }
  }
  return {};
}

// The first verb of all that has an option of that name, or null.
const CLI::App* owner_of(const CLI::App& app, const std::string& name) {
  if (std::ranges::count(option_names(app), name) > 0) return &app;
  for (const CLI::App* verb : verbs_of(app)) {
    if (const CLI::App* owner = owner_of(*verb, name)) return owner;
  }
  return nullptr;
}

std::string unknown_option(const CLI::App& app, const CLI::App& verb, const std::string& word) {
  const std::string name = word.substr(0, word.find('='));
  const std::vector<std::string> own = option_names(verb);
  if (std::ranges::count(own, name) > 0) {
    return fmt::format("{} belongs behind the verb: {} {}", name, full_name(verb), name);
  }
  const std::string none = fmt::format("{} has no option \"{}\"", short_name(verb), name);
  if (const CLI::App* owner = owner_of(app, name)) {
    return fmt::format("{}; it belongs to \"{}\"", none, full_name(*owner));
  }
  // A single letter resembles any other.
  const std::string near = name.starts_with("--") ? nearest(name, own) : "";
  return near.empty() ? none : fmt::format("{}; did you mean \"{}\"?", none, near);
}

// What was left over.
std::string too_much(const CLI::App& app, const CLI::App& verb,
                     const std::vector<std::string>& words) {
  std::vector<std::string> left = app.remaining(true);
  // In the order in which they were given.
  std::ranges::stable_sort(left, {}, [&](const std::string& word) {
    return std::ranges::find(words, word) - words.begin();
  });
  const auto option =
      std::ranges::find_if(left, [](const std::string& word) { return word.starts_with("-"); });
  if (option != left.end()) return unknown_option(app, verb, *option);
  if (const std::string meant = taken_for_verb(verb); !meant.empty()) {
    return unknown_verb(verb, meant);
  }
  const std::string extra = left.empty() ? std::string() : left.front();
  if (!verbs_of(verb).empty() && options_of(verb, true).empty()) return unknown_verb(verb, extra);
  return fmt::format("\"{}\" is one too many: {}", extra, usage(verb));
}

// What was left out.
std::string too_little(const CLI::App& app, const CLI::App& verb,
                       const std::vector<std::string>& words) {
  const bool has_verbs = !verbs_of(verb).empty();
  std::vector<std::string> missing;
  for (const bool by_place : {true, false}) {
    for (const CLI::Option* option : options_of(verb, by_place)) {
      const std::string name = name_of(*option);
      const bool needed =
          option->get_required() || (has_verbs && by_place) || (has_verbs && name == "--output");
      if (!needed || option->count() > 0) continue;
      missing.push_back(by_place ? name
                                 : spellings(*option).front() + " " + option->get_type_name());
    }
  }
  if (&verb == &app && has_verbs) {
    const auto word = std::ranges::find_if(
        words, [](const std::string& given) { return !given.starts_with("-"); });
    if (word != words.end()) return unknown_verb(app, *word);
    for (const std::string& given : words) {
      if (std::ranges::count(option_names(app), given) == 0) {
        return unknown_option(app, app, given);
      }
    }
    std::vector<std::string> names;
    for (const CLI::App* one : verbs_of(app)) names.push_back(one->get_name());
    return fmt::format("a verb is needed: {}", fmt::join(names, ", "));
  }
  if (const std::string meant = taken_for_verb(verb); !meant.empty()) {
    return unknown_verb(verb, meant);
  }
  return fmt::format("{} needs {}: {}", short_name(verb), fmt::join(missing, " and "), usage(verb));
}

// Whether a text says a name, and not only its letters within another.
bool says(const std::string& text, const std::string& name) {
  constexpr std::string_view kOfNames =
      "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_";
  for (std::size_t at = 0; (at = text.find(name, at)) != std::string::npos; ++at) {
    const std::size_t end = at + name.size();
    const bool begins = at == 0 || kOfNames.find(text[at - 1]) == std::string_view::npos;
    const bool ends = end == text.size() || kOfNames.find(text[end]) == std::string_view::npos;
    if (begins && ends) return true;
  }
  return false;
}

// The option that an error is about, or null. The reader names it with its dashes or without.
const CLI::Option* option_in(const CLI::App& verb, const std::string& told) {
  for (const bool bare : {false, true}) {
    for (const CLI::Option* option : options_of(verb, false)) {
      for (const std::string& name : spellings(*option)) {
        if (says(told, bare ? name.substr(name.find_first_not_of('-')) : name)) return option;
      }
    }
  }
  return nullptr;
}

// An option with too many values, with none, or with one that it does not take.
std::string wrong_values(const CLI::Option& option, const std::vector<std::string>& words) {
  const std::string name = name_of(option);
  std::size_t given = 0;
  for (const std::string& word : words) {
    const std::string spelt = word.substr(0, word.find('='));
    const bool glued = !word.starts_with("--") && option.get_snames().size() == 1 &&
                       word.starts_with("-" + option.get_snames().front());
    given += glued || std::ranges::count(spellings(option), spelt) > 0 ? 1 : 0;
  }
  if (!takes_value(option)) return fmt::format("{} takes no value", name);
  if (given > 1 && option.get_items_expected_max() == 1) {
    return fmt::format("{} is given {} times: give it once", name, given);
  }
  return fmt::format("{} needs a value: {} {}", name, name, option.get_type_name());
}

}  // namespace

std::string empty_name(const CLI::App& app) {
  for (const bool by_place : {true, false}) {
    for (const CLI::Option* option : options_of(asked_verb(app), by_place)) {
      if (!takes_value(*option) || std::ranges::count(option->results(), "") == 0) continue;
      const std::string name = name_of(*option);
      return takes_file(*option) ? fmt::format("{} = \"\": is no name of a file", name)
                                 : fmt::format("{} is empty: give it as {} {}", name, name,
                                               option->get_type_name());
    }
  }
  return {};
}

const CLI::App& asked_verb(const CLI::App& app) {
  const CLI::App* verb = &app;
  while (!verb->get_subcommands().empty()) verb = verb->get_subcommands().back();
  return *verb;
}

std::string unknown_verb(const CLI::App& app, const std::string& word) {
  std::vector<std::string> names;
  for (const CLI::App* verb : verbs_of(app)) names.push_back(verb->get_name());
  const std::string before = verb_name(app).empty() ? "" : verb_name(app) + " ";
  const std::string near = nearest(word, names);
  const std::string none = fmt::format("there is no verb \"{}{}\"", before, word);
  return near.empty() ? none : fmt::format("{}; did you mean \"{}{}\"?", none, before, near);
}

std::string complaint(const CLI::App& app, const CLI::ParseError& error,
                      const std::vector<std::string>& words) {
  const CLI::App& verb = asked_verb(app);
  std::string text = empty_name(app);
  if (!text.empty()) return text;
  text = error.what();
  if (dynamic_cast<const CLI::ExtrasError*>(&error) != nullptr) {
    text = too_much(app, verb, words);
  } else if (dynamic_cast<const CLI::RequiredError*>(&error) != nullptr) {
    text = too_little(app, verb, words);
  } else if (const CLI::Option* option = option_in(verb, text)) {
    const bool converted = dynamic_cast<const CLI::ConversionError*>(&error) != nullptr;
    text = converted && option->count() > 0
               ? fmt::format("{} = {}: is no whole number that can be meant", name_of(*option),
                             option->results().front())
               : wrong_values(*option, words);
  }
  const bool bare = verb_name(verb).empty();
  const std::string program = full_name(app);
  const std::string how = verbs_of(app).empty() ? program + " --help" : program + " help";
  return fmt::format("{}; try: {}{}", shown(text), how, bare ? "" : " " + verb_name(verb));
}

}  // namespace plunge
