#include <fmt/core.h>

#include <cmath>
#include <string>
#include <utility>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/fit/fork_file.hpp"
#include "sim/input/toml_values.hpp"
#include "tools/cli/fork_words.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

// What an option gives, and the key that faults about it bear.
struct ForkNumber {
  const char* option;
  const char* key;
  const std::string& text;
  NumberRule rule;
  double* number;
};

ForkStart start_of(const ForkOptions& options) {
  ForkStart start;
  start.name = options.name;
  const ForkNumber list[] = {
      {"--travel", "fork.travel", options.travel, {"m"}, &start.travel},
      {"--stanchion", "fork.family.stanchion", options.stanchion, {"m"}, &start.family.stanchion},
      {"--bore", "fork.family.bore", options.bore, {"m"}, &start.family.bore},
      {"--wheel", "fork.family.wheel", options.wheel, {"m"}, &start.family.wheel},
      {"--spacer", "fork.air.spacer_volume", options.spacer, {"m3"}, &start.spacer_volume},
      {"--spacer-limit",
       "fork.spacer_limit",
       options.spacer_limit,
       {"1", true},
       &start.spacer_limit},
      {"--pressure-limit",
       "fork.pressure_limit",
       options.pressure_limit,
       {"Pa"},
       &start.pressure_limit},
  };
  Faults faults;
  for (const ForkNumber& given : list) {
    if (given.text.empty()) continue;
    try {
      *given.number = number_from_text(given.text, given.rule);
    } catch (const InputError& error) {
      faults.push_back({given.option, given.text, error.faults().front().rule, {}});
    }
  }
  if (!faults.empty()) throw InputError(std::move(faults));
  return start;
}

// Faults by the options that gave the numbers.
BegunFork begun(const ForkOptions& options) {
  try {
    return begin_fork(start_of(options));
  } catch (const InputError& error) {
    constexpr std::pair<const char*, const char*> kOptions[] = {
        {"fork.travel", "--travel"},
        {"fork.family.stanchion", "--stanchion"},
        {"fork.family.bore", "--bore"},
        {"fork.family.wheel", "--wheel"},
        {"fork.air.spacer_volume", "--spacer"},
        {"fork.spacer_limit", "--spacer-limit"},
        {"fork.pressure_limit", "--pressure-limit"}};
    Faults faults = error.faults();
    for (Fault& fault : faults) {
      for (const auto& [key, option] : kOptions) {
        if (fault.key == key) fault.key = option;
      }
    }
    throw InputError(std::move(faults));
  }
}

}  // namespace

int fork_verb(const ForkOptions& options) {
  const BegunFork fork = begun(options);
  const std::string text = fork_file_text(
      fork.setup, fork.knowledge,
      "Begun from what a workshop can read. What is guessed is an engineering estimate of the "
      "family; limits that are guessed give way to the maker's manual.");
  const bool to_file = !options.output.empty() && options.output != kStandardOutput;
  if (!to_file) {
    demand_free_standard_output();
    put_text(options.json ? numbers_json(fork.setup, fork.knowledge) + "\n" : text);
    return 0;
  }
  Outputs outputs;
  outputs.table = options.output;
  outputs.replace = options.replace;
  outputs.json = options.json;
  open_outputs(outputs);
  if (options.json) {
    say("{}\n", numbers_json(fork.setup, fork.knowledge));
  } else {
    say("{}", numbers_text(fork.setup, fork.knowledge, options.bar));
  }
  finish_saying();
  write_file_atomically(options.output, text);
  remember_written(options.output);
  note("fork: {}\n", shown(options.output));
  return 0;
}

}  // namespace plunge
