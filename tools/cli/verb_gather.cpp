#include <fmt/core.h>

#include "models/setup/fault.hpp"
#include "sim/sweep/gather.hpp"
#include "tools/cli/interrupt.hpp"
#include "tools/cli/json_number.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/sweep_words.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {

int sweep_gather_verb(const SweepGatherOptions& options) {
  const InterruptGuard guard;
  demand_free_standard_output({}, options.folder);
  for (const std::string& from : options.from) demand_free_standard_output({}, from);
  GatherOptions asked;
  asked.stop = InterruptGuard::asked;
  if (shows_progress()) {
    asked.on_progress = [](std::size_t looked_at, std::size_t all) {
      show_progress(fmt::format("{} %", 100 * looked_at / all));
    };
  }
  const GatherReport report = gather_sweep(options.folder, options.from, asked);
  clear_progress();
  for (const std::string& text : report.refused) tell("plunge: left out: {}\n", text);
  const bool finished = report.shards_done == report.shards;
  if (options.json) {
    const nlohmann::ordered_json gather = {
        {"folder", options.folder}, {"finished", finished},
        {"rides", report.rides},    {"rides_done", report.rides_done},
        {"shards", report.shards},  {"shards_done", report.shards_done},
        {"copied", report.copied},  {"refused", report.refused}};
    say("{}\n", json_text({{"gather", gather}}));
  } else {
    say("{}: {} copied; {} of {} there now\n", shown(options.folder),
        counted(report.copied, "shard"), report.shards_done, counted(report.shards, "shard"));
  }
  if (report.stopped) {
    tell("plunge: interrupted; what was copied is kept, the same command goes on\n");
    return 1;
  }
  if (!options.json && finished) {
    say("\nnext: {}\n", to_merge(options.folder));
  } else if (!options.json) {
    say("\nmore parts can be gathered; or ride the rest here: plunge sweep {}\n",
        shell_word(options.folder));
  }
  return report.refused.empty() ? 0 : 1;
}

}  // namespace plunge
