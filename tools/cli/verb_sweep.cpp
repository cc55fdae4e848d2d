#include <fmt/core.h>
#include <unistd.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <string_view>
#include <system_error>

#include "models/setup/fault.hpp"
#include "sim/sweep/plan_file.hpp"
#include "sim/sweep/sweep.hpp"
#include "tools/cli/interrupt.hpp"
#include "tools/cli/json_number.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/sweep_words.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

constexpr std::size_t kMostParts = 1'000'000;
constexpr double kPlainLineEvery = 30.0;  // [s], where standard error is no terminal

std::string per_second(double rate) {
  return fmt::format("{:.{}f} rides/s", rate, rate < 10.0 ? 2 : rate < 100.0 ? 1 : 0);
}

std::string again(const SweepVerbOptions& options) {
  std::string command = fmt::format("{} {}", options.command, shell_word(options.plan));
  if (options.folder != options.plan) command += " -o " + shell_word(options.folder);
  if (options.threads > 0) command += fmt::format(" --threads {}", options.threads);
  if (!options.shard.empty()) command += " --shard " + options.shard;
  return command;
}

// Refuses, before anything is ridden, a name for the folder that is that of a file.
void demand_folder_name(const std::string& folder) {
  namespace fs = std::filesystem;
  std::error_code error;
  const fs::path path(folder);
  const auto refuse = [&](const std::string& rule) {
    throw InputError(Fault{"--output", folder, rule, {}});
  };
  const fs::file_status status = fs::status(path, error);
  if (fs::is_directory(status)) return;
  if (fs::exists(status)) {
    refuse(
        "is a file; a sweep needs a folder, and `plunge sweep merge` makes one file of it later");
  }
  const std::string ending = path.extension().string();
  for (const char* of_file : {".h5", ".hdf5", ".nc", ".toml", ".csv"}) {
    if (ending != of_file) continue;
    refuse(
        fmt::format("has the name of a file; a sweep needs a folder, such as {}, and `plunge "
                    "sweep merge` makes one file of it later",
                    (path.parent_path() / path.stem()).string()));
  }
}

// "2/8": part 1 of 8, counted from 0.
void parse_part(const std::string& text, std::size_t& part, std::size_t& parts) {
  const std::size_t slash = text.find('/');
  const auto number = [&](std::string_view digits, std::size_t& value) {
    const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), value);
    return error == std::errc() && end == digits.data() + digits.size();
  };
  const std::string_view whole = text;
  std::size_t i = 0;
  if (slash == std::string::npos || !number(whole.substr(0, slash), i) ||
      !number(whole.substr(slash + 1), parts) || i < 1 || i > parts || parts > kMostParts) {
    throw InputError(
        Fault{"--shard", text, "must be I/N, such as 2/8: a part I of 1 to N, of N parts", {}});
  }
  part = i - 1;
}

// Standard error while the sweep runs: one line that is written over on a terminal, else a line
// now and then.
class Display {
 public:
  void show(const SweepState& state) {
    tell_damaged(state);
    if (!terminal_ && state.seconds - last_ < kPlainLineEvery) return;
    last_ = state.seconds;
    const std::string text = line(state);
    if (terminal_) {
      show_progress(text);
    } else {
      note("{}\n", text);
    }
  }
  // At the end.
  void finish(const SweepState& state) {
    tell_damaged(state);
    clear_progress();
  }

 private:
  void tell_damaged(const SweepState& state) {
    for (; told_ < state.damaged.size(); ++told_) {
      tell("plunge: {}\n", state.damaged[told_]);
    }
  }

  static std::string line(const SweepState& state) {
    if (state.checked < state.to_check) {
      return fmt::format("{} of {} checked", state.checked,
                         counted(state.to_check, "finished shard"));
    }
    std::string text = fmt::format("{} of {} rides ({})", state.rides_done, state.rides,
                                   share(state.rides_done, state.rides));
    if (state.rate > 0.0) text += ", " + per_second(state.rate);
    if (std::isfinite(state.seconds_left) && state.rides_done < state.rides) {
      text += fmt::format(", about {} left", duration(state.seconds_left));
    }
    if (state.failed > 0) text += fmt::format(", {} failed", state.failed);
    if (state.redone > 0) text += fmt::format(", {} redone", state.redone);
    if (!state.workers.empty()) {
      const std::size_t others = state.workers.size();
      text += fmt::format(", with {} other process{}", others, others == 1 ? "" : "es");
    }
    if (InterruptGuard::asked_gently()) text += ", finishing what runs";
    return text;
  }

  const bool terminal_ = ::isatty(STDERR_FILENO) != 0;
  double last_ = 0.0;
  std::size_t told_ = 0;
};

nlohmann::ordered_json counts_json(const std::string& folder, const SweepState& state) {
  return {{"folder", folder},
          {"finished", state.shards_done == state.shards && !state.interrupted},
          {"rides", state.rides},
          {"rides_done", state.rides_done},
          {"shards", state.shards},
          {"shards_done", state.shards_done},
          {"failed", state.failed},
          {"redone", state.redone}};
}

void print_sweep_json(const SweepVerbOptions& options, const SweepState& state) {
  nlohmann::ordered_json sweep = counts_json(options.folder, state);
  sweep["ridden"] = state.ridden;
  sweep["seconds"] = state.seconds;
  sweep["rate"] = state.ridden > 0 ? json_number(static_cast<double>(state.ridden) / state.seconds)
                                   : nlohmann::ordered_json(nullptr);
  sweep["reasons"] = reasons_json(state.reasons);
  sweep["damaged"] = state.damaged;
  say("{}\n", json_text({{"sweep", sweep}}));
}

void print_summary(const SweepVerbOptions& options, const SweepState& state) {
  const std::string what =
      options.shard.empty() ? "sweep" : "part " + options.shard + " of a sweep";
  say("{} in {}: {} of {} done, {} of {}\n", what, options.folder, state.rides_done,
      counted(state.rides, "ride"), state.shards_done, counted(state.shards, "shard"));
  if (state.rides_done > 0) {
    if (state.failed == 0) say("  none failed\n");
    if (state.failed > 0) {
      say("  {} failed ({}):\n", state.failed, share(state.failed, state.rides_done));
      say("{}", reasons_text(state.reasons));
    }
    say("  {} redone by the adaptive path ({})\n", state.redone,
        share(state.redone, state.rides_done));
  }
  if (state.ridden > 0) {
    say("  {} ridden now in {}, {}\n", state.ridden, duration(state.seconds),
        per_second(static_cast<double>(state.ridden) / state.seconds));
  }
}

// The plan of a file, or that of a folder that has begun: then the sweep goes on in there.
Plan plan_asked_for(SweepVerbOptions& options) {
  namespace fs = std::filesystem;
  std::error_code error;
  if (!fs::is_directory(options.plan, error)) return load_plan(options.plan);
  if (!options.folder.empty() && !fs::equivalent(options.plan, options.folder, error)) {
    throw InputError(Fault{"--output",
                           options.folder,
                           fmt::format("the sweep in {} goes on in there: leave it out, or name a "
                                       "plan file",
                                       options.plan),
                           {}});
  }
  options.folder = options.plan;
  return plan_of(open_sweep(options.plan));
}

// Rides that a folder holds after trouble; 0 also where that cannot be told.
std::size_t rides_kept(const std::string& folder) {
  try {
    return sweep_state(open_sweep(folder)).rides_done;
  } catch (const std::runtime_error&) {
    return 0;
  }
}

}  // namespace

int sweep_verb(const SweepVerbOptions& given) {
  SweepVerbOptions options = given;
  SweepOptions asked;
  asked.threads = threads_asked(options.threads);
  if (!options.lanes.empty()) asked.lanes = parse_instruction_set(options.lanes);
  if (!options.shard.empty()) parse_part(options.shard, asked.part, asked.parts);
  const InterruptGuard guard(InterruptGuard::Usr1::gentle);
  if (!options.folder.empty()) demand_folder_name(options.folder);
  const Plan plan = plan_asked_for(options);
  demand_free_standard_output({}, options.folder);
  if (!plan.guesses().empty()) note("{}\n", plan.guesses());
  asked.folder = options.folder;
  Display display;
  asked.on_progress = [&](const SweepState& state) { display.show(state); };
  asked.finish = InterruptGuard::asked_gently;
  asked.stop = InterruptGuard::asked;
  SweepState state;
  try {
    state = options.run(plan, asked);
  } catch (const RunError& error) {
    tell("plunge: {}\n", error.what());
    if (const std::size_t done = rides_kept(options.folder); done > 0) {
      tell("plunge: {} of {} are done and kept; when that is mended, go on with: {}\n", done,
           counted(plan.size(), "ride"), again(options));
    }
    return 1;
  }
  display.finish(state);

  if (options.json) {
    print_sweep_json(options, state);
  } else {
    print_summary(options, state);
  }
  if (state.interrupted) {
    tell("plunge: interrupted after {} of {} rides; they are kept, go on with: {}\n",
         state.rides_done, state.rides, again(options));
    if (state.dropped > 0) {
      tell("plunge: {} under way {} dropped; {} rides are ridden again then\n",
           counted(state.dropped, "shard"), state.dropped == 1 ? "was" : "were",
           state.dropped == 1 ? "its" : "their");
    }
    return 1;
  }
  const SweepState whole = options.shard.empty() ? state : sweep_state(open_sweep(options.folder));
  if (options.json) return 0;
  if (whole.shards_done == whole.shards) {
    say("\nnext: {}\n", to_merge(options.folder));
  } else {
    say("\nof the whole sweep {} of {} rides are done; see: plunge sweep status {}\n",
        whole.rides_done, whole.rides, shell_word(options.folder));
  }
  return 0;
}

int sweep_status_verb(const SweepStatusOptions& options) {
  const SweepFolder folder = open_sweep(options.folder);
  demand_free_standard_output({}, options.folder);
  const SweepState state = sweep_state(folder);
  const bool finished = state.shards_done == state.shards;
  if (options.json) {
    nlohmann::ordered_json status = counts_json(options.folder, state);
    status["plan"] = folder.plan_path;
    status["lanes"] = std::string(to_string(folder.lanes));
    status["rate"] = state.rate > 0.0 ? json_number(state.rate) : nlohmann::ordered_json(nullptr);
    status["seconds_left"] = json_number(state.seconds_left);
    status["locks"] = state.locks;
    status["workers"] = nlohmann::ordered_json::array();
    for (const SweepWorker& worker : state.workers) {
      status["workers"].push_back({{"host", worker.host},
                                   {"process", worker.process},
                                   {"rides", worker.rides},
                                   {"rate", worker.rate}});
    }
    say("{}\n", json_text({{"status", status}}));
    return 0;
  }
  say("sweep in {}: {} of {} done ({}), {} of {}\n", options.folder, state.rides_done,
      counted(state.rides, "ride"), share(state.rides_done, state.rides), state.shards_done,
      counted(state.shards, "shard"));
  say("  plan {}, lanes {}\n", folder.plan_path, to_string(folder.lanes));
  if (state.rides_done > 0) {
    say("  {} failed, {} redone by the adaptive path\n", state.failed, state.redone);
  }
  for (const SweepWorker& worker : state.workers) {
    say("  {} process {} on {}: {} so far{}\n",
        state.locks ? "running:" : "perhaps running:", worker.process, worker.host,
        counted(worker.rides, "ride"), worker.rate > 0.0 ? ", " + per_second(worker.rate) : "");
  }
  if (finished) {
    say("\nnext: {}\n", to_merge(options.folder));
  } else if (state.workers.empty()) {
    say("\nnobody works on it now; go on with: plunge sweep {}\n", shell_word(options.folder));
  } else if (std::isfinite(state.seconds_left)) {
    say("  about {} left\n", duration(state.seconds_left));
  }
  return 0;
}

}  // namespace plunge
