#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "models/setup/statics.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/measure/metrics.hpp"
#include "tools/cli/band_words.hpp"
#include "tools/cli/damper_curves.hpp"
#include "tools/cli/figures.hpp"
#include "tools/cli/json_output.hpp"
#include "tools/cli/lines.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/rides.hpp"
#include "tools/cli/table.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

const Label kForce{"", "N", "", "N", 0, ""};
constexpr int kPoints = 101;  // of a drawn curve

// What belongs to the spring's curve alone, or to the damper's.
void refuse_foreign_options(const CurveOptions& options) {
  const auto refuse = [](const char* option, const std::string& value, const char* rule) {
    if (!value.empty()) throw InputError(Fault{option, value, rule, {}});
  };
  if (options.damper) {
    const char* const rule = "is not read beside --damper: a damper's force follows from no spring";
    refuse("--spacers", options.spacers, rule);
    refuse("--hold", options.hold, rule);
    refuse("--rider", options.rider, rule);
  } else if (!options.vary.empty()) {
    refuse("--vary", options.vary.front(), "needs --damper; spacers are varied by --spacers");
  }
}

ReadyRides ready_curves(const CurveOptions& options) {
  refuse_foreign_options(options);
  Wishes wishes;
  wishes.set = options.set;
  if (options.damper) {
    wishes.vary = options.vary;
    wishes.purpose = Purpose::damper;
    wishes.bar = options.bar;
    return is_scene(disk_files(), options.file)
               ? ready(disk_files(), options.file, wishes)
               : ready_fork(disk_files(), options.file, "", wishes);
  }
  // One curve for each spacer count that is asked for.
  if (!options.spacers.empty()) wishes.vary = {"fork.spacers=" + options.spacers};
  wishes.vary_option = "--spacers";
  wishes.hold = options.hold;
  wishes.bar = options.bar;
  wishes.purpose = Purpose::curve;
  if (!is_scene(disk_files(), options.file)) {
    return ready_fork(disk_files(), options.file, options.rider, wishes);
  }
  if (!options.rider.empty()) {
    throw InputError(Fault{"--rider", options.rider, "a scene brings its own rider", {}});
  }
  return ready(disk_files(), options.file, wishes);
}

// Forces that are printed beside the metrics, as --json names their bands.
std::string slow_name(std::size_t percent) { return fmt::format("slow_force_{}", percent); }
constexpr char kFast[] = "fast_force_100";

// Where a fast stroke starts.
double fast_from(const Rider& rider, bool with_rider) {
  return with_rider ? sag(rider) : std::max(0.0, rider.air.port.deep_edge());
}

CurveTable curve_of(const ReadyRide& variant, bool with_rider) {
  const Setup& setup = variant.setup;
  const Rider rider = assemble(setup);
  CurveTable curve;
  curve.label = variant.label;
  curve.set = variant.set;
  curve.held = variant.held;
  curve.metrics = static_metrics(rider, setup);
  if (!with_rider) {
    std::erase_if(curve.metrics,
                  [](const Metric& m) { return (find_metric(m.name)->needs & kNeedsRider) != 0; });
  }
  const double from = fast_from(rider, with_rider);
  for (int i = 0; i < kPoints; ++i) {
    const double x = rider.travel * i / (kPoints - 1);
    curve.travel.push_back(x);
    curve.slow.push_back(slow_spring_force(rider, x));
    curve.fast.push_back(fast_spring_force(rider, from, x));
  }
  return curve;
}

// What is not known leaves open of each curve's numbers.
void put_bands(const ReadyRides& all, bool with_rider, std::vector<CurveTable>& curves) {
  std::vector<std::string> names;
  for (const Metric& metric : curves.front().metrics) names.push_back(metric.name);
  const std::size_t metrics = names.size();
  for (std::size_t percent = 25; percent <= 100; percent += 25) names.push_back(slow_name(percent));
  names.emplace_back(kFast);
  const auto read = [&](const ReadyRide& drawn) {
    const Rider rider = assemble(drawn.setup);
    std::vector<double> numbers(metrics, kUnset);
    for (const Metric& metric : static_metrics(rider, drawn.setup)) {
      const auto found = std::find(names.begin(), names.end(), metric.name);
      if (found != names.end())
        numbers[static_cast<std::size_t>(found - names.begin())] = metric.value;
    }
    for (int quarter = 1; quarter <= 4; ++quarter) {
      numbers.push_back(slow_spring_force(rider, rider.travel * quarter / 4.0));
    }
    numbers.push_back(fast_spring_force(rider, fast_from(rider, with_rider), rider.travel));
    return numbers;
  };
  const RideBands bands = bands_at_rest(all, names, read);
  if (bands.empty()) return;
  for (std::size_t i = 0; i < curves.size(); ++i) {
    curves[i].bands = {bands.draws, bands.knowledge, {bands.rides[i]}};
  }
}

void print_curves(const CurveOptions& options, const ReadyRides& all,
                  const std::vector<CurveTable>& curves, bool with_rider) {
  const std::string what = fmt::format(
      "{}: spring force along the legs, bumper and friction left out; slow, and fast "
      "from {}",
      shown(all.name), with_rider ? "sag" : "the port");
  say("{}\n{}", wrapped(what, line_width()), overrides_text(options.set));
  if (holds(all.hold)) say("sag held at {}\n", say_sag(all.hold));
  const bool air = all.rides.front().setup.fork.spring == Spring::air;
  say("\n");
  Table table;
  table.column("", "");
  const auto label = [&](const char* name) { return in_bar(*find_metric(name), options.bar); };
  const auto column = [&](const char* name) {
    table.column(label(name).label, unit_of(label(name).said));
  };
  if (air) column("pressure");
  if (with_rider) {
    column("sag");
    table.column("rests at", unit_of(label("sag").said));
  }
  column("breakaway_force");
  for (int percent = 25; percent <= 100; percent += 25) {
    table.column(fmt::format("at {} %", percent), "N slow");
  }
  table.column("at 100 %", "N fast");
  column("progression");
  std::vector<PrintedNumber> printed;
  RideBands whole;
  for (const CurveTable& curve : curves) {
    const auto open = [&](std::string_view name) {
      return curve.bands.empty() ? nullptr : curve.bands.rides.front().find(name);
    };
    const auto find = [&](const char* name) { return metric(curve.metrics, name); };
    const CurveTable& first = curves.front();
    const auto value = [&](const char* name) {
      printed.push_back({label(name).label, open(name)});
      return banded_change(find(name), metric(first.metrics, name), label(name), open(name));
    };
    const auto force = [&](double newton, double of_first, const std::string& name,
                           const std::string& words) {
      printed.push_back({words, open(name)});
      return banded_change(newton, of_first, kForce, open(name));
    };
    std::vector<std::string> cells{curves.size() > 1 ? curve.label : ""};
    if (air) cells.push_back(value("pressure"));
    if (with_rider) {
      cells.push_back(value("sag"));
      cells.push_back(banded_between(find("sag_least"), find("sag_most"), label("sag"),
                                     open("sag_least"), open("sag_most")));
    }
    cells.push_back(value("breakaway_force"));
    for (std::size_t i = 25; i <= 100; i += 25) {
      cells.push_back(force(curve.slow[i], first.slow[i], slow_name(i), fmt::format("at {} %", i)));
    }
    cells.push_back(force(curve.fast[100], first.fast[100], kFast, "at 100 % fast"));
    cells.push_back(value("progression"));
    table.row(cells);
    if (curve.bands.empty()) continue;
    whole.draws = curve.bands.draws;
    whole.knowledge = curve.bands.knowledge;
    whole.rides.push_back(curve.bands.rides.front());
  }
  say("{}", table.text());
  if (!whole.empty()) {
    say("\n{}", band_account(whole, all.rides.front().setup, printed, true));
  }
}

int finish_plot(const std::string& path) {
  remember_written(path);
  note("plot: {}\n", shown(path));
  return 0;
}

int damper_verb(const CurveOptions& options, const ReadyRides& all) {
  std::vector<DamperCurves> dampers;
  for (const ReadyRide& variant : all.rides) {
    dampers.push_back(damper_curves(variant, all.rides.size() == 1));
  }
  const std::string& fork = all.rides.front().setup.fork.name;
  const std::string name = fork.empty() ? all.name : fork;
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

}  // namespace

int curve_verb(const CurveOptions& options) {
  const ReadyRides all = ready_curves(options);
  tell_notes(all);
  if (!options.plot.empty()) demand_drawable(all.rides.size());
  open_outputs({"", options.plot, options.replace, options.json});
  if (options.damper) return damper_verb(options, all);
  const bool with_rider = !options.rider.empty() || is_scene(disk_files(), options.file);
  std::vector<CurveTable> curves;
  for (const ReadyRide& variant : all.rides) curves.push_back(curve_of(variant, with_rider));
  if (!options.exact) put_bands(all, with_rider, curves);

  if (options.json) {
    say("{}\n", curves_json(curves));
  } else {
    print_curves(options, all, curves, with_rider);
  }
  if (options.plot.empty()) return 0;
  finish_saying();
  draw_curves(curves, all.name, options.plot);
  return finish_plot(options.plot);
}

}  // namespace plunge
