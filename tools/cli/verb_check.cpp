#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "models/setup/fault.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/fit/readings_reader.hpp"
#include "sim/search/brief.hpp"
#include "sim/sweep/check_file.hpp"
#include "sim/sweep/plan_estimate.hpp"
#include "tools/cli/json_number.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/sweep_words.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

using Json = nlohmann::ordered_json;

// "scene (8) x fork (3) x fork.spacers (5)", and the rows of the sample.
std::string dimensions(const Plan& plan) {
  std::vector<std::string> parts;
  for (const GridAxis& axis : plan.grid()) {
    parts.push_back(fmt::format("{} ({})", shown(axis.name), axis.values.size()));
  }
  if (plan.design() != Design::none) {
    parts.push_back(fmt::format("sample ({})", plan.points()));
  }
  return fmt::format("{}", fmt::join(parts, " x "));
}

std::string plan_text(const Plan& plan, const PlanEstimate& found) {
  std::string text = fmt::format("  {}: {}\n", counted(plan.size(), "ride"), dimensions(plan));
  const std::string cores = found.cores == 1 ? "one core" : fmt::format("{} cores", found.cores);
  if (std::isfinite(found.seconds)) {
    text += fmt::format("  about {} on {} of this machine: an estimate from {} of the rides\n",
                        duration(found.seconds), cores, found.tried);
  }
  if (found.failed > 0) {
    text += fmt::format("  of {} rides that were tried {} failed:\n{}", found.tried, found.failed,
                        reasons_text(found.reasons));
  }
  text += fmt::format("  about {} in {}, {} merged\n", bytes_text(found.shard_bytes),
                      counted(plan.shards(), "shard"), bytes_text(found.merged_bytes));
  return text;
}

Json plan_json(const std::string& file, const Plan& plan, const PlanEstimate& found) {
  return {{"file", file},
          {"rides", plan.size()},
          {"shards", plan.shards()},
          {"tried", found.tried},
          {"failed", found.failed},
          {"reasons", reasons_json(found.reasons)},
          {"cores", found.cores},
          {"rate", json_number(found.rate)},
          {"seconds", json_number(found.seconds)},
          {"shard_bytes", found.shard_bytes},
          {"merged_bytes", found.merged_bytes}};
}

// Readings and briefs are read by later rooms than the other files are.
CheckedFile checked(const std::string& file) {
  if (is_readings(disk_files(), file)) return {check_readings(disk_files(), file), {}};
  CheckedFile found = check_file(file);
  if (!found.faults.empty() || found.plan || !is_brief(disk_files(), file)) return found;
  try {
    read_brief(disk_files(), file);
  } catch (const InputError& error) {
    found.faults = error.faults();
  }
  return found;
}

}  // namespace

int check_verb(const CheckOptions& options) {
  Faults all;
  std::string told;
  Json plans = Json::array();
  for (const std::string& file : options.files) {
    const auto [faults, plan] = checked(file);
    if (!options.json) {
      for (const Fault& fault : faults) told += to_string(fault) + "\n";
      if (faults.empty() && !plan) told += shown(file) + ": good\n";
    }
    all.insert(all.end(), faults.begin(), faults.end());
    if (!plan) continue;
    const PlanEstimate found = estimate(*plan);
    if (!options.json) {
      told += fmt::format("{}: {}\n", shown(file),
                          found.failed == 0 ? "good" : "can be read, not ridden whole");
      told += plan_text(*plan, found);
    }
    plans.push_back(plan_json(file, *plan, found));
  }
  // Not before everything is read: the words could go into a file that is read here.
  demand_free_standard_output(options.files);
  say_text(told);
  if (options.json) {
    Json out = {{"faults", faults_json(all)}};
    if (!plans.empty()) out["plans"] = plans;
    say("{}\n", json_text(out));
  }
  return all.empty() ? 0 : 2;
}

}  // namespace plunge
