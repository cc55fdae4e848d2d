#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "models/fault.hpp"
#include "sim/atomic_file.hpp"
#include "sim/plot.hpp"
#include "sim/result_file.hpp"
#include "sim/used_parameters.hpp"
#include "sim/version.hpp"
#include "tools/figures.hpp"
#include "tools/json_output.hpp"
#include "tools/rides.hpp"
#include "tools/table.hpp"
#include "tools/verbs.hpp"

namespace plunge {
namespace {

struct Line {
  const char* name;  // of the metric
  const char* label;
  const char* said;
  int decimals;
};

struct Group {
  const char* heading;
  std::vector<Line> lines;
};

// What a single ride is told by, in the order of a workshop's questions.
const std::vector<Group>& groups() {
  static const std::vector<Group> kGroups = {
      {"at rest",
       {{"pressure", "pressure", "psi", 1},
        {"pressure_reattached", "pressure with the hose back on", "psi", 1},
        {"sag", "sag", "mm", 1},
        {"breakaway_force", "breakaway force", "N", 0},
        {"stiffness_slow", "stiffness at sag, slow", "N/mm", 2},
        {"stiffness_fast", "stiffness at sag, fast", "N/mm", 2},
        {"progression", "progression, end over middle", "1", 2}}},
      {"travel",
       {{"travel_max", "travel used", "mm", 1},
        {"travel_use", "of full travel", "%", 1},
        {"travel_mean", "mean travel", "mm", 1},
        {"time_past_90", "time past 90 %", "%", 2},
        {"bumper_contacts", "bumper contacts", "1", 0},
        {"metal_contacts", "metal contacts", "1", 0},
        {"metal_speed_max", "metal closing speed", "m/s", 2},
        {"metal_energy_max", "metal closing energy", "J", 1},
        {"packing", "packing over bumps", "mm", 1}}},
      {"forces",
       {{"axle_force_max", "axle force peak", "N", 0},
        {"fork_force_max", "fork force peak", "N", 0},
        {"damper_force_max", "damper force peak", "N", 0},
        {"hand_force_max", "hand force peak", "N", 0},
        {"hand_force_rms", "hand force rms", "N", 0},
        {"sprung_acceleration_max", "frame acceleration peak", "m/s2", 1},
        {"hand_acceleration", "weighted at the bar, ISO 5349-1", "m/s2", 2},
        {"vibration_dose", "vibration dose, ISO 2631-1", "1", 1}}},
      {"grip",
       {{"tyre_load_variation", "tyre load variation", "%", 1},
        {"time_off_ground", "time off the ground", "%", 1},
        {"lift_offs", "lift-offs", "1", 0},
        {"rim_strikes", "rim strikes", "1", 0}}},
      {"braking and cornering",
       {{"brake_dive_max", "largest brake dive, bumps included", "mm", 1},
        {"brake_dive_steady", "steady brake dive", "mm", 1},
        {"brake_dive_settle", "brake dive settles in", "s", 2},
        {"corner_dive_max", "largest corner dive, bumps included", "mm", 1},
        {"corner_dive_steady", "steady corner dive", "mm", 1},
        {"corner_dive_settle", "corner dive settles in", "s", 2}}},
      {"fork speed and damper",
       {{"damper_power", "mean damper power", "W", 1},
        {"compression_speed_p50", "compression speed, median", "m/s", 2},
        {"compression_speed_p95", "compression speed, 95 %", "m/s", 2},
        {"compression_speed_p99", "compression speed, 99 %", "m/s", 2},
        {"rebound_speed_p50", "rebound speed, median", "m/s", 2},
        {"rebound_speed_p95", "rebound speed, 95 %", "m/s", 2},
        {"rebound_speed_p99", "rebound speed, 99 %", "m/s", 2}}},
  };
  return kGroups;
}

std::string pressure_unit(bool bar) { return bar ? "bar" : "psi"; }
int pressure_decimals(bool bar) { return bar ? 2 : 1; }

std::string what_is_ridden(const Setup& setup) {
  return fmt::format(
      "{}\n{}, {}, {} km/h", setup.name, setup.fork.name.empty() ? "fork" : setup.fork.name,
      setup.rider.name.empty() ? "rider" : setup.rider.name, in_unit(setup.ride.speed, "km/h", 1));
}

void print_one(const Result& ride, bool bar) {
  for (const Group& group : groups()) {
    Table table;
    table.column(group.heading, "");
    table.column("", "");
    table.column("", "");
    bool any = false;
    for (const Line& line : group.lines) {
      const auto found = std::find_if(ride.metrics.begin(), ride.metrics.end(),
                                      [&](const Metric& m) { return m.name == line.name; });
      if (found == ride.metrics.end()) continue;
      any = true;
      const bool pressure = line.said == std::string("psi");
      const std::string said = pressure ? pressure_unit(bar) : line.said;
      const int decimals = pressure ? pressure_decimals(bar) : line.decimals;
      table.row({line.label, in_unit(found->value, said, decimals), said == "1" ? "" : said});
    }
    if (any) fmt::print("{}\n", table.text());
  }
}

void print_side_by_side(const std::vector<Result>& rides, bool bar) {
  const bool dive = std::isfinite(metric(rides.front(), "brake_dive_max"));
  const bool air = std::isfinite(metric(rides.front(), "pressure"));
  Table table;
  table.column("", "");
  if (air) table.column("pressure", pressure_unit(bar));
  table.column("sag", "mm");
  table.column("breakaway", "N");
  table.column("travel", "mm");
  table.column("used", "%");
  table.column("bumper", "contacts");
  table.column("metal", "contacts");
  table.column("axle peak", "N");
  table.column("fork peak", "N");
  table.column("hands peak", "N");
  if (dive) table.column("brake dive", "mm");
  for (const Result& ride : rides) {
    std::vector<std::string> cells{ride.label};
    const auto add = [&](const char* name, const std::string& said, int decimals) {
      cells.push_back(in_unit(metric(ride, name), said, decimals));
    };
    if (air) add("pressure", pressure_unit(bar), pressure_decimals(bar));
    add("sag", "mm", 1);
    add("breakaway_force", "N", 1);
    add("travel_max", "mm", 1);
    add("travel_use", "%", 1);
    add("bumper_contacts", "1", 0);
    add("metal_contacts", "1", 0);
    add("axle_force_max", "N", 0);
    add("fork_force_max", "N", 0);
    add("hand_force_max", "N", 0);
    if (dive) add("brake_dive_max", "mm", 1);
    table.row(cells);
  }
  fmt::print("{}\n", table.text());
}

ResultFile to_file(const std::vector<Result>& rides, const std::string& title) {
  ResultFile file;
  file.title = title;
  file.program_version = kProgramVersion;
  file.rides = rides;
  for (const Result& ride : rides) file.parameters.push_back(used_parameters(ride.setup));
  return file;
}

// Where the results go. What cannot be written is refused before anything is ridden.
std::string output_of(const RideOptions& options) {
  namespace fs = std::filesystem;
  const std::string output =
      options.output.empty() ? fs::path(options.scene).stem().string() + ".h5" : options.output;
  const std::string suffix = fs::path(output).extension().string();
  if (suffix == ".toml" || suffix == ".csv") {
    throw InputError(Fault{"--output", output, "has the name of an input; results end in .h5", {}});
  }
  if (!options.plot.empty()) {
    demand_plot_name(options.plot);
    if (fs::path(output).lexically_normal() == fs::path(options.plot).lexically_normal()) {
      throw InputError(Fault{"--plot", options.plot, "must not be the file of the results", {}});
    }
    demand_writable(options.plot);
  }
  demand_writable(output);
  return output;
}

}  // namespace

int ride_verb(const RideOptions& options) {
  const Scene scene = load_scene(options.scene, options.set);
  const double sag = sag_to_hold(options.hold, scene.hold_sag, options.set, options.vary);
  const std::vector<Variant> variants = make_variants(scene, options.vary, sag, options.bar);
  const std::string output = output_of(options);
  const std::vector<Result> rides = ride_variants(variants);

  if (!rides.empty()) write_result_file(output, to_file(rides, scene.setup.name));
  if (!options.plot.empty() && !rides.empty()) draw_rides(rides, scene.setup.name, options.plot);

  bool failed = false;
  for (const Result& ride : rides) {
    if (ride.failure.empty()) continue;
    failed = true;
    fmt::print(stderr, "plunge: {}: the run failed {}; what it had is kept\n", ride.label,
               ride.failure);
  }
  if (options.json) {
    fmt::print("{}\n", rides_json(rides));
  } else if (!rides.empty()) {
    fmt::print("{}\n", what_is_ridden(scene.setup));
    if (!std::isnan(sag)) fmt::print("sag held at {} %\n", in_unit(sag, "%", 1));
    fmt::print("\n");
    if (variants.size() == 1) {
      print_one(rides.front(), options.bar);
    } else {
      print_side_by_side(rides, options.bar);
    }
    double worst = 0.0;
    for (const Result& ride : rides) {
      worst = std::max(worst, std::abs(energy(ride, "closing_error")));
    }
    fmt::print("energy closes to {:.1g} of what was turned over\n", worst);
  }
  if (!rides.empty()) fmt::print(stderr, "results: {}\n", output);
  if (!options.plot.empty() && !rides.empty()) fmt::print(stderr, "plot:    {}\n", options.plot);
  if (rides.size() < variants.size()) {
    fmt::print(stderr, "plunge: interrupted after {} of {} rides; those are kept\n", rides.size(),
               variants.size());
    return 1;
  }
  return failed ? 1 : 0;
}

}  // namespace plunge
