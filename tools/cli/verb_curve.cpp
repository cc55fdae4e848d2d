#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "models/setup/fault.hpp"
#include "models/setup/judge.hpp"
#include "models/setup/masses.hpp"
#include "models/setup/parameters.hpp"
#include "models/setup/statics.hpp"
#include "sim/disk/text_file.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/text/toml_file.hpp"
#include "tools/cli/figures.hpp"
#include "tools/cli/json_output.hpp"
#include "tools/cli/rides.hpp"
#include "tools/cli/table.hpp"
#include "tools/cli/verbs.hpp"

namespace plunge {
namespace {

constexpr int kPoints = 101;  // of a drawn curve

// A scene around a fork alone: level ground, the given rider or none in particular.
Scene scene_of_fork(const CurveOptions& options) {
  Scene scene;
  scene.path = options.file;
  scene.setup = defaults();
  scene.setup.fork = load_fork(options.file, options.set);
  scene.setup.name = scene.setup.fork.name;
  if (!options.rider.empty()) scene.setup.rider = load_rider(options.rider);
  Feature flat;
  flat.length = 1.0;
  fill_defaults(flat);
  scene.setup.terrain = {flat};
  scene.setup.ride.speed = 5.0;  // nothing is ridden
  if (options.rider.empty()) scene.setup.rider.mass = 80.0;
  fill_defaults(scene.setup);
  return scene;
}

// Whether a file says that it is a scene; other types and faults are for the loaders.
bool is_scene(const std::string& path) {
  const TomlFile file = parse_toml(read_text_file(path), path);
  const TomlNode* type = file.root.find("type");
  return type != nullptr && type->text == "scene";
}

// One variant for each spacer count that is asked for. Its faults name the option that asked.
std::vector<Variant> spacer_variants(const Scene& scene, const CurveOptions& options, double sag) {
  std::vector<std::string> vary;
  if (!options.spacers.empty()) vary.push_back("fork.spacers=" + options.spacers);
  try {
    return make_variants(scene, vary, sag, options.bar);
  } catch (const InputError& error) {
    Faults faults = error.faults();
    for (Fault& fault : faults) {
      if (fault.place.file == "--vary") fault.place.file = "--spacers";
    }
    throw InputError(faults);
  }
}

CurveTable curve_of(const Variant& variant, bool with_rider) {
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
  const double from = with_rider ? sag(rider) : std::max(0.0, rider.air.port.deep_edge());
  for (int i = 0; i < kPoints; ++i) {
    const double x = rider.travel * i / (kPoints - 1);
    curve.travel.push_back(x);
    curve.slow.push_back(slow_spring_force(rider, x));
    curve.fast.push_back(fast_spring_force(rider, from, x));
  }
  return curve;
}

}  // namespace

int curve_verb(const CurveOptions& options) {
  const bool from_scene = is_scene(options.file);
  if (from_scene && !options.rider.empty()) {
    throw InputError(Fault{"--rider", options.rider, "a scene brings its own rider", {}});
  }
  const Scene scene = from_scene ? load_scene(options.file, options.set) : scene_of_fork(options);
  const bool with_rider = from_scene || !options.rider.empty();
  const double sag = sag_to_hold(options.hold, scene.hold_sag, options.set, {});
  if (!with_rider && !std::isnan(sag)) {
    throw InputError(Fault{"--hold", options.hold, "needs a rider: give --rider FILE", {}});
  }
  const std::vector<Variant> variants = spacer_variants(scene, options, sag);
  std::vector<CurveTable> curves;
  for (const Variant& variant : variants) curves.push_back(curve_of(variant, with_rider));

  if (!options.plot.empty()) draw_curves(curves, scene.setup.name, options.plot);
  if (options.json) {
    fmt::print("{}\n", curves_json(curves));
    return 0;
  }
  fmt::print(
      "{}: spring force along the legs, bumper and friction left out;\nslow, and fast from {}\n",
      scene.setup.name, with_rider ? "sag" : "the port");
  if (!std::isnan(sag)) fmt::print("sag held at {} %\n", in_unit(sag, "%", 1));
  const bool air = scene.setup.fork.spring == Spring::air;
  fmt::print("\n");
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
  for (const CurveTable& curve : curves) {
    const auto value = [&](const char* name) {
      const auto found = std::ranges::find(curve.metrics, name, &Metric::name);
      return in_said(found == curve.metrics.end() ? kUnset : found->value, label(name));
    };
    std::vector<std::string> cells{curve.label};
    if (air) cells.push_back(value("pressure"));
    if (with_rider) {
      cells.push_back(value("sag"));
      cells.push_back(value("sag_least") + " to " + value("sag_most"));
    }
    cells.push_back(value("breakaway_force"));
    for (std::size_t i = 25; i <= 100; i += 25) cells.push_back(in_unit(curve.slow[i], "N", 0));
    cells.push_back(in_unit(curve.fast[100], "N", 0));
    cells.push_back(value("progression"));
    table.row(cells);
  }
  fmt::print("{}", table.text());
  if (!options.plot.empty()) fmt::print(stderr, "plot: {}\n", options.plot);
  return 0;
}

}  // namespace plunge
