#include <fmt/core.h>

#include <cmath>

#include "models/setup/fault.hpp"
#include "sim/report/plot.hpp"
#include "sim/report/result_file.hpp"
#include "sim/ride/ready.hpp"
#include "tools/cli/figures.hpp"
#include "tools/cli/json_output.hpp"
#include "tools/cli/table.hpp"
#include "tools/cli/verbs.hpp"

namespace plunge {
namespace {

// What rides are compared by.
constexpr const char* kCompared[] = {
    "pressure",          "sag",
    "breakaway_force",   "progression",
    "travel_max",        "travel_use",
    "travel_mean",       "time_past_90",
    "bumper_contacts",   "metal_contacts",
    "metal_speed_max",   "axle_force_max",
    "fork_force_max",    "hand_force_max",
    "hand_force_rms",    "sprung_acceleration_max",
    "hand_acceleration", "tyre_load_variation",
    "time_off_ground",   "brake_dive_max",
    "brake_dive_steady", "corner_dive_max",
    "packing",           "rebound_speed_p95",
};

std::string difference(double value, double reference, const Told& told) {
  const double change = value - reference;
  const std::string text = in_unit(change, told.said, told.decimals);
  if (text == "-") return "";
  return change > 0.0 && text.find_first_not_of("0.") != std::string::npos ? "+" + text : text;
}

// A, B, ... Z, A1, ...
std::string ride_name(std::size_t number) {
  const std::string letter(1, static_cast<char>('A' + static_cast<char>(number % 26)));
  return number < 26 ? letter : letter + std::to_string(number / 26);
}

// Rides that were told apart by a number that nothing in them reads have equal rows under other
// labels: they are refused, as riding them is.
void refuse_unread(const std::string& path, const Result& ride) {
  Faults faults = unread_variations(ride);
  for (Fault& fault : faults) fault.place.file = path;
  if (!faults.empty()) throw InputError(faults);
}

}  // namespace

int compare_verb(const CompareOptions& options) {
  if (!options.plot.empty()) demand_plot_name(options.plot);
  std::vector<FileRide> rides;
  for (const std::string& path : options.files) {
    if (path.empty()) throw InputError(Fault{"", "\"\"", "is no name of a file", {}});
    for (Result& ride : read_result_file(path).rides) {
      refuse_unread(path, ride);
      rides.push_back({path, std::move(ride)});
    }
  }
  if (!options.plot.empty()) {
    std::vector<const Result*> all;
    for (const FileRide& item : rides) all.push_back(&item.ride);
    draw_rides(all, "compared rides", options.plot);
  }
  if (options.json) {
    fmt::print("{}\n", comparison_json(rides));
    return 0;
  }
  Table legend;
  legend.column("ride", "");
  legend.column("what", "");
  legend.column("file", "");
  for (std::size_t i = 0; i < rides.size(); ++i) {
    legend.row({ride_name(i), rides[i].ride.label, rides[i].file});
  }
  fmt::print("{}\n", legend.text());

  Table table;
  table.column("", "");
  for (std::size_t i = 0; i < rides.size(); ++i) {
    table.column(ride_name(i), "");
    if (i > 0) table.column(ride_name(i) + " - A", "");
  }
  for (const char* name : kCompared) {
    const Told& told = how_told(name);
    const double reference = metric(rides.front().ride, name);
    bool known = false;
    std::vector<std::string> cells{
        told.said == std::string("1") ? told.label : fmt::format("{} [{}]", told.label, told.said)};
    for (std::size_t i = 0; i < rides.size(); ++i) {
      const double value = metric(rides[i].ride, name);
      known = known || std::isfinite(value);
      cells.push_back(in_unit(value, told.said, told.decimals));
      if (i > 0) cells.push_back(difference(value, reference, told));
    }
    if (known) table.row(cells);
  }
  fmt::print("{}", table.text());
  if (!options.plot.empty()) fmt::print(stderr, "plot: {}\n", options.plot);
  return 0;
}

}  // namespace plunge
