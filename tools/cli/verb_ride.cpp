#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/report/plot.hpp"
#include "sim/report/result_file.hpp"
#include "sim/report/used_parameters.hpp"
#include "sim/text/version.hpp"
#include "tools/cli/figures.hpp"
#include "tools/cli/json_output.hpp"
#include "tools/cli/rides.hpp"
#include "tools/cli/table.hpp"
#include "tools/cli/verbs.hpp"

namespace plunge {
namespace {

struct Group {
  const char* heading;
  std::vector<const char*> metrics;
};

// What a single ride is told by, in the order of a workshop's questions.
const std::vector<Group>& groups() {
  static const std::vector<Group> kGroups = {
      {"at rest",
       {"pressure", "pressure_reattached", "sag", "breakaway_force", "stiffness_slow",
        "stiffness_fast", "progression"}},
      {"travel",
       {"travel_max", "travel_use", "travel_mean", "time_past_90", "bumper_contacts",
        "metal_contacts", "metal_speed_max", "metal_energy_max", "packing"}},
      {"forces",
       {"axle_force_max", "fork_force_max", "damper_force_max", "hand_force_max", "hand_force_rms",
        "sprung_acceleration_max", "hand_acceleration", "vibration_dose"}},
      {"grip", {"tyre_load_variation", "time_off_ground", "lift_offs", "rim_strikes"}},
      {"braking and cornering",
       {"brake_dive_max", "brake_dive_steady", "brake_dive_settle", "corner_dive_max",
        "corner_dive_steady", "corner_dive_settle"}},
      {"fork speed and damper",
       {"damper_power", "compression_speed_p50", "compression_speed_p95", "compression_speed_p99",
        "rebound_speed_p50", "rebound_speed_p95", "rebound_speed_p99"}},
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
    for (const char* name : group.metrics) {
      const auto found = std::ranges::find(ride.metrics, name, &Metric::name);
      if (found == ride.metrics.end()) continue;
      any = true;
      const Told& told = how_told(name);
      const bool pressure = told.said == std::string("psi");
      const std::string said = pressure ? pressure_unit(bar) : told.said;
      const int decimals = pressure ? pressure_decimals(bar) : told.decimals;
      table.row({told.label, in_unit(found->value, said, decimals), said == "1" ? "" : said});
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

ResultFile to_file(std::vector<Result> rides, const std::string& title) {
  ResultFile file;
  file.title = title;
  file.program_version = kProgramVersion;
  file.rides = std::move(rides);
  for (const Result& ride : file.rides) file.parameters.push_back(used_parameters(ride.setup));
  return file;
}

std::vector<const Result*> pointers_to(const std::vector<Result>& rides) {
  std::vector<const Result*> pointers;
  for (const Result& ride : rides) pointers.push_back(&ride);
  return pointers;
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
  Wishes wishes{options.set, options.vary, options.hold};
  wishes.bar = options.bar;
  const ReadyRides all = ready(disk_files(), options.scene, wishes);
  tell_notes(all);
  const std::string output = output_of(options);
  const ResultFile file = to_file(ride_ready(all), all.name);
  const std::vector<Result>& rides = file.rides;

  if (!rides.empty()) write_result_file(output, file);
  if (!options.plot.empty() && !rides.empty()) {
    draw_rides(pointers_to(rides), all.name, options.plot);
  }

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
    fmt::print("{}\n", what_is_ridden(all.rides.front().setup));
    if (holds(all.hold)) fmt::print("sag held at {}\n", say_sag(all.hold));
    fmt::print("\n");
    if (all.rides.size() == 1) {
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
  if (rides.size() < all.rides.size()) {
    fmt::print(stderr, "plunge: interrupted after {} of {} rides; those are kept\n", rides.size(),
               all.rides.size());
    return 1;
  }
  return failed ? 1 : 0;
}

}  // namespace plunge
