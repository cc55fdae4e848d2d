#include "sim/disk/disk_files.hpp"
#include "sim/search/suggestion.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/searching.hpp"
#include "tools/cli/suggest_words.hpp"
#include "tools/cli/sweep_words.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

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
  const Suggestion found = suggested(brief, watch);
  if (options.json) {
    say("{}\n", suggestion_json(brief, found));
  } else {
    say_text(suggestion_text(brief, found, options.bar));
  }
  return 0;
}

}  // namespace plunge
