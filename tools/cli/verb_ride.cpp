#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <optional>

#include "models/setup/judge.hpp"
#include "models/setup/ride_line.hpp"
#include "sim/disk/disk_files.hpp"
#include "sim/measure/braking.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/report/open_text.hpp"
#include "sim/report/plot.hpp"
#include "sim/text/words.hpp"
#include "tools/cli/band_words.hpp"
#include "tools/cli/figures.hpp"
#include "tools/cli/inputs.hpp"
#include "tools/cli/json_output.hpp"
#include "tools/cli/lines.hpp"
#include "tools/cli/outputs.hpp"
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

// Names of metrics that what is not known leaves open in one of the rides.
std::vector<std::string> open_metrics(const std::vector<Result>& rides, const RideBands& bands,
                                      bool bar) {
  std::vector<std::string> open;
  for (const MetricRow& row : metric_rows()) {
    if (bands.empty()) break;
    const Label label = in_bar(row, bar);
    for (std::size_t i = 0; i < rides.size(); ++i) {
      if (!is_open(metric(rides[i], row.name), label, bands.rides[i].find(row.name))) continue;
      open.push_back(row.name);
      break;
    }
  }
  return open;
}

// Where friction may leave the fork, behind its sag; what unknown stiffnesses leave of the force of
// a hit on metal, behind the largest: one number from a low one to a high one.
struct RangeRow {
  const char* behind;
  const char* words;
  const char* low;
  const char* high;
};
constexpr RangeRow kRangeRows[] = {
    {"sag", "friction leaves it at", "sag_least", "sag_most"},
    {"fork_force_max", "metal and chassis soft to stiff", "metal_force_low", "metal_force_high"}};

// A table of its metrics for each group; what is 0 is left out, but for counts, which are named.
void print_one(const Result& ride, const Setup& setup, const RideBands& bands, bool bar) {
  const Sifted sifted = sift({&ride}, kWithOneRide, bar, open_metrics({ride}, bands, bar));
  const auto open = [&](std::string_view name) {
    return bands.empty() ? nullptr : bands.rides.front().find(name);
  };
  const auto cause = [&](const std::string& cell, const std::string& plain,
                         const OpenNumber* number) {
    return number == nullptr || cell == plain ? std::string() : cause_words(*number);
  };
  std::vector<PrintedNumber> printed;
  for (const Group group :
       {Group::rest, Group::travel, Group::forces, Group::grip, Group::events, Group::speed}) {
    Table table;
    table.column(std::string(heading(group)), "");
    table.column("", "");
    table.column("", "", true);
    if (!bands.empty()) table.column("mostly from", "", true);
    for (const Label& label : sifted.differ) {
      if (find_metric(label.name)->group != group) continue;
      const double value = metric(ride, label.name);
      const std::string cell = banded(value, label, open(label.name));
      const std::string from = cause(cell, in_said(value, label), open(label.name));
      if (!from.empty()) printed.push_back({label.label, open(label.name)});
      table.row({label.label, cell, unit_of(label.said), from});
      for (const RangeRow& row : kRangeRows) {
        const double low = metric(ride, row.low);
        if (label.name != row.behind || !std::isfinite(low)) continue;
        table.row(
            {row.words,
             banded_between(low, metric(ride, row.high), label, open(row.low), open(row.high)),
             unit_of(label.said)});
      }
    }
    if (!table.empty()) say("{}\n", table.text());
  }
  if (!sifted.none.empty()) say("{}\n", wrapped("none: " + joined(sifted.none), line_width(), 2));
  if (!bands.empty()) say("{}", band_account(bands, setup, printed, false));
}

// What of the braking the front wheel loses, and where.
void print_brake_loss(const std::string& what, const BrakeLoss& loss, double braking) {
  if (!(loss.time > 0.0)) return;
  const std::string text = fmt::format(
      "{} for {:.1f} % of the braking time: first at {:.1f} m, longest {:.2f} s, at {:.1f} m", what,
      100.0 * loss.time / braking, loss.first, loss.longest, loss.longest_at);
  say("{}\n", wrapped(text, line_width(), 2));
}

void print_brake_losses(const Result& ride, const Setup& setup) {
  if (!ride.failure.empty()) return;
  const RideLine line(setup.ride, setup.events, terrain_length(setup.terrain));
  const double braking = braking_time(line, line.duration());
  const BrakeLosses losses = brake_losses(line, ride.located, line.duration());
  print_brake_loss("grip limits the front brake", losses.grip, braking);
  print_brake_loss("the front wheel is off the ground", losses.air, braking);
}

void print_side_by_side(const std::vector<Result>& rides, const Setup& setup,
                        const RideBands& bands, bool bar) {
  const Sifted sifted = sift(pointers_to(rides), kSideBySide, bar, open_metrics(rides, bands, bar));
  say("{}\n", remarks(sifted));
  Table table;
  table.column("", "");
  for (const Label& label : sifted.differ) table.column(label.label, unit_of(label.said));
  std::vector<PrintedNumber> printed;
  for (std::size_t i = 0; i < rides.size(); ++i) {
    std::vector<std::string> cells{rides[i].label};
    for (const Label& label : sifted.differ) {
      const OpenNumber* open = bands.empty() ? nullptr : bands.rides[i].find(label.name);
      cells.push_back(
          banded_change(metric(rides[i], label.name), metric(rides[0], label.name), label, open));
      printed.push_back({label.label, open});
    }
    table.row(cells);
  }
  say("{}\n", table.text());
  if (!bands.empty()) say("{}", band_account(bands, setup, printed, true));
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
    note("replaces {}, which is there; -o FILE names another\n", shown(output));
  }
  return output;
}

void print_summary(const ReadyRides& all, const std::vector<Result>& rides, const RideBands& bands,
                   const Wishes& wishes) {
  say_text(header_text(all, wishes));
  if (all.rides.size() == 1) {
    say_text("\n");
    print_one(rides.front(), all.rides.front().setup, bands, wishes.bar);
    print_brake_losses(rides.front(), all.rides.front().setup);
  } else {
    print_side_by_side(rides, all.rides.front().setup, bands, wishes.bar);
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
  std::optional<PlotTraces> plot;
  if (!options.plot.empty()) plot.emplace(all);
  const std::vector<Result> rides =
      ride_ready(all, output, history_of(options), plot ? &*plot : nullptr);
  if (rides.empty()) return interrupted(rides.size(), all.rides.size());
  remember_written(name_of_output(output));
  bool failed = false;
  for (const Result& ride : rides) {
    if (ride.failure.empty()) continue;
    failed = true;
    tell("plunge: {}: the run failed {}; what it had is kept\n", shown(ride.label), ride.failure);
  }
  std::optional<RideBands> bands = RideBands();
  if (!options.exact && rides.size() == all.rides.size()) bands = ride_bands_of(all);
  if (options.json) {
    put_rides_json(rides, bands.value_or(RideBands()), say_text);
    say_text("\n");
  } else {
    print_summary(all, rides, bands.value_or(RideBands()), wishes);
  }
  finish_saying();
  note("results: {}\n", shown(name_of_output(output)));
  if (plot) {
    plot->add_numbers(rides);
    const std::vector<DrawnRide> drawn = plot->rides();
    draw_rides(drawn, {all.name, settings_of(drawn, options.bar)}, options.plot);
    remember_written(options.plot);
    note("plot:    {}\n", shown(options.plot));
  }
  if (rides.size() < all.rides.size()) return interrupted(rides.size(), all.rides.size());
  if (!bands) {
    tell("plunge: interrupted; what is not known leaves more open than is printed\n");
    return 1;
  }
  return failed ? 1 : 0;
}

}  // namespace plunge
