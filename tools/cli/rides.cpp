#include "tools/cli/rides.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <string_view>
#include <utility>

#include "models/setup/damper_readings.hpp"
#include "models/setup/parameters.hpp"
#include "models/setup/shown.hpp"
#include "sim/input/overrides.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/report/ride_to_file.hpp"
#include "sim/text/words.hpp"
#include "tools/cli/interrupt.hpp"
#include "tools/cli/lines.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

bool varies(const Wishes& wishes, std::string_view name) {
  return std::ranges::any_of(
      wishes.vary, [&](const std::string& text) { return split_variation(text).name == name; });
}

// The name, with the mass where that is not said in it already.
std::string rider_words(const Setup& setup, bool mass_varies) {
  const std::string& name = setup.rider.name;
  if (mass_varies || !std::isfinite(setup.rider.mass)) return name.empty() ? "rider" : name;
  const std::string mass = say(setup.rider.mass, "kg");
  if (name.empty()) return "rider " + mass;
  const std::size_t at = name.find(mass);
  const bool said = at != std::string::npos && (at == 0 || name[at - 1] == ' ');
  return said ? name : name + ", here " + mass;
}

// Where a direction has two adjusters: the clicks of all that are not varied, low and high speed
// told apart; empty: none has.
std::string damper_words(const Setup& setup, const Wishes& wishes) {
  bool two = false;
  std::string text;
  for (const auto& [name, damper] : {std::pair("compression", &setup.fork.compression),
                                     std::pair("rebound", &setup.fork.rebound)}) {
    const std::vector<Adjuster> adjusters = adjusters_of(*damper);
    two = two || adjusters.size() > 1;
    std::string clicks;
    for (const Adjuster& adjuster : adjusters) {
      if (varies(wishes, fmt::format("fork.{}.{}", name, adjuster.key))) continue;
      const std::string_view speed = speed_of(adjuster.adjusts);
      clicks += fmt::format("{} {}{}{}", clicks.empty() ? "" : ",", speed, speed.empty() ? "" : " ",
                            damper->*adjuster.position);
    }
    if (!clicks.empty()) text += fmt::format("{}{}{}", text.empty() ? "" : "; ", name, clicks);
  }
  return two && !text.empty() ? text + " clicks from closed" : "";
}

}  // namespace

std::string overrides_text(const std::vector<std::string>& set,
                           const std::vector<std::string>& vary) {
  std::string text;
  const auto add = [&](const char* what, const std::vector<std::string>& given, auto split) {
    std::vector<std::string> list;
    for (const std::string& one : given) {
      const Assignment parts = split(one);
      list.push_back(parts.name + " = " + parts.value);
    }
    if (list.empty()) return;
    const std::string line = fmt::format("{}: {}", what, joined(list));
    text += wrapped(shown(line), line_width(), 2) + "\n";
  };
  add("set", set, split_setting);
  add("varied", vary, split_variation);
  return text;
}

std::string header_text(const ReadyRides& ready, const Wishes& wishes) {
  const Setup& setup = ready.rides.front().setup;
  std::string text = wrapped(shown(setup.name), line_width()) + "\n";
  std::string who = setup.fork.name.empty() ? "fork" : setup.fork.name;
  who += "; " + rider_words(setup, varies(wishes, "rider.mass"));
  if (!varies(wishes, "ride.speed")) who += "; " + say(setup.ride.speed, "km/h");
  text += wrapped(shown(who), line_width(), 2) + "\n";
  const std::string damper = damper_words(setup, wishes);
  if (!damper.empty()) text += wrapped(damper, line_width(), 2) + "\n";
  text += overrides_text(wishes.set, wishes.vary);
  if (holds(ready.hold)) {
    text += fmt::format("sag held at {}\n", say_sag(ready.hold));
  } else if (wishes.hold == "pressure") {
    text += "pressure kept as given\n";
  }
  return text;
}

void tell_notes(const ReadyRides& ready) {
  for (const std::string& text : ready.notes) note("{}\n", shown(text));
}

std::vector<Result> ride_ready(const ReadyRides& ready, const std::string& path,
                               const std::string& history, PlotTraces* plot) {
  const InterruptGuard guard(InterruptGuard::Usr1::gentle);
  RideFileOptions options;
  options.history = history;
  options.watch.stop = [] { return InterruptGuard::asked() || InterruptGuard::asked_gently(); };
  if (shows_progress() && ready.rides.size() > 1) {
    options.watch.on_progress = [](std::size_t ridden, std::size_t all) {
      show_progress(fmt::format("{} of {} rides", ridden, all));
    };
  }
  if (plot != nullptr) {
    options.on_block = [plot](std::size_t ride, const std::vector<Channel>& block) {
      plot->take(ride, block);
    };
  }
  std::vector<Result> results = ride_to_file(path, ready, options);
  clear_progress();
  return results;
}

std::optional<RideBands> ride_bands_of(const ReadyRides& ready) {
  if (!has_bands(ready)) return RideBands();
  std::vector<std::string> metrics;
  for (const MetricRow& row : metric_rows()) metrics.push_back(row.name);
  const InterruptGuard guard(InterruptGuard::Usr1::gentle);
  BandOptions options;
  options.watch.stop = [] { return InterruptGuard::asked() || InterruptGuard::asked_gently(); };
  if (shows_progress()) {
    options.watch.on_progress = [](std::size_t ridden, std::size_t all) {
      show_progress(fmt::format("{} of {} draws", ridden, all));
    };
  }
  std::optional<RideBands> bands = ride_bands(ready, metrics, options);
  clear_progress();
  return bands;
}

}  // namespace plunge
