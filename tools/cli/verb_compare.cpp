#include <fmt/core.h>

#include <cmath>

#include "models/setup/fault.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/report/result_file.hpp"
#include "sim/ride/ready.hpp"
#include "tools/cli/figures.hpp"
#include "tools/cli/json_output.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/table.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

std::string difference(double value, double reference, const Label& label) {
  const double change = value - reference;
  const std::string text = in_said(change, label);
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
  open_outputs({"", options.plot, options.replace, options.json}, options.files);
  std::vector<FileRide> rides;
  for (const std::string& path : options.files) {
    if (path.empty()) throw InputError(Fault{"", "\"\"", "is no name of a file", {}});
    for (Result& ride :
         read_result_file(path, seal_for(options.unsealed), !options.plot.empty()).rides) {
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
    say("{}\n", comparison_json(rides));
    return 0;
  }
  Table legend;
  legend.column("ride", "");
  legend.column("what", "");
  legend.column("file", "");
  for (std::size_t i = 0; i < rides.size(); ++i) {
    legend.row({ride_name(i), rides[i].ride.label, rides[i].file});
  }
  say("{}\n", legend.text());

  Table table;
  table.column("", "");
  for (std::size_t i = 0; i < rides.size(); ++i) {
    table.column(ride_name(i), "");
    if (i > 0) table.column(ride_name(i) + " - A", "");
  }
  for (const MetricRow& row : metric_rows()) {
    if ((row.shown & kInComparisons) == 0) continue;
    const double reference = metric(rides.front().ride, row.name);
    bool known = false;
    std::vector<std::string> cells{with_unit(row.label, row.said)};
    for (std::size_t i = 0; i < rides.size(); ++i) {
      const double value = metric(rides[i].ride, row.name);
      known = known || std::isfinite(value);
      cells.push_back(in_said(value, row));
      if (i > 0) cells.push_back(difference(value, reference, row));
    }
    if (known) table.row(cells);
  }
  say("{}", table.text());
  if (!options.plot.empty()) tell("plot: {}\n", options.plot);
  return 0;
}

}  // namespace plunge
