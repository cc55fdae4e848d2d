// Arbitrary bytes through everything that reads text. The first byte picks the reader; the working
// directory holds the files that texts may name (tests/faults/good).
//
// What must hold of each, or the fuzzer reports it:
//   - an input is taken, or refused by InputError; nothing crashes, hangs or grows without bound
//   - a fault has a rule, and no control character reaches a terminal
//   - what is taken means the same when it is written out and read again
//   - numbers that come out are finite, lists as short as their limits say
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <fstream>
#include <iostream>
#include <string>
#include <string_view>

#include "models/setup/fault.hpp"
#include "models/setup/judge.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/fit/readings_reader.hpp"
#include "sim/input/overrides.hpp"
#include "sim/input/profile_file.hpp"
#include "sim/input/scene_reader.hpp"
#include "sim/input/scene_text.hpp"
#include "sim/log/log_json.hpp"
#include "sim/log/log_judge.hpp"
#include "sim/ride/ready.hpp"
#include "sim/search/brief.hpp"
#include "sim/sweep/check_file.hpp"
#include "sim/sweep/plan_file.hpp"
#include "sim/text/units.hpp"

namespace plunge {
namespace {

void demand(bool holds, const char* what, const std::string& about) {
  if (holds) return;
  std::cerr << "\n" << what << ":\n" << about << "\n";
  std::abort();
}

void look_at(const Faults& faults) {
  for (const Fault& fault : faults) {
    demand(!fault.rule.empty(), "a fault without a rule", fault.key);
    for (const char c : to_string(fault)) {
      demand(static_cast<unsigned char>(c) >= 0x20 && c != 0x7f, "a control character in a message",
             fault.rule);
    }
  }
}

void read_scene(std::string_view text) {
  const Scene scene = parse_scene(disk_files(), text, "fuzz.toml", "", {});
  const std::string written = to_scene_text(scene.setup);
  const Scene again = parse_scene(disk_files(), written, "written.toml", "", {});
  const std::string rewritten = to_scene_text(again.setup);
  demand(rewritten == written, "a scene that changes when it is written and read again",
         written + "\n----\n" + rewritten);
}

// A brief, what it demands and its scenes.
void read_brief_of(const std::string& path) {
  const Brief brief = read_brief(disk_files(), path);
  demand(!brief.scenes.empty() && !brief.demands.empty(), "a brief of nothing", path);
  for (const Setup& scene : brief.scenes) {
    demand(judge(scene).empty(), "a scene of a brief that is not good", path);
  }
  for (const Demand& demanded : brief.demands) {
    demand(demanded.low <= demanded.high, "a demand that nothing meets", path);
  }
  demand(brief.chance > 0.0 && brief.chance < 1.0 && brief.hands >= 0.0 && brief.hands <= 1.0,
         "a chance or a weight that is none", path);
}

// A file of any type on the disk, as `check` reads it; a plan's first and last ride.
void read_file(std::string_view text) {
  const std::string path = "fuzz.toml";
  std::ofstream(path, std::ios::binary | std::ios::trunc) << text;
  const CheckedFile checked = check_file(path);
  look_at(checked.faults);
  if (is_readings(disk_files(), path)) look_at(check_readings(disk_files(), path));
  if (is_brief(disk_files(), path)) read_brief_of(path);
  if (!checked.plan) return;
  demand(checked.faults.empty(), "a plan in spite of its faults", path);
  const Plan& plan = *checked.plan;
  demand(plan.size() > 0 && plan.shards() > 0, "a plan of no rides", plan.resolved());
  for (const std::size_t number : {std::size_t{0}, plan.size() - 1}) {
    const PlannedRide ride = plan.ride(number);
    demand(!ride.failure.empty() || judge(ride.setup, Held::sag).empty(),
           "a planned ride that is neither good nor failed", plan.resolved());
  }
}

void read_profile(std::string_view text) {
  const MeasuredProfile profile = parse_profile(text, "fuzz.csv");
  demand(profile.distance.size() == profile.elevation.size() &&
             profile.distance.size() <= kMostProfilePoints,
         "a profile of uneven or too many points", "");
  for (std::size_t i = 0; i < profile.distance.size(); ++i) {
    demand(std::isfinite(profile.distance[i]) && std::isfinite(profile.elevation[i]),
           "a point that is no number", std::to_string(i));
    demand(i == 0 || profile.distance[i] > profile.distance[i - 1], "a profile that goes back",
           std::to_string(i));
  }
}

// The second byte picks the unit that is wanted.
void read_quantity(std::string_view text) {
  constexpr std::string_view kUnits[] = {"Pa",  "m", "kg",    "N",    "1",
                                         "rad", "s", "m s-1", "Hz",   "N m-1",
                                         "m3",  "K", "m s-2", "Pa s", "N s m-1"};
  if (text.empty()) return;
  const std::string_view unit = kUnits[static_cast<unsigned char>(text[0]) % std::size(kUnits)];
  demand(std::isfinite(to_si(text.substr(1), unit)), "a quantity that is no number",
         std::string(text));
}

// Lines of a command: "s NAME=VALUE" for --set, "v NAME=VALUES" for --vary, "h SAG" for --hold.
void read_wishes(std::string_view text) {
  Wishes wishes;
  while (!text.empty()) {
    const std::string_view line = text.substr(0, text.find('\n'));
    text.remove_prefix(std::min(text.size(), line.size() + 1));
    if (line.size() < 2) continue;
    const std::string rest(line.substr(2));
    if (line[0] == 's') wishes.set.push_back(rest);
    if (line[0] == 'v' && wishes.vary.size() < 2) wishes.vary.push_back(rest);
    if (line[0] == 'h') wishes.hold = rest;
  }
  const ReadyRides all = ready(disk_files(), "scene.toml", wishes);
  demand(!all.rides.empty(), "no ride and no fault", "");
  for (const ReadyRide& ride : all.rides) {
    demand(judge(ride.setup).empty(), "a ready ride that is not good", ride.label);
  }
}

void read_values(std::string_view text) {
  static const Setup setup = load_scene(disk_files(), "scene.toml", Overrides{}).setup;
  const Variation variation = parse_variation(text, setup);
  demand(!variation.values.empty() && variation.values.size() <= std::size_t{kMostVariants},
         "none or too many values", std::string(text));
  for (const double value : variation.values) {
    demand(std::isfinite(value), "a value that is no number", std::string(text));
  }
}

// An export of a log into an empty one; what is taken is exported the same again.
void read_export(std::string_view text) {
  LogContent log;
  log.entries = imported_entries(log, std::string(text), "fuzz.json");
  const Faults faults = judge_added(log, 0);
  look_at(faults);
  if (!faults.empty()) return;
  log.settle();
  const std::string written = export_json(log);
  LogContent again;
  again.entries = imported_entries(again, written, "written.json");
  demand(export_json(again) == written, "a log that changes when it is exported again", written);
}

}  // namespace
}  // namespace plunge

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace plunge;
  constexpr void (*kReaders[])(std::string_view) = {
      read_scene, read_file, read_profile, read_quantity, read_wishes, read_values, read_export};
  if (size == 0) return 0;
  const std::string text(reinterpret_cast<const char*>(data + 1), size - 1);
  try {
    kReaders[data[0] % std::size(kReaders)](text);
  } catch (const InputError& error) {
    look_at(error.faults());
  }
  return 0;
}
