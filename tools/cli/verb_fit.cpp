#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <string>
#include <utility>
#include <vector>

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
#include "sim/log/workshop_log.hpp"
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

// The fork and the readings that are asked for, from files or from a log.
struct FitInput {
  LaidFiles files{disk_files()};
  std::string fork;  // path of the fork's file among them
  std::string name;
  Readings readings;
  std::vector<std::int64_t> numbers;  // of the log's readings; none: they are from a file
};

void take_from_log(const FitOptions& options, FitInput& input) {
  const LogContent log = WorkshopLog(options.log).read();
  const LoggedFork fork = logged_fork(log, options.fork);
  input.fork = fmt::format("fork \"{}\" of {}", fork.name, options.log);
  input.name = fork.name;
  input.files.put(input.fork, fork_file_text(fork.setup, fork.knowledge, ""));
  if (!options.readings.empty()) return;
  ReadingsToFit found = readings_to_fit(log, options.fork);
  for (const std::string& why : found.left_out) note("left out: {}\n", shown(why));
  if (found.readings.list.empty()) {
    throw InputError(Fault{
        "reading", "", "the log has none of this fork that plunge fit takes", {options.log, 0, 0}});
  }
  input.readings = std::move(found.readings);
  input.numbers = std::move(found.numbers);
}

void take_input(const FitOptions& options, FitInput& input) {
  if (options.log.empty() && options.readings.empty()) {
    throw InputError(Fault{"readings", "", "must be given: a file, or a log with --log", {}});
  }
  if (options.log.empty() && !options.add.empty()) {
    throw InputError(Fault{"--add", options.add, "needs the log that it goes into: --log", {}});
  }
  input.fork = options.fork;
  if (!options.log.empty()) take_from_log(options, input);
  if (!options.readings.empty()) input.readings = load_readings(disk_files(), options.readings);
}

// The fitted fork is a fork of its own: what was known before stays as it was.
void add_to_log(const FitOptions& options, const FitInput& input, const std::string& text) {
  LaidFiles files{disk_files()};
  const std::string path = "fork \"" + options.add + "\"";
  files.put(path, text);
  std::string remarks = "fitted from " + input.name;
  for (const std::int64_t number : input.numbers) {
    remarks += fmt::format("{} {}", number == input.numbers.front() ? ", readings" : ",", number);
  }
  const LogDraft draft(demand_kind("fork"),
                       {"name=" + options.add, "file=" + path, "remarks=" + remarks}, files);
  WorkshopLog log(options.log);
  const LogChange change = log.add(draft);
  remember_written(options.log);
  note("{}: fork {}, {}\n", shown(options.log), change.entry, shown(options.add));
}

ForkFit fitted(const Setup& setup, const Knowledge& before, const FitInput& input,
               const std::vector<BenchReading>& bench, FitWishes wishes) {
  if (shows_progress()) {
    wishes.on_ride = [](std::size_t ridden) {
      show_progress(fmt::format("rings of {} rides worked out", ridden));
    };
  }
  const ProgressLine line;
  const std::string& name = input.readings.name;
  return fit_fork(
      setup, before, input.readings.instruments, bench, wishes,
      "fitted to " + counted(bench.size(), "reading") + (name.empty() ? "" : ": " + name));
}

}  // namespace

int fit_verb(const FitOptions& options) {
  FitInput input;
  take_input(options, input);
  const Scene scene = load_fork_scene(input.files, input.fork, options.rider, {});
  const ForkSetup& fork = scene.setup.fork;
  if (fork.spring != Spring::air) {
    throw InputError(Fault{
        "fork.spring", "", "must be \"air\": readings are of an air spring", {input.fork, 0, 0}});
  }
  const std::vector<BenchReading> bench = with_scenes(input.files, input.readings, input.fork);
  const FitWishes wishes = wishes_of(options, fork);
  Setup setup = scene.setup;
  if (std::isnan(fork.pressure)) {
    throw InputError(
        Fault{"fork.pressure", "", "must be given: the forces are for it", {input.fork, 0, 0}});
  }
  setup.ambient = input.readings.ambient;
  const bool known = std::ranges::any_of(scene.knowledge.uncertain(), [&](std::size_t i) {
    return scene.knowledge.numbers()[i].name.starts_with("fork.");
  });
  const Knowledge before = known ? scene.knowledge : spreads_of_family(setup);
  Outputs outputs;
  outputs.table = options.output;
  outputs.replace = options.replace;
  outputs.json = options.json;
  std::vector<std::string> logs;
  if (!options.log.empty()) logs.push_back(options.log);
  open_outputs(outputs, logs);

  const ForkFit fit = fitted(setup, before, input, bench, wishes);
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
    const std::string& name = fork.name.empty() ? input.fork : fork.name;
    say("{}, {}\n\n", shown(name), counted(bench.size(), "reading"));
    say("{}", fit_text(fit, bench, options.bar));
  }
  if (!alarm.empty()) tell("plunge: {}\n", wrapped(alarm, line_width(), 8));
  if (options.output.empty() && options.add.empty()) return 0;
  if (!alarm.empty() && !options.anyway) {
    throw RunError("the fitted fork is not written: mend the readings, or give --anyway");
  }
  finish_saying();
  const std::string text = fork_file_text(fit.setup, fit.knowledge,
                                          "Fitted to readings of the workshop. These readings are "
                                          "in it: fit it further with others only.",
                                          scene.service);
  if (!options.output.empty()) {
    write_file_atomically(options.output, text);
    remember_written(options.output);
    note("fork: {}\n", shown(options.output));
  }
  if (!options.add.empty()) add_to_log(options, input, text);
  return 0;
}

}  // namespace plunge
