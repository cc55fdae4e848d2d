#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <optional>

#include "sim/disk/disk_files.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/report/plot.hpp"
#include "tools/cli/figures.hpp"
#include "tools/cli/json_output.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/rides.hpp"
#include "tools/cli/table.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

std::string what_is_ridden(const Setup& setup) {
  return fmt::format(
      "{}\n{}, {}, {} km/h", setup.name, setup.fork.name.empty() ? "fork" : setup.fork.name,
      setup.rider.name.empty() ? "rider" : setup.rider.name, in_unit(setup.ride.speed, "km/h", 1));
}

// Where friction may leave a fork at rest, behind its sag.
std::string rests_at(const Result& ride, const Label& sag) {
  return fmt::format("rests at {} to {}", in_said(metric(ride, "sag_least"), sag),
                     in_said(metric(ride, "sag_most"), sag));
}

void print_one(const Result& ride, bool bar) {
  for (const Group group :
       {Group::rest, Group::travel, Group::forces, Group::grip, Group::events, Group::speed}) {
    Table table;
    table.column(std::string(heading(group)), "");
    for (int i = 0; i < 3; ++i) table.column("", "");
    bool any = false;
    for (const MetricRow& row : metric_rows()) {
      if (row.group != group || (row.shown & kWithOneRide) == 0) continue;
      const auto found = std::ranges::find(ride.metrics, row.name, &Metric::name);
      if (found == ride.metrics.end()) continue;
      any = true;
      const Label label = in_bar(row, bar);
      table.row({label.label, in_said(found->value, label), unit_of(label.said),
                 row.name == "sag" ? rests_at(ride, label) : ""});
    }
    if (any) say("{}\n", table.text());
  }
}

void print_side_by_side(const std::vector<Result>& rides, bool bar) {
  std::vector<Label> shown;
  for (const MetricRow& row : metric_rows()) {
    const bool there = std::isfinite(metric(rides.front(), row.name));
    if ((row.shown & kSideBySide) != 0 && there) shown.push_back(in_bar(row, bar));
  }
  Table table;
  table.column("", "");
  for (const Label& label : shown) table.column(label.label, unit_of(label.said));
  for (const Result& ride : rides) {
    std::vector<std::string> cells{ride.label};
    for (const Label& label : shown) cells.push_back(in_said(metric(ride, label.name), label));
    table.row(cells);
  }
  say("{}\n", table.text());
}

// The command without its outputs: the same rides are the same bytes under any name.
std::string history_of(const RideOptions& options) {
  std::string text = "plunge ride " + std::filesystem::path(options.scene).filename().string();
  for (const std::string& set : options.set) text += " --set " + set;
  for (const std::string& vary : options.vary) text += " --vary " + vary;
  if (!options.hold.empty()) text += " --hold " + options.hold;
  return text;
}

// Where the results go. What cannot be written is refused before anything is ridden.
std::string output_of(const RideOptions& options) {
  namespace fs = std::filesystem;
  const std::string output =
      options.output.empty() ? fs::path(options.scene).stem().string() + ".h5" : options.output;
  open_outputs({output, options.plot, options.replace, options.json});
  if (options.output.empty() && fs::exists(output)) {
    tell("replaces {}, which is there; -o FILE names another\n", output);
  }
  return output;
}

}  // namespace

int ride_verb(const RideOptions& options) {
  Wishes wishes{options.set, options.vary, options.hold};
  wishes.bar = options.bar;
  const ReadyRides all = ready(disk_files(), options.scene, wishes);
  tell_notes(all);
  const std::string output = output_of(options);
  std::optional<PlotTraces> plot;
  if (!options.plot.empty()) plot.emplace(all);
  const std::vector<Result> rides =
      ride_ready(all, output, history_of(options), plot ? &*plot : nullptr);
  if (plot && !rides.empty()) draw_rides(plot->rides(), all.name, options.plot);

  bool failed = false;
  for (const Result& ride : rides) {
    if (ride.failure.empty()) continue;
    failed = true;
    tell("plunge: {}: the run failed {}; what it had is kept\n", ride.label, ride.failure);
  }
  if (options.json) {
    put_rides_json(rides, say_text);
    say_text("\n");
  } else if (!rides.empty()) {
    say("{}\n", what_is_ridden(all.rides.front().setup));
    if (holds(all.hold)) say("sag held at {}\n", say_sag(all.hold));
    say("\n");
    if (all.rides.size() == 1) {
      print_one(rides.front(), options.bar);
    } else {
      print_side_by_side(rides, options.bar);
    }
    double worst = 0.0;
    for (const Result& ride : rides) {
      worst = std::max(worst, std::abs(energy(ride, "closing_error")));
    }
    say("energy closes to {:.1g} of what was turned over\n", worst);
  }
  if (!rides.empty()) tell("results: {}\n", name_of_output(output));
  if (!options.plot.empty() && !rides.empty()) tell("plot:    {}\n", options.plot);
  if (rides.size() < all.rides.size()) {
    tell("plunge: interrupted after {} of {} rides; those are kept\n", rides.size(),
         all.rides.size());
    return 1;
  }
  return failed ? 1 : 0;
}

}  // namespace plunge
