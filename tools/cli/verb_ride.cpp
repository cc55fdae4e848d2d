#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <exception>
#include <filesystem>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/disk/atomic_file.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/report/plot.hpp"
#include "sim/report/result_file.hpp"
#include "sim/report/used_parameters.hpp"
#include "sim/text/version.hpp"
#include "sim/text/words.hpp"
#include "tools/cli/figures.hpp"
#include "tools/cli/inputs.hpp"
#include "tools/cli/json_output.hpp"
#include "tools/cli/lines.hpp"
#include "tools/cli/rides.hpp"
#include "tools/cli/table.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

std::vector<const Result*> pointers_to(const std::vector<Result>& rides) {
  std::vector<const Result*> pointers;
  for (const Result& ride : rides) pointers.push_back(&ride);
  return pointers;
}

// A table of its metrics for each group; what is 0 is left out, but for counts, which are named.
void print_one(const Result& ride, bool bar) {
  const Sifted sifted = sift({&ride}, kWithOneRide, bar);
  for (const Group group :
       {Group::rest, Group::travel, Group::forces, Group::grip, Group::events, Group::speed}) {
    Table table;
    table.column(std::string(heading(group)), "");
    table.column("", "");
    table.column("", "", true);
    for (const Label& label : sifted.differ) {
      if (find_metric(label.name)->group != group) continue;
      table.row({label.label, in_said(metric(ride, label.name), label), unit_of(label.said)});
      if (label.name != "sag") continue;
      // Where friction may leave the fork, behind its sag.
      table.row({"friction leaves it at",
                 in_said(metric(ride, "sag_least"), label) + " to " +
                     in_said(metric(ride, "sag_most"), label),
                 unit_of(label.said)});
    }
    if (!table.empty()) say("{}\n", table.text());
  }
  if (!sifted.none.empty()) say("{}\n", wrapped("none: " + joined(sifted.none), line_width(), 2));
}

void print_side_by_side(const std::vector<Result>& rides, bool bar) {
  const Sifted sifted = sift(pointers_to(rides), kSideBySide, bar);
  say("{}\n", remarks(sifted));
  Table table;
  table.column("", "");
  for (const Label& label : sifted.differ) table.column(label.label, unit_of(label.said));
  for (const Result& ride : rides) {
    std::vector<std::string> cells{ride.label};
    for (const Label& label : sifted.differ) {
      cells.push_back(in_said(metric(ride, label.name), label));
    }
    table.row(cells);
  }
  say("{}\n", table.text());
}

ResultFile to_file(std::vector<Result> rides, const std::string& title) {
  ResultFile file;
  file.title = title;
  file.program_version = kProgramVersion;
  file.rides = std::move(rides);
  for (const Result& ride : file.rides) {
    file.parameters.push_back(used_parameters(ride.setup));
    file.tables.push_back(used_tables(ride.setup));
  }
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

void print_summary(const ReadyRides& all, const std::vector<Result>& rides, const Wishes& wishes) {
  say_text(header_text(all, wishes));
  if (all.rides.size() == 1) {
    say_text("\n");
    print_one(rides.front(), wishes.bar);
  } else {
    print_side_by_side(rides, wishes.bar);
  }
  double worst = 0.0;
  for (const Result& ride : rides) worst = std::max(worst, std::abs(energy(ride, "closing_error")));
  const std::string closes = fmt::format("energy closes to {:.1g} of what was turned over", worst);
  say("{}\n", wrapped(closes, line_width()));
}

int interrupted(std::size_t ridden, std::size_t all) {
  tell("plunge: interrupted after {} of {} rides; those are kept\n", ridden, all);
  return 1;
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
  if (rides.empty()) return interrupted(rides.size(), all.rides.size());

  // Nothing of what was ridden is lost to what goes wrong after it: the summary of rides whose
  // results can't be written is said all the same, and before anything is drawn.
  std::exception_ptr unwritten;
  try {
    write_result_file(output, file);
    remember_written(output);
  } catch (const RunError&) {
    unwritten = std::current_exception();
  }
  bool failed = false;
  for (const Result& ride : rides) {
    if (ride.failure.empty()) continue;
    failed = true;
    tell("plunge: {}: the run failed {}; what it had is kept\n", shown(ride.label), ride.failure);
  }
  if (options.json) {
    say("{}\n", rides_json(rides));
  } else {
    print_summary(all, rides, wishes);
  }
  finish_saying();
  if (unwritten) std::rethrow_exception(unwritten);
  note("results: {}\n", shown(output));
  if (!options.plot.empty()) {
    draw_rides(pointers_to(rides), all.name, options.plot);
    remember_written(options.plot);
    note("plot:    {}\n", shown(options.plot));
  }
  if (rides.size() < all.rides.size()) return interrupted(rides.size(), all.rides.size());
  return failed ? 1 : 0;
}

}  // namespace plunge
