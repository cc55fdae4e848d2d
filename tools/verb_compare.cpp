#include <fmt/core.h>

#include <cmath>

#include "models/fault.hpp"
#include "sim/plot.hpp"
#include "sim/result_file.hpp"
#include "tools/figures.hpp"
#include "tools/json_output.hpp"
#include "tools/table.hpp"
#include "tools/verbs.hpp"

namespace plunge {
namespace {

struct Row {
  const char* name;
  const char* heading;
  const char* said;
  int decimals;
};

constexpr Row kRows[] = {
    {"pressure", "pressure", "psi", 1},
    {"sag", "sag", "mm", 1},
    {"breakaway_force", "breakaway force", "N", 1},
    {"progression", "progression, end over middle", "1", 2},
    {"travel_max", "travel used", "mm", 1},
    {"travel_use", "of full travel", "%", 1},
    {"travel_mean", "mean travel", "mm", 1},
    {"time_past_90", "time past 90 %", "%", 2},
    {"bumper_contacts", "bumper contacts", "1", 0},
    {"metal_contacts", "metal contacts", "1", 0},
    {"metal_speed_max", "metal closing speed", "m/s", 2},
    {"axle_force_max", "axle force peak", "N", 0},
    {"fork_force_max", "fork force peak", "N", 0},
    {"hand_force_max", "hand force peak", "N", 0},
    {"hand_force_rms", "hand force rms", "N", 0},
    {"sprung_acceleration_max", "frame acceleration peak", "m/s2", 1},
    {"hand_acceleration", "weighted at the bar", "m/s2", 2},
    {"tyre_load_variation", "tyre load variation", "%", 1},
    {"time_off_ground", "time off the ground", "%", 1},
    {"brake_dive_max", "largest brake dive", "mm", 1},
    {"brake_dive_steady", "steady brake dive", "mm", 1},
    {"corner_dive_max", "largest corner dive", "mm", 1},
    {"packing", "packing over bumps", "mm", 1},
    {"rebound_speed_p95", "rebound speed, 95 %", "m/s", 2},
};

std::string difference(double value, double reference, const Row& row) {
  const double change = value - reference;
  const std::string text = in_unit(change, row.said, row.decimals);
  if (text == "-") return "";
  return change > 0.0 && text.find_first_not_of("0.") != std::string::npos ? "+" + text : text;
}

}  // namespace

int compare_verb(const CompareOptions& options) {
  if (!options.plot.empty()) demand_plot_name(options.plot);
  std::vector<FileRide> rides;
  for (const std::string& path : options.files) {
    if (path.empty()) throw InputError(Fault{"", "\"\"", "is no name of a file", {}});
    for (Result& ride : read_result_file(path).rides) rides.push_back({path, std::move(ride)});
  }
  if (!options.plot.empty()) {
    std::vector<Result> all;
    for (const FileRide& item : rides) all.push_back(item.ride);
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
    legend.row({std::string(1, static_cast<char>('A' + static_cast<char>(i % 26))) +
                    (i < 26 ? "" : std::to_string(i / 26)),
                rides[i].ride.label, rides[i].file});
  }
  fmt::print("{}\n", legend.text());

  Table table;
  table.column("", "");
  for (std::size_t i = 0; i < rides.size(); ++i) {
    const std::string letter(1, static_cast<char>('A' + static_cast<char>(i % 26)));
    const std::string name = letter + (i < 26 ? "" : std::to_string(i / 26));
    table.column(name, "");
    if (i > 0) table.column(name + " - A", "");
  }
  for (const Row& row : kRows) {
    const double reference = metric(rides.front().ride, row.name);
    bool known = false;
    std::vector<std::string> cells{
        row.said == std::string("1") ? row.heading : fmt::format("{} [{}]", row.heading, row.said)};
    for (std::size_t i = 0; i < rides.size(); ++i) {
      const double value = metric(rides[i].ride, row.name);
      known = known || std::isfinite(value);
      cells.push_back(in_unit(value, row.said, row.decimals));
      if (i > 0) cells.push_back(difference(value, reference, row));
    }
    if (known) table.row(cells);
  }
  fmt::print("{}", table.text());
  if (!options.plot.empty()) fmt::print(stderr, "plot: {}\n", options.plot);
  return 0;
}

}  // namespace plunge
