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

const std::vector<Example>& examples() {
  static const std::vector<Example> list = {
      {"ride",
       "plunge ride scenarios/scenes/drop-to-flat.toml --vary fork.spacers=0..4 --hold sag=22% "
       "-o spacers.h5",
       "0 to 4 spacers side by side, at equal sag"},
      {"ride",
       "plunge ride scenarios/scenes/drop-to-flat.toml --set fork.pressure=60psi -o soft.h5 "
       "--plot soft.png",
       "at a pressure of your own, drawn"},
      {"curve",
       "plunge curve scenarios/forks/teasel-150.toml --rider scenarios/riders/hazel.toml "
       "--spacers 0..4 --hold sag=22%",
       "a fork under a rider, by spacers"},
      {"curve", "plunge curve scenarios/scenes/roots.toml --plot curve.pdf",
       "the fork of a scene, drawn"},
      {"curve", "plunge curve scenarios/forks/bracken-200.toml --damper --plot damper.png",
       "its damper by every click, drawn"},
      {"compare", "plunge compare soft.h5 spacers.h5 --bar", "against the first, pressures in bar"},
      {"compare", "plunge compare spacers.h5 --plot spacers.svg", "the rides of one file, drawn"},
      {"table", "plunge table spacers.h5", "a row for each ride, for a spreadsheet"},
      {"table", "plunge table spacers.h5 --traces travel,fork_force --ride 0",
       "what happened in one ride"},
      {"modes", "plunge modes scenarios/scenes/roots.toml", "as the scene is"},
      {"modes", "plunge modes scenarios/scenes/roots.toml --set fork.rebound.clicks=4 --json",
       "with other clicks, for a program to read"},
      {"check", "plunge check scenarios/forks/*.toml", "every fork"},
      {"check", "plunge check scenarios/plans/drop.toml --json",
       "a plan with all that it names, for a program to read"},
      {"fork", "plunge fork --travel 140mm --stanchion 34mm", "the file of a fork, to look at"},
      {"fork",
       "plunge fork --travel 140mm --stanchion 34mm --spacer 8cm3 --name rented -o rented.toml "
       "--replace",
       "with the volume of a spacer, written"},
      {"fit", "plunge fit rented.toml scenarios/readings/rented-140.toml -o fitted.toml --replace",
       "the fork that was begun above, by three readings"},
      {"fit", "plunge fit rented.toml scenarios/readings/rented-140.csv --ask pressure --sag 25%",
       "the same readings as a table; what to read next for the pressure"},
      {"sweep", "plunge sweep scenarios/plans/drop.toml -o drop",
       "all of it; the same command goes on where it stopped"},
      {"sweep", "plunge sweep scenarios/plans/drop.toml -o part --shard 1/2",
       "half of it, as one task of two does"},
      {"sweep status", "plunge sweep status part", "how far it is"},
      {"sweep status", "plunge sweep status drop --json", "for a program to read"},
      {"sweep gather", "plunge sweep gather whole part drop",
       "what was ridden in two folders, put into one"},
      {"sweep gather", "plunge sweep gather whole drop --json",
       "the same folder again: only what is missing is copied"},
      {"sweep merge", "plunge sweep merge drop -o drop.h5", "a finished sweep"},
      {"sweep merge", "plunge sweep merge part -o so-far.h5 --partial", "what is there so far"},
      {"sweep report",
       "plunge sweep report drop.h5 --limit \"travel_use<=95%\" --best hand_force_max:min",
       "the ten best rides that keep travel in hand"},
      {"sweep report",
       "plunge sweep report drop.h5 --map travel_use:fork.pressure,fork.spacers --plot map.png",
       "travel over two settings, drawn"},
      {"suggest", "plunge suggest scenarios/briefs/first-season.toml",
       "what to set, and the next step to take"},
      {"suggest",
       "plunge suggest --fork scenarios/forks/sorrel-120.toml --rider scenarios/riders/wren.toml "
       "--scene scenarios/scenes/square-edge.toml --complaint harsh",
       "without a file"},
      {"log add", "plunge log add fork teasel file=scenarios/forks/teasel-150.toml",
       "a fork, with its file; the first entry begins the log"},
      {"log add", "plunge log add rider hazel mass=76kg front_share=40%", "a rider"},
      {"log add",
       "plunge log add setting fork=teasel rider=hazel fork.pressure=72psi fork.spacers=1",
       "how the fork is set up"},
      {"log add", "plunge log add note \"cap threads look worn\" about=teasel", "a note"},
      {"log list", "plunge log list", "everything, a line each"},
      {"log list", "plunge log list settings --bar", "one kind as a table, pressures in bar"},
      {"log show", "plunge log show teasel", "a fork, and what names it"},
      {"log show", "plunge log show 3 --json", "the third entry, for a program to read"},
      {"log undo", "plunge log undo", "the last entry is marked as undone"},
      {"log undo", "plunge log undo --json", "the one before it, too"},
      {"log redo", "plunge log redo", "the last undo is taken back"},
      {"log redo", "plunge log redo --json", "the one before it, too"},
      {"log export", "plunge log export", "everything, as JSON"},
      {"log export", "plunge log export --csv settings", "the settings, for a spreadsheet"},
      {"log export", "plunge log export -o log.json --replace", "into a file"},
      {"log import", "plunge log import log.json", "what the log does not have yet"},
      {"log import", "plunge log import log.json --log other.plunge-log", "into another log"},
      {"log backup", "plunge log backup -o copy.plunge-log --replace", "a copy"},
      {"log backup", "plunge log backup -o copy2.plunge-log --log other.plunge-log --replace",
       "of another log"},
      {"log", "plunge log", "how much it holds, and how well plunge has done"},
      {"log", "plunge log --json", "for a program to read"},
      {"help", "plunge help ride", "a verb"},
      {"help", "plunge help sweep merge", "a verb of a verb"},
      {"help", "plunge help metrics", "the names of all metrics"},
  };
  return list;
}

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
  constexpr std::array<std::string_view, 9> kFiles = {"FILE", "FILE...", "SCENE",    "FORK", "PLAN",
                                                      "DIR",  "FROM...", "READINGS", "BRIEF"};
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
    text += "  " + example.command + "\n";  // in one piece, to be taken as it is
  }
  if (app.get_parent() == nullptr) {
    if (!verbs.empty()) text += "\n" + full_name(app) + " help VERB explains a verb.\n";
    text += "\n" + wrapped(kCautions, width) + "\n";
  }
  return text;
}

}  // namespace plunge
