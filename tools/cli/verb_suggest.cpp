#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "models/setup/judge.hpp"
#include "models/setup/parameters.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/fit/fork_file.hpp"
#include "sim/fit/fork_fit.hpp"
#include "sim/log/workshop_log.hpp"
#include "sim/search/suggestion.hpp"
#include "sim/text/build.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/searching.hpp"
#include "tools/cli/suggest_words.hpp"
#include "tools/cli/sweep_words.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

// Which reading would tell most of what breaks first with the next step: of the end of the travel,
// or else of how the fork stands in it.
ForkKnown known_of(const Brief& brief, const Suggestion& found) {
  ForkKnown known;
  if (brief.knowledge.uncertain().empty()) return known;
  known.exact = found.forks == 0;
  const Candidate& next = found.next.candidate;
  Setup setup = brief.scenes.front();
  put_settings(setup.fork, next.settings);
  const std::string_view metric = brief.demands[next.first].row->metric;
  const bool at_the_end = metric == "travel_use" || metric == "metal_contacts";
  FitWishes wishes;
  wishes.spacers = next.settings.spacers;
  wishes.pressure = next.settings.pressure;
  wishes.asked = at_the_end ? Asked::force_spaced : Asked::pressure;
  if (next.sag >= kLeastSag && next.sag <= kMostSag) wishes.sag = next.sag;
  const ForkFit fit = fit_fork(setup, brief.knowledge, usual_instruments(), {}, wishes, "");
  if (fit.next.words.empty()) return known;
  known.reading = fit.next.words;
  known.about = at_the_end ? "force at full travel" : "pressure for the sag";
  known.spread = fit.predictions[static_cast<std::size_t>(wishes.asked)].spread;
  known.spread_with = fit.next.spread;
  return known;
}

// The file of a setting's rider or bike; anew where the log says numbers beside it.
std::string part_of_log(const LogContent& log, const LoggedSetting& setting, std::int64_t part,
                        const std::string& type, const std::string& name) {
  const LogEntry* entry = log.find(part);
  const auto of_part = [&](const auto& number) { return number.first.starts_with(type + "."); };
  const bool anew = entry == nullptr || entry->text("file").empty() || !entry->numbers.empty() ||
                    std::ranges::any_of(log.find(setting.number)->numbers, of_part);
  return anew ? part_file_text(setting.setup, type, name) : entry->text("file");
}

// Today's set-up as the log has it, laid over the files that the brief is read from.
LoggedSetting take_from_log(const SuggestOptions& options, LaidFiles& files, BriefFlags& flags) {
  const LogContent log = WorkshopLog(options.log).read();
  const LoggedSetting logged = logged_setting(log, options.setting);
  const Setup& setup = logged.setup;
  const auto says = [&](const char* option, std::string& flag, const std::string& text) {
    if (!flag.empty()) {
      throw InputError(Fault{
          option, flag, fmt::format("must be left out: setting {} says it", logged.number), {}});
    }
    flag = text;
  };
  const auto lay = [&](const char* option, std::int64_t entry, std::string& flag,
                       const std::string& text) {
    if (entry < 0) return;
    const std::string path =
        fmt::format("{} of setting {} in {}", option + 2, logged.number, options.log);
    files.put(path, text);
    says(option, flag, path);
  };
  lay("--fork", logged.fork, flags.fork, fork_file_text(setup, logged.knowledge, ""));
  lay("--rider", logged.rider, flags.rider,
      part_of_log(log, logged, logged.rider, "rider", setup.rider.name));
  lay("--bike", logged.bike, flags.bike,
      part_of_log(log, logged, logged.bike, "bike", setup.bike.name));
  if (!flags.sag.empty()) says("--sag", flags.sag, "");
  const ForkSettings today = settings_of(setup.fork);
  if (std::isnan(today.pressure)) {
    throw InputError(Fault{"fork.pressure",
                           "",
                           fmt::format("must be in setting {}: what was pumped", logged.number),
                           {options.log, 0, 0}});
  }
  says("--pressure", flags.pressure, fmt::format("{:.17g} Pa", today.pressure));
  says("--spacers", flags.spacers, fmt::format("{:.0f}", today.spacers));
  if (has_clicks(setup.fork.compression)) {
    says("--compression", flags.compression, fmt::format("{:.0f}", today.compression));
  }
  if (has_clicks(setup.fork.rebound)) {
    says("--rebound", flags.rebound, fmt::format("{:.0f}", today.rebound));
  }
  return logged;
}

// The next step and what is foretold of its ring, as entries of the log.
KeptStep keep(const SuggestOptions& options, const Brief& brief, const Suggestion& found,
              const LoggedSetting& logged) {
  const Look& look = found.look;
  if (std::isnan(look.ring)) throw RunError("nothing is kept: the next step cannot be ridden");
  std::vector<std::string> foretold = {"scene=" + brief.scenes[look.scene].name,
                                       fmt::format("travel_max={:.6g} m", look.ring),
                                       fmt::format("ring_low={:.6g} m", look.ring_low),
                                       fmt::format("ring_high={:.6g} m", look.ring_high),
                                       "history=plunge suggest",
                                       "program=" + build_text()};
  WorkshopLog log(options.log);
  KeptStep kept;
  if (found.next.effort == 0) {
    foretold.push_back(fmt::format("setting={}", logged.number));
    const LogDraft prediction(demand_kind("prediction"), foretold, disk_files());
    kept = {logged.number, log.add(prediction).entry, look};
  } else {
    std::vector<std::string> set = {fmt::format("parent={}", logged.number)};
    Setup changed = logged.setup;
    put_settings(changed.fork, found.next.candidate.settings);
    for (const Parameter& parameter : parameters()) {
      const double value = parameter.get(changed);
      if (std::isnan(value) || value == parameter.get(logged.setup)) continue;
      const std::string unit = parameter.unit == "1" ? "" : " " + std::string(parameter.unit);
      set.push_back(fmt::format("{}={:.17g}{}", parameter.name, value, unit));
    }
    const LogDraft setting(demand_kind("setting"), set, disk_files());
    const LogDraft prediction(demand_kind("prediction"), foretold, disk_files());
    const LogChange change = log.foretell(setting, prediction);
    kept = {change.log.find(change.entry)->reference("setting"), change.entry, look};
  }
  remember_written(options.log);
  return kept;
}

void refuse_without_log(const SuggestOptions& options) {
  if (options.log.empty()) {
    if (!options.setting.empty()) {
      throw InputError(Fault{"--setting", options.setting, "is of a log: give --log too", {}});
    }
    if (options.keep) throw InputError(Fault{"--keep", "", "needs a log: give --log too", {}});
  } else if (options.setting.empty()) {
    throw InputError(
        Fault{"--setting", "", "must be given with --log: name or number of today's", {}});
  }
}

InstructionSet lanes_asked(const std::string& word) {
  if (word.empty()) return best_instruction_set();
  const InstructionSet lanes = parse_instruction_set(word);
  if (runs_here(lanes)) return lanes;
  throw InputError(
      Fault{"--lanes", word, "does not run on this processor: take another or leave it out", {}});
}

}  // namespace

int suggest_verb(const SuggestOptions& options) {
  refuse_without_log(options);
  SearchWatch watch;
  watch.threads = threads_asked(options.threads);
  watch.lanes = lanes_asked(options.lanes);
  LaidFiles files(disk_files());
  BriefFlags flags = options.flags;
  LoggedSetting logged;
  std::vector<std::string> logs;
  if (!options.log.empty()) {
    logs.push_back(options.log);
    logged = take_from_log(options, files, flags);
  }
  const Brief brief = read_brief(files, options.brief, flags);
  demand_free_standard_output(logs);
  if (brief.usual) {
    note("the brief demands nothing, so what is usual is taken: {}\n",
         "sag 18 to 25 %, 85 to 97 % of the travel on the hardest scene, no metal");
  }
  const std::vector<KnobDraw> forks = options.exact ? std::vector<KnobDraw>() : drawn_forks(brief);
  const Suggestion found = suggested(brief, watch, forks);
  const ForkKnown known = known_of(brief, found);
  std::optional<KeptStep> kept;
  if (options.keep) kept = keep(options, brief, found, logged);
  if (options.json) {
    say("{}\n", suggestion_json(brief, found, known, kept));
  } else {
    say_text(suggestion_text(brief, found, known, options.bar));
    if (kept) say_text(kept_text(brief, *kept, options.log));
  }
  return 0;
}

}  // namespace plunge
