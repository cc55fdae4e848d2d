#include "tools/cli/help.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <string_view>

#include "sim/text/utf8.hpp"
#include "tools/cli/lines.hpp"

namespace plunge {
namespace {

constexpr std::size_t kWidestHead = 24;  // letters of an option that its words stand beside
constexpr std::size_t kNarrowPage = 60;  // letters; words stand below their option here
constexpr std::size_t kBelow = 6;        // blanks before them

// A name and what it means, side by side where there is room.
struct Entry {
  std::string head;
  std::string words;
};

std::string entries_text(const std::vector<Entry>& entries, std::size_t width) {
  std::size_t widest = 0;
  for (const Entry& entry : entries) {
    const std::size_t letters = count_letters(entry.head);
    if (letters <= kWidestHead) widest = std::max(widest, letters);
  }
  const std::size_t beside = width < kNarrowPage ? kBelow : widest + 4;
  std::string text;
  for (const Entry& entry : entries) {
    const std::size_t letters = count_letters(entry.head);
    text += "  " + entry.head;
    if (letters + 4 > beside) {
      text += "\n" + std::string(beside, ' ');
    } else {
      text += std::string(beside - letters - 2, ' ');
    }
    text += wrapped(entry.words, width, beside) + "\n";
  }
  return text;
}

std::string section(const char* heading, const std::vector<Entry>& entries, std::size_t width) {
  if (entries.empty()) return {};
  return fmt::format("\n{}:\n{}", heading, entries_text(entries, width));
}

Entry entry_of(const CLI::Option& option) {
  std::string head = fmt::format("{}", fmt::join(spellings(option), ", "));
  if (takes_value(option)) head += (head.empty() ? "" : " ") + option.get_type_name();
  const bool needed = option.get_required() && !option.get_positional();
  return {head, option.get_description() + (needed ? " (needed)" : "")};
}

}  // namespace

const char* const kCautions =
    "Suspension work can hurt. Let all air out before you open a fork, never exceed the maker's "
    "pressure or spacer limit, follow the maker's manual, and ask a qualified mechanic when in "
    "doubt. A prediction is no safety certificate.";

std::vector<Example> examples_of(const CLI::App& verb) {
  std::vector<Example> own;
  std::ranges::copy_if(examples(), std::back_inserter(own),
                       [&](const Example& example) { return example.verb == verb_name(verb); });
  return own;
}

std::vector<const CLI::App*> verbs_of(const CLI::App& app) {
  return app.get_subcommands([](const CLI::App*) { return true; });
}

std::vector<const CLI::Option*> options_of(const CLI::App& app, bool by_place) {
  std::vector<const CLI::Option*> options;
  for (const CLI::Option* option : app.get_options()) {
    if (option->get_positional() == by_place) options.push_back(option);
  }
  return options;
}

bool takes_value(const CLI::Option& option) { return option.get_items_expected_max() > 0; }

bool takes_file(const CLI::Option& option) {
  constexpr std::array<std::string_view, 10> kFiles = {
      "FILE", "FILE...", "SCENE", "FORK", "FORK...", "PLAN", "DIR", "FROM...", "READINGS", "BRIEF"};
  return takes_value(option) && std::ranges::find(kFiles, option.get_type_name()) != kFiles.end();
}

std::vector<std::string> spellings(const CLI::Option& option) {
  std::vector<std::string> names;
  for (const std::string& name : option.get_snames()) names.push_back("-" + name);
  for (const std::string& name : option.get_lnames()) names.push_back("--" + name);
  return names;
}

std::string verb_name(const CLI::App& app) {
  if (app.get_parent() == nullptr) return {};
  const std::string before = verb_name(*app.get_parent());
  return before.empty() ? app.get_name() : before + " " + app.get_name();
}

std::string full_name(const CLI::App& app) {
  const CLI::App* program = &app;
  while (program->get_parent() != nullptr) program = program->get_parent();
  const std::string verb = verb_name(app);
  return verb.empty() ? program->get_name() : program->get_name() + " " + verb;
}

std::string usage(const CLI::App& app) {
  std::string line = full_name(app);
  const bool has_verbs = !verbs_of(app).empty();
  const bool has_places = !options_of(app, true).empty();
  if (has_verbs && !has_places) {
    line += app.get_require_subcommand_min() > 0 ? " VERB" : " [VERB]";
  }
  for (const CLI::Option* option : options_of(app, true)) {
    // A verb with verbs needs what it takes wherever none of those is asked for.
    const bool needed = option->get_required() || has_verbs;
    line += needed ? " " + option->get_type_name() : " [" + option->get_type_name() + "]";
  }
  for (const CLI::Option* option : options_of(app, false)) {
    const std::vector<std::string> names = spellings(*option);
    const bool needed = option->get_required() || (has_verbs && names.back() == "--output");
    if (needed) line += " " + names.front() + " " + option->get_type_name();
  }
  return line + " [OPTION ...]";
}

std::string help_text(const CLI::App& app, std::size_t width) {
  std::string text = wrapped(full_name(app) + ": " + app.get_description(), width) + "\n\n";
  text += "usage: " + wrapped(usage(app), width, 7) + "\n";
  std::vector<Entry> verbs;
  for (const CLI::App* verb : verbs_of(app)) {
    const bool inner = !verb_name(app).empty();
    if (inner) text += "       " + wrapped(usage(*verb), width, 11) + "\n";
    verbs.push_back({verb->get_name(), verb->get_description()});
  }
  std::vector<Entry> places, options, shown;
  for (const CLI::Option* option : options_of(app, true)) places.push_back(entry_of(*option));
  for (const CLI::Option* option : options_of(app, false)) options.push_back(entry_of(*option));
  if (!places.empty()) text += "\n" + entries_text(places, width);
  text += section("Verbs", verbs, width) + section("Options", options, width);
  const std::vector<Example> own = examples_of(app);
  if (!own.empty()) text += "\nExamples:\n";
  for (const Example& example : own) {
    text += "  # " + wrapped(example.what, width, 4) + "\n";
    text += fmt::format("  {}\n", example.command);  // in one piece, to be taken as it is
  }
  if (app.get_parent() == nullptr) {
    if (!verbs.empty()) text += "\n" + full_name(app) + " help VERB explains a verb.\n";
    text += "\n" + wrapped(kCautions, width) + "\n";
  }
  return text;
}

}  // namespace plunge
