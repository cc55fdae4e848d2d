// Writes what is installed beside the programs, from their command lines: the manual pages and the
// completions of the shells.
//
//   plunge_manual plunge.1|plunge_mpi.1|bash|zsh|fish    to standard output
#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <iterator>
#include <sstream>
#include <string>
#include <string_view>
#include <vector>

#include "sim/text/version.hpp"
#include "tools/cli/command_line.hpp"

namespace plunge {
namespace {

using Verbs = std::vector<const CLI::App*>;

std::string replaced(std::string text, std::string_view what, std::string_view by) {
  for (std::size_t at = 0; (at = text.find(what, at)) != std::string::npos; at += by.size()) {
    text.replace(at, what.size(), by);
  }
  return text;
}

// Every verb with its name as it is typed, "sweep status", those of a verb after it.
struct NamedVerb {
  std::string name;
  const CLI::App* verb;
};

std::vector<NamedVerb> all_verbs(const CLI::App& app, const std::string& before = "") {
  std::vector<NamedVerb> named;
  for (const CLI::App* verb : verbs_of(app)) {
    const std::string name = before + verb->get_name();
    named.push_back({name, verb});
    for (const NamedVerb& inner : all_verbs(*verb, name + " ")) named.push_back(inner);
  }
  return named;
}

// ---- manual pages ----

std::string troff(const std::string& text) {
  return replaced(replaced(replaced(text, "\\", "\\e"), "-", "\\-"), "\n.", "\n\\&.");
}

// The usage line: the command in bold, what stands for something else in italics.
std::string synopsis(const CLI::App& app) {
  std::string line;
  std::istringstream words(usage(app).substr(full_name(app).size()));
  for (std::string word; words >> word;) {
    const bool stands_for = word.find_first_of("ABCDEFGHIJKLMNOPQRSTUVWXYZ") != std::string::npos;
    line += stands_for ? " \\fI" + troff(word) + "\\fR" : " \\fB" + troff(word) + "\\fR";
  }
  return "\\fB" + troff(full_name(app)) + "\\fR" + line + "\n";
}

std::string described_examples(const CLI::App& app) {
  std::string text;
  for (const Example& example : examples_of(app)) {
    text += ".PP\n" + troff(example.what) + ":\n.PP\n.nf\n.RS\n" + troff(example.command) +
            "\n.RE\n.fi\n";
  }
  return text;
}

std::string described_options(const CLI::App& app) {
  std::string text;
  for (const bool positional : {true, false}) {
    for (const CLI::Option* option : options_of(app, positional)) {
      std::string head;
      for (const std::string& name : spellings(*option)) {
        head += (head.empty() ? "" : ", ") + ("\\fB" + troff(name) + "\\fR");
      }
      if (takes_value(*option)) {
        head += (head.empty() ? "" : " ") + ("\\fI" + troff(option->get_type_name()) + "\\fR");
      }
      text += ".TP\n" + head + "\n" + troff(option->get_description()) + "\n";
    }
  }
  return text;
}

std::string page_head(const char* name, const std::string& what) {
  return fmt::format(".TH {0} 1 \"\" \"plunge {1}\" \"User Commands\"\n.SH NAME\n{2} \\- {3}\n",
                     replaced(name, "plunge", "PLUNGE"), kProgramVersion, name, troff(what));
}

std::string exit_codes() {
  return ".SH EXIT STATUS\n.TP\n0\ndone\n.TP\n1\nthe run failed\n.TP\n2\nwrong input\n";
}

std::string manual_page() {
  const CommandLine line;
  const CLI::App& app = line.app();
  std::string page = page_head("plunge", app.get_description());
  page += ".SH SYNOPSIS\n" + synopsis(app);
  page += ".SH DESCRIPTION\n" + troff(app.get_description()) + ".\n";
  page += ".SH CAUTION\n" + troff(kCautions) + "\n.SH OPTIONS\n" + described_options(app);
  page +=
      ".SH VERBS\nThe examples work, one after the other, in the folder that holds scenarios.\n";
  for (const NamedVerb& named : all_verbs(app)) {
    page += ".SS " + troff("plunge " + named.name) + "\n";
    page += troff(named.verb->get_description()) + "\n.PP\n";
    page += synopsis(*named.verb) + described_options(*named.verb);
    page += described_examples(*named.verb);
  }
  return page + exit_codes() +
         ".SH SEE ALSO\nplunge_mpi(1). The formats of scenes and results and examples of both are "
         "installed as format.md, results.md and scenes.\n";
}

std::string hosts_page() {
  CLI::App app;
  SweepVerbOptions sweep;
  add_sweep_over_hosts(app, sweep);
  return page_head("plunge_mpi", app.get_description()) + ".SH SYNOPSIS\n" + synopsis(app) +
         ".SH DESCRIPTION\n" + troff(app.get_description()) + ".\n.SH CAUTION\n" +
         troff(kCautions) + "\n.SH OPTIONS\n" + described_options(app) + exit_codes() +
         ".SH SEE ALSO\nplunge(1)\n";
}

// ---- completions ----

std::string shell_quoted(const std::string& text) {
  return "'" + replaced(text, "'", "'\\''") + "'";
}

std::vector<std::string> names_of(const Verbs& verbs) {
  std::vector<std::string> names;
  for (const CLI::App* verb : verbs) names.push_back(verb->get_name());
  return names;
}

// What may stand after a verb: its own verbs and its options.
std::vector<std::string> words_after(const CLI::App& app) {
  std::vector<std::string> words = names_of(verbs_of(app));
  for (const CLI::Option* option : options_of(app, false)) {
    for (const std::string& name : spellings(*option)) words.push_back(name);
  }
  return words;
}

std::string bash() {
  const CommandLine line;
  std::string text =
      "# Completion of plunge for bash.\n"
      "_plunge() {\n"
      "  local word=${COMP_WORDS[COMP_CWORD]} verb= i words\n"
      "  for ((i = 1; i < COMP_CWORD; ++i)); do\n"
      "    case \"${verb:+$verb }${COMP_WORDS[i]}\" in\n";
  std::vector<std::string> names;
  for (const NamedVerb& named : all_verbs(line.app())) names.push_back("'" + named.name + "'");
  text += fmt::format("      {}) verb=\"${{verb:+$verb }}${{COMP_WORDS[i]}}\" ;;\n",
                      fmt::join(names, " | "));
  text += "    esac\n  done\n  case $verb in\n";
  for (const NamedVerb& named : all_verbs(line.app())) {
    std::vector<std::string> words = words_after(*named.verb);
    if (named.name == "help")
      std::ranges::copy(names_of(verbs_of(line.app())), std::back_inserter(words));
    text += fmt::format("    '{}') words='{}' ;;\n", named.name, fmt::join(words, " "));
  }
  text += fmt::format("    *) words='{}' ;;\n  esac\n", fmt::join(words_after(line.app()), " "));
  text +=
      "  COMPREPLY=($(compgen -W \"$words\" -- \"$word\"))\n"
      "  [[ -n $verb && $word != -* ]] && COMPREPLY+=($(compgen -f -- \"$word\"))\n"
      "}\n"
      "complete -o filenames -F _plunge plunge\n";
  return text;
}

std::string zsh_text(const std::string& text) {
  return replaced(replaced(replaced(replaced(text, "'", "'\\''"), "[", "\\["), "]", "\\]"), ":",
                  "\\:");
}

std::string zsh_arguments(const CLI::App& app) {
  std::string text;
  for (const CLI::Option* option : options_of(app, false)) {
    for (const std::string& name : spellings(*option)) {
      text += fmt::format(" \\\n        '*{}[{}]", name, zsh_text(option->get_description()));
      if (takes_value(*option)) {
        text += fmt::format(":{}:{}", zsh_text(option->get_type_name()),
                            takes_file(*option) ? "_files" : "");
      }
      text += "'";
    }
  }
  return text;
}

std::string zsh() {
  const CommandLine line;
  std::string text =
      "#compdef plunge\n"
      "# Completion of plunge for zsh.\n"
      "_plunge() {\n"
      "  local verb= i\n"
      "  local -a verbs\n"
      "  for ((i = 2; i < CURRENT; ++i)); do\n"
      "    case \"${verb:+$verb }${words[i]}\" in\n";
  std::vector<std::string> names;
  for (const NamedVerb& named : all_verbs(line.app())) {
    names.push_back(replaced(named.name, " ", "\\ "));
  }
  text += fmt::format("      ({}) verb=\"${{verb:+$verb }}${{words[i]}}\" ;;\n    esac\n  done\n",
                      fmt::join(names, "|"));
  text += "  case $verb in\n";
  const auto describe = [&](const CLI::App& app) {
    std::string list;
    for (const CLI::App* verb : verbs_of(app)) {
      list += fmt::format(" '{}:{}'", verb->get_name(), zsh_text(verb->get_description()));
    }
    return list;
  };
  for (const NamedVerb& named : all_verbs(line.app())) {
    const bool has_verbs = !verbs_of(*named.verb).empty();
    const CLI::App& listed = named.name == "help" ? line.app() : *named.verb;
    text += fmt::format("    ({})\n", replaced(named.name, " ", "\\ "));
    if (has_verbs || named.name == "help") {
      text += fmt::format("      verbs=({})\n      _describe verb verbs\n", describe(listed));
    }
    text += fmt::format("      _arguments{} \\\n        '*:file:_files' ;;\n",
                        zsh_arguments(*named.verb));
  }
  text +=
      fmt::format("    (*)\n      verbs=({})\n      _describe verb verbs\n", describe(line.app()));
  text += fmt::format("      _arguments{} ;;\n  esac\n}}\n", zsh_arguments(line.app()));
  return text + "_plunge \"$@\"\n";
}

std::string fish_options(const CLI::App& app, const std::string& condition) {
  std::string text;
  for (const CLI::Option* option : options_of(app, false)) {
    text += "complete -c plunge -n " + shell_quoted(condition);
    for (const std::string& name : option->get_snames()) text += " -s " + name;
    for (const std::string& name : option->get_lnames()) text += " -l " + name;
    if (takes_value(*option)) text += takes_file(*option) ? " -r -F" : " -x";
    text += " -d " + shell_quoted(option->get_description()) + "\n";
  }
  return text;
}

std::string fish_verbs(const CLI::App& app, const std::string& condition) {
  std::string text;
  for (const CLI::App* verb : verbs_of(app)) {
    text += fmt::format("complete -c plunge -f -n {} -a {} -d {}\n", shell_quoted(condition),
                        verb->get_name(), shell_quoted(verb->get_description()));
  }
  return text;
}

std::string fish() {
  const CommandLine line;
  std::string text = "# Completion of plunge for fish.\n";
  text += fish_verbs(line.app(), "__fish_use_subcommand");
  text += fish_options(line.app(), "__fish_use_subcommand");
  text += fish_verbs(line.app(), "__fish_seen_subcommand_from help");
  for (const NamedVerb& named : all_verbs(line.app())) {
    std::string condition;
    for (std::size_t at = 0; at <= named.name.size();) {
      const std::size_t end = std::min(named.name.find(' ', at), named.name.size());
      condition += fmt::format("{}__fish_seen_subcommand_from {}",
                               condition.empty() ? "" : "; and ", named.name.substr(at, end - at));
      at = end + 1;
    }
    const Verbs inner = verbs_of(*named.verb);
    if (!inner.empty()) {
      condition +=
          fmt::format("; and not __fish_seen_subcommand_from {}", fmt::join(names_of(inner), " "));
      text += fish_verbs(*named.verb, condition);
    }
    text += fish_options(*named.verb, condition);
  }
  return text;
}

std::string output_for(std::string_view what) {
  if (what == "plunge.1") return manual_page();
  if (what == "plunge_mpi.1") return hosts_page();
  if (what == "bash") return bash();
  if (what == "zsh") return zsh();
  if (what == "fish") return fish();
  return "";
}

}  // namespace
}  // namespace plunge

int main(int argc, char** argv) {
  const std::string text = argc == 2 ? plunge::output_for(argv[1]) : "";
  if (text.empty()) {
    fmt::print(stderr, "usage: plunge_manual plunge.1|plunge_mpi.1|bash|zsh|fish\n");
    return 2;
  }
  fmt::print("{}", text);
  return std::fflush(stdout) == 0 ? 0 : 1;
}
