#include <fmt/core.h>
#include <unistd.h>

#include <nlohmann/json.hpp>

#include "models/setup/fault.hpp"
#include "sim/sweep/gather.hpp"
#include "tools/cli/interrupt.hpp"
#include "tools/cli/sweep_words.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {

int sweep_gather_verb(const SweepGatherOptions& options) {
  const InterruptGuard guard;
  const bool terminal = ::isatty(STDERR_FILENO) != 0;
  GatherOptions asked;
  asked.stop = InterruptGuard::asked;
  if (terminal) {
    asked.on_progress = [](std::size_t looked_at, std::size_t all) {
      tell("\r\x1b[K{} %", 100 * looked_at / all);
    };
  }
  const GatherReport report = gather_sweep(options.folder, options.from, asked);
  if (terminal) tell_text("\r\x1b[K");
  for (const std::string& text : report.refused) tell("plunge: left out: {}\n", text);
  const bool finished = report.shards_done == report.shards;
  if (options.json) {
    const nlohmann::ordered_json gather = {
        {"folder", options.folder}, {"finished", finished},
        {"rides", report.rides},    {"rides_done", report.rides_done},
        {"shards", report.shards},  {"shards_done", report.shards_done},
        {"copied", report.copied},  {"refused", report.refused}};
    say("{}\n", nlohmann::ordered_json{{"gather", gather}}.dump(
                    2, ' ', false, nlohmann::json::error_handler_t::replace));
  } else {
    say("{}: {} copied; {} of {} there now\n", options.folder, counted(report.copied, "shard"),
        report.shards_done, counted(report.shards, "shard"));
  }
  if (report.stopped) {
    tell("plunge: interrupted; what was copied is kept, the same command goes on\n");
    return 1;
  }
  if (!options.json && finished) {
    say("\nnext: plunge sweep merge {} -o all.h5\n", quoted(options.folder));
  } else if (!options.json) {
    say("\nmore parts can be gathered; or ride the rest here: plunge sweep {}\n",
        quoted(options.folder));
  }
  return report.refused.empty() ? 0 : 1;
}

}  // namespace plunge
