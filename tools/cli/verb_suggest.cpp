#include "models/setup/judge.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/fit/fork_fit.hpp"
#include "sim/input/draws.hpp"
#include "sim/search/suggestion.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/searching.hpp"
#include "tools/cli/suggest_words.hpp"
#include "tools/cli/sweep_words.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

// Which reading would tell most of what breaks first with the next step.
ForkKnown known_of(const Brief& brief, const Suggestion& found) {
  ForkKnown known;
  if (brief.knowledge.uncertain().empty()) return known;
  known.exact = found.forks == 0;
  const Candidate& next = found.next.candidate;
  Setup setup = brief.scenes.front();
  put_settings(setup.fork, next.settings);
  const bool sag = brief.demands[next.first].row->metric == "sag_share";
  FitWishes wishes;
  wishes.spacers = next.settings.spacers;
  wishes.pressure = next.settings.pressure;
  wishes.asked = sag ? Asked::pressure : Asked::force_spaced;
  if (next.sag >= kLeastSag && next.sag <= kMostSag) wishes.sag = next.sag;
  const ForkFit fit = fit_fork(setup, brief.knowledge, usual_instruments(), {}, wishes, "");
  if (fit.next.words.empty()) return known;
  known.reading = fit.next.words;
  known.about = sag ? "pressure for the sag" : "force at full travel";
  known.spread = fit.predictions[static_cast<std::size_t>(wishes.asked)].spread;
  known.spread_with = fit.next.spread;
  return known;
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
  SearchWatch watch;
  watch.threads = threads_asked(options.threads);
  watch.lanes = lanes_asked(options.lanes);
  const Brief brief = read_brief(disk_files(), options.brief, options.flags);
  demand_free_standard_output();
  if (brief.usual) {
    note("the brief demands nothing, so what is usual is taken: {}\n",
         "sag 18 to 25 %, 85 to 97 % of the travel on the hardest scene, no metal");
  }
  const std::vector<KnobDraw> forks = options.exact ? std::vector<KnobDraw>() : drawn_forks(brief);
  const Suggestion found = suggested(brief, watch, forks);
  const ForkKnown known = known_of(brief, found);
  if (options.json) {
    say("{}\n", suggestion_json(brief, found, known));
  } else {
    say_text(suggestion_text(brief, found, known, options.bar));
  }
  return 0;
}

}  // namespace plunge
