#include <fmt/core.h>

#include <algorithm>
#include <iterator>

#include "models/setup/fault.hpp"
#include "models/setup/shown.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/input/overrides.hpp"
#include "sim/text/words.hpp"
#include "tools/cli/damper_curves.hpp"
#include "tools/cli/figures.hpp"
#include "tools/cli/json_output.hpp"
#include "tools/cli/lines.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/rides.hpp"
#include "tools/cli/spring_curves.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

// What belongs to the spring's curve alone.
void refuse_foreign_options(const CurveOptions& options) {
  if (!options.damper) return;
  const auto refuse = [](const char* option, const std::string& value) {
    const char* const rule = "is not read beside --damper: a damper's force follows from no spring";
    if (!value.empty()) throw InputError(Fault{option, value, rule, {}});
  };
  refuse("--spacers", options.spacers);
  refuse("--hold", options.hold);
  refuse("--rider", options.rider);
}

// The scene that is asked about, in place of forks; empty: none. A scene stands alone.
std::string scene_of(const CurveOptions& options) {
  const auto found = std::ranges::find_if(
      options.files, [](const std::string& file) { return is_scene(disk_files(), file); });
  if (found == options.files.end()) return {};
  if (options.files.size() > 1) {
    throw InputError(Fault{"", *found, "is a scene: only forks are laid side by side", {}});
  }
  if (!options.rider.empty()) {
    throw InputError(Fault{"--rider", options.rider, "a scene brings its own rider", {}});
  }
  return *found;
}

void refuse_twins(const std::vector<std::string>& files) {
  for (auto file = files.begin(); file != files.end(); ++file) {
    if (std::find(std::next(file), files.end(), *file) == files.end()) continue;
    throw InputError(Fault{"", *file, "is given twice: leave one out", {}});
  }
}

// Each fork with its variants.
std::vector<ReadyRides> ready_curves(const CurveOptions& options) {
  refuse_foreign_options(options);
  refuse_twins(options.files);
  const Wishes wishes{.set = options.set,
                      .vary = options.vary,
                      .hold = options.hold,
                      .purpose = options.damper ? Purpose::damper : Purpose::curve,
                      .spacers = options.spacers,
                      .bar = options.bar};
  const std::string scene = scene_of(options);
  if (!scene.empty()) return {ready(disk_files(), scene, wishes)};
  return ready_forks(disk_files(), options.files, options.rider, wishes);
}

// "teasel 150", or "teasel 150, alder 150".
std::string names_of(const std::vector<ReadyRides>& forks) {
  std::vector<std::string> names;
  for (const ReadyRides& fork : forks) names.push_back(fork.name);
  return joined(names);
}

int finish_plot(const std::string& path) {
  remember_written(path);
  note("plot: {}\n", shown(path));
  return 0;
}

int damper_verb(const CurveOptions& options, const std::vector<ReadyRides>& forks) {
  const bool alone = forks.size() == 1 && forks.front().rides.size() == 1;
  std::vector<DamperCurves> dampers;
  for (const ReadyRides& fork : forks) {
    const std::string begins = forks.size() > 1 ? fork.name : std::string();
    for (const ReadyRide& variant : fork.rides) {
      dampers.push_back(damper_curves(variant, begins, alone));
    }
  }
  const std::string& fork = forks.front().rides.front().setup.fork.name;
  const std::string name = forks.size() > 1 || fork.empty() ? names_of(forks) : fork;
  if (options.json) {
    say("{}\n", dampers_json(dampers));
  } else {
    const std::string what = fmt::format(
        "{}: force of the damper over speed along the legs; spring, friction and hydraulic stop "
        "left out",
        shown(name));
    say("{}\n{}", wrapped(what, line_width()), overrides_text(options.set, options.vary));
    say("{}{}", dampers.size() > 1 ? "\n" : "", damper_text(dampers));
  }
  if (options.plot.empty()) return 0;
  finish_saying();
  draw_dampers(dampers, name + ", damper", options.plot);
  return finish_plot(options.plot);
}

// Refuses a number whose values all give the same curves.
void refuse_idle(const CurveOptions& options, const std::vector<CurveTable>& curves) {
  const auto refuse_if_idle = [&](const char* option, const std::string& name,
                                  const std::string& values) {
    if (!is_idle(curves, name)) return;
    throw InputError(Fault{name,
                           values,
                           "changes nothing: no number of these curves follows from it",
                           {option, 0, 0}});
  };
  if (!options.spacers.empty()) refuse_if_idle("--spacers", "fork.spacers", options.spacers);
  for (const std::string& text : options.vary) {
    const Assignment wish = split_variation(text);
    refuse_if_idle("--vary", wish.name, wish.value);
  }
}

void print_curves(const CurveOptions& options, const std::vector<ReadyRides>& forks,
                  const std::vector<CurveTable>& curves, bool with_rider) {
  const std::string what = fmt::format(
      "{}: spring force along the legs, bumper and friction left out; slow, and fast "
      "from {}",
      shown(names_of(forks)), with_rider ? "sag" : "the port");
  say("{}\n{}", wrapped(what, line_width()), overrides_text(options.set, options.vary));
  if (holds(forks.front().hold)) say("sag held at {}\n", say_sag(forks.front().hold));
  say("\n{}", spring_text(forks, curves, with_rider, options.bar));
}

}  // namespace

int curve_verb(const CurveOptions& options) {
  const std::vector<ReadyRides> forks = ready_curves(options);
  std::size_t variants = 0;
  for (const ReadyRides& fork : forks) variants += fork.rides.size();
  if (!options.plot.empty()) demand_drawable(variants);
  const bool with_rider = !options.rider.empty() || is_scene(disk_files(), options.files.front());
  std::vector<CurveTable> curves;
  if (!options.damper) curves = spring_curves(forks, with_rider);
  refuse_idle(options, curves);
  for (const ReadyRides& fork : forks) tell_notes(fork);
  open_outputs({"", options.plot, options.replace, options.json});
  if (options.damper) return damper_verb(options, forks);
  if (!options.exact) put_bands(forks, with_rider, curves);
  if (options.json) {
    say("{}\n", curves_json(curves));
  } else {
    print_curves(options, forks, curves, with_rider);
  }
  if (options.plot.empty()) return 0;
  finish_saying();
  draw_curves(curves, names_of(forks), options.bar, options.plot);
  return finish_plot(options.plot);
}

}  // namespace plunge
