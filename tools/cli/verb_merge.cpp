#include <fmt/core.h>

#include <filesystem>
#include <system_error>

#include "models/setup/fault.hpp"
#include "sim/sweep/merge.hpp"
#include "sim/sweep/plan_file.hpp"
#include "sim/sweep/sweep_folder.hpp"
#include "tools/cli/interrupt.hpp"
#include "tools/cli/json_number.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/sweep_words.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {

namespace {

// A folder is no name of the merged file, that of the sweep itself least.
void demand_no_folder(const std::string& output, const std::string& folder) {
  std::error_code error;
  if (!std::filesystem::is_directory(output, error)) return;
  const bool own = std::filesystem::equivalent(output, folder, error);
  throw InputError(Fault{"--output",
                         output,
                         fmt::format("is {}; name a file, such as {}.h5",
                                     own ? "the folder of the sweep itself" : "a folder",
                                     std::filesystem::path(output + "/").parent_path().string()),
                         {}});
}

}  // namespace

int sweep_merge_verb(const SweepMergeOptions& options) {
  const SweepFolder folder = open_sweep(options.folder);
  demand_no_folder(options.output, options.folder);
  const Plan plan = plan_of(folder);
  open_outputs({options.output, "", options.replace, options.json}, {}, options.folder);
  const InterruptGuard guard;
  MergeOptions asked;
  asked.threads = threads_asked(options.threads);
  asked.partial = options.partial;
  asked.stop = InterruptGuard::asked;
  if (shows_progress()) {
    asked.on_progress = [](std::size_t done, std::size_t all) {
      show_progress(fmt::format("{} %", 100 * done / all));
    };
  }
  const MergeReport report = merge_sweep(folder, plan, options.output, asked);
  clear_progress();
  if (report.stopped) {
    tell("plunge: interrupted; {} is as it was\n", name_of_output(options.output));
    return 1;
  }
  remember_written(options.output);
  for (const std::string& text : report.damaged) {
    tell("plunge: left out: {}\n", text);
  }
  if (options.json) {
    const nlohmann::ordered_json merge = {{"file", options.output},
                                          {"rides", report.rides},
                                          {"failed", report.failed},
                                          {"redone", report.redone},
                                          {"not_ridden", report.not_ridden},
                                          {"shards", report.shards},
                                          {"shards_merged", report.shards_merged},
                                          {"damaged", report.damaged}};
    say("{}\n", json_text({{"merge", merge}}));
    return 0;
  }
  const std::string output = name_of_output(options.output);
  say("{}: {} of {}\n", output, counted(report.rides - report.not_ridden, "ride"), plan.name());
  if (report.failed > 0) say("  {} failed; their numbers are missing\n", report.failed);
  if (report.not_ridden > 0) {
    say("  {} not ridden yet; their numbers are missing\n", counted(report.not_ridden, "ride"));
  }
  if (output == options.output) say("\nnext: plunge sweep report {}\n", shell_word(output));
  return 0;
}

}  // namespace plunge
