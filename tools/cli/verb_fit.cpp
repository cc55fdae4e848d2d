#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "models/setup/fault.hpp"
#include "models/setup/judge.hpp"
#include "models/setup/parameters.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/fit/fork_file.hpp"
#include "sim/fit/fork_fit.hpp"
#include "sim/fit/readings_reader.hpp"
#include "sim/input/scene_reader.hpp"
#include "sim/input/toml_values.hpp"
#include "tools/cli/fork_words.hpp"
#include "tools/cli/lines.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

// The number that an option gives, in its range.
double number_of(const char* option, const std::string& text, const NumberRule& rule, double low,
                 double high, std::string_view said) {
  try {
    const double number = number_from_text(text, rule);
    if (in_range(number, low, high)) return number;
    throw InputError(Fault{"", "", "must be " + say_range(low, high, said), {}});
  } catch (const InputError& error) {
    throw InputError(Fault{option, text, error.faults().front().rule, {}});
  }
}

FitWishes wishes_of(const FitOptions& options, const ForkSetup& fork) {
  FitWishes wishes;
  if (!options.sag.empty()) {
    wishes.sag = number_of("--sag", options.sag, {"1"}, kLeastSag, kMostSag, "%");
  }
  if (!options.spacers.empty()) {
    wishes.spacers =
        number_of("--spacers", options.spacers, {"1", true}, 0.0, fork.spacer_limit, "1");
  }
  if (!options.pressure.empty()) {
    const Parameter& pressure = *find_parameter("fork.pressure");
    wishes.pressure = number_of("--pressure", options.pressure, {"Pa"}, pressure.low,
                                fork.pressure_limit, pressure.said);
  }
  if (options.ask.empty()) return wishes;
  constexpr ChoiceValue kAsked[] = {{"force", ""}, {"spaced", ""}, {"pressure", ""}};
  const int asked = find_value(kAsked, options.ask);
  if (asked < 0) throw InputError(Fault{"--ask", options.ask, word_rule(kAsked, options.ask), {}});
  wishes.asked = static_cast<Asked>(asked);
  return wishes;
}

}  // namespace

int fit_verb(const FitOptions& options) {
  const Scene scene = load_fork_scene(disk_files(), options.fork, options.rider, {});
  const ForkSetup& fork = scene.setup.fork;
  if (fork.spring != Spring::air) {
    throw InputError(Fault{
        "fork.spring", "", "must be \"air\": readings are of an air spring", {options.fork, 0, 0}});
  }
  const Readings readings = load_readings(disk_files(), options.readings);
  const std::vector<BenchReading> bench = with_scenes(disk_files(), readings, options.fork);
  const FitWishes wishes = wishes_of(options, fork);
  Setup setup = scene.setup;
  if (std::isnan(fork.pressure)) {
    throw InputError(
        Fault{"fork.pressure", "", "must be given: the forces are for it", {options.fork, 0, 0}});
  }
  setup.ambient = readings.ambient;
  const bool known = std::ranges::any_of(scene.knowledge.uncertain(), [&](std::size_t i) {
    return scene.knowledge.numbers()[i].name.starts_with("fork.");
  });
  const Knowledge before = known ? scene.knowledge : spreads_of_family(setup);
  Outputs outputs;
  outputs.table = options.output;
  outputs.replace = options.replace;
  outputs.json = options.json;
  open_outputs(outputs);

  const ForkFit fit = fit_fork(setup, before, readings.instruments, bench, wishes,
                               "fitted to " + std::to_string(bench.size()) + " readings" +
                                   (readings.name.empty() ? "" : ": " + readings.name));
  if (!fit.converged) throw RunError("the search for the fork's numbers did not settle");
  if (!known) {
    note("{}\n",
         "the fork's file says nothing of how well its numbers are known: they are taken "
         "as guesses with the spreads of the family");
  }
  const std::string alarm = alarm_text(fit);
  if (options.json) {
    say("{}\n", fit_json(fit, bench));
  } else {
    const std::string& name = fork.name.empty() ? options.fork : fork.name;
    say("{}, {}\n\n", shown(name), counted(bench.size(), "reading"));
    say("{}", fit_text(fit, bench, options.bar));
  }
  if (!alarm.empty()) tell("plunge: {}\n", wrapped(alarm, line_width(), 8));
  if (options.output.empty()) return 0;
  if (!alarm.empty() && !options.anyway) {
    throw RunError("the fitted fork is not written: mend the readings, or give --anyway");
  }
  finish_saying();
  write_file_atomically(options.output,
                        fork_file_text(fit.setup, fit.knowledge,
                                       "Fitted to readings of the workshop. These readings are in "
                                       "it: fit it further with others only.",
                                       scene.service));
  remember_written(options.output);
  note("fork: {}\n", shown(options.output));
  return 0;
}

}  // namespace plunge
