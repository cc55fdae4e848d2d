#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <utility>

#include "models/setup/fault.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/report/result_file.hpp"
#include "sim/ride/ready.hpp"
#include "tools/cli/figures.hpp"
#include "tools/cli/inputs.hpp"
#include "tools/cli/json_output.hpp"
#include "tools/cli/lines.hpp"
#include "tools/cli/outputs.hpp"
#include "tools/cli/plot_traces.hpp"
#include "tools/cli/table.hpp"
#include "tools/cli/verbs.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {
namespace {

// The difference of two numbers as they are shown, so that whoever subtracts finds it.
std::string difference(double value, double reference, const Label& label) {
  if (!std::isfinite(value) || !std::isfinite(reference)) return "";
  const double change = std::stod(in_said(value, label)) - std::stod(in_said(reference, label));
  const std::string text = fmt::format("{:.{}f}", change, label.decimals);
  if (text.find_first_not_of("-0.") == std::string::npos) return text.substr(text.find('0'));
  return change > 0.0 ? "+" + text : text;
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

// Rides of one scene; the first is what the others are held against.
struct Block {
  std::string scene;
  std::vector<std::size_t> rides;  // their numbers among all
};

std::vector<Block> blocks_of(const std::vector<FileRide>& rides) {
  std::vector<Block> blocks;
  for (std::size_t i = 0; i < rides.size(); ++i) {
    auto block = std::ranges::find(blocks, rides[i].scene, &Block::scene);
    if (block == blocks.end()) block = blocks.insert(block, {rides[i].scene, {}});
    block->rides.push_back(i);
  }
  return blocks;
}

// What people know each ride by: what was varied, else its file; both where one is not enough.
std::vector<std::string> known_as(const std::vector<FileRide>& rides) {
  const auto stem = [](const FileRide& ride) {
    return std::filesystem::path(ride.file).stem().string();
  };
  std::vector<std::string> names;
  for (const FileRide& ride : rides) {
    names.push_back(ride.ride.set.empty() ? stem(ride) : ride.ride.label);
  }
  std::vector<std::string> whole = names;
  for (std::size_t i = 0; i < rides.size(); ++i) {
    const bool alone = std::ranges::count(names, names[i]) == 1;
    if (!alone && !rides[i].ride.set.empty()) whole[i] = stem(rides[i]) + ", " + names[i];
  }
  return whole;
}

std::vector<FileRide> read_all(const CompareOptions& options) {
  std::vector<FileRide> rides;
  for (const std::string& path : options.files) {
    ResultFile file = read_result_file(path, seal_for(options.unsealed), !options.plot.empty());
    for (std::size_t i = 0; i < file.rides.size(); ++i) {
      refuse_unread(path, file.rides[i]);
      if (!options.plot.empty()) demand_drawn_traces(file.rides[i], path);
      rides.push_back({path, file.title, std::move(file.rides[i]), std::move(file.parameters[i])});
    }
  }
  return rides;
}

class Comparison {
 public:
  Comparison(const std::vector<FileRide>& rides, bool bar)
      : rides_(rides), names_(known_as(rides)), blocks_(blocks_of(rides)), bar_(bar) {}

  void print() const {
    for (const Block& block : blocks_) {
      say_text(wrapped(shown(block.scene), line_width()) + "\n");
      print_legend(block);
      print_inputs(block);
      print_metrics(block);
      if (&block != &blocks_.back()) say_text("\n");
    }
  }

  std::size_t scenes() const { return blocks_.size(); }

  // With the letters that the tables give them.
  std::vector<Result> labelled() const {
    std::vector<Result> rides;
    for (std::size_t i = 0; i < rides_.size(); ++i) {
      rides.push_back(rides_[i].ride);
      rides.back().label = heading(i);
    }
    return rides;
  }

 private:
  std::string heading(std::size_t i) const { return ride_name(i) + ": " + names_[i]; }

  void print_legend(const Block& block) const {
    for (const std::size_t i : block.rides) {
      say_text("  " + wrapped(shown(heading(i) + ", of " + rides_[i].file), line_width(), 5) +
               "\n");
    }
  }

  void print_inputs(const Block& block) const {
    if (block.rides.size() < 2) return;
    std::vector<const FileRide*> compared;
    for (const std::size_t i : block.rides) compared.push_back(&rides_[i]);
    const std::vector<DifferingInput> inputs = differing_inputs(compared, bar_);
    if (inputs.empty()) {
      say_text("\nno input differs\n");
      return;
    }
    Table table(2);
    table.column("inputs that differ", "");
    table.column("", "");
    for (const std::size_t i : block.rides) table.column(ride_name(i), "");
    for (const DifferingInput& input : inputs) {
      std::vector<std::string> cells{input.name, unit_of(input.said)};
      cells.insert(cells.end(), input.values.begin(), input.values.end());
      table.row(std::move(cells));
    }
    say("\n{}", table.text());
  }

  void print_metrics(const Block& block) const {
    std::vector<const Result*> compared;
    for (const std::size_t i : block.rides) compared.push_back(&rides_[i].ride);
    const Sifted sifted = sift(compared, kInComparisons, bar_);
    if (sifted.differ.empty()) {
      say_text("\nno number differs\n");
      return;
    }
    const std::string in_common = remarks(sifted);
    if (!in_common.empty()) say("\n{}", in_common);
    Table table(2);
    table.column("", "");
    table.column("", "");
    const std::string reference = ride_name(block.rides.front());
    for (const std::size_t i : block.rides) {
      table.column(heading(i), "");
      if (i != block.rides.front()) table.column("", ride_name(i) + " - " + reference, true);
    }
    for (const Label& label : sifted.differ) {
      const double first = metric(*compared.front(), label.name);
      std::vector<std::string> cells{label.label, unit_of(label.said)};
      for (const Result* ride : compared) {
        const double value = metric(*ride, label.name);
        cells.push_back(in_said(value, label));
        if (ride != compared.front()) cells.push_back(difference(value, first, label));
      }
      table.row(std::move(cells));
    }
    say("\n{}", table.text());
  }

  const std::vector<FileRide>& rides_;
  std::vector<std::string> names_;
  std::vector<Block> blocks_;
  bool bar_;
};

// The inputs that differ, as many as a strip has room for; the tables have all.
std::vector<StripColumn> differing_columns(const std::vector<const FileRide*>& rides, bool bar) {
  constexpr std::size_t kMost = 3;
  std::vector<StripColumn> columns;
  for (const DifferingInput& input : differing_inputs(rides, bar)) {
    if (columns.size() < kMost) columns.push_back({input.name, unit_of(input.said), input.values});
  }
  return columns;
}

void draw_compared(const std::vector<FileRide>& rides, const std::vector<Result>& labelled,
                   const CompareOptions& options) {
  std::vector<DrawnRide> drawn;
  std::vector<const FileRide*> sources;
  for (std::size_t i = 0; i < rides.size(); ++i) {
    if (labelled[i].time.empty()) continue;
    drawn.push_back({&labelled[i], &labelled[i]});
    sources.push_back(&rides[i]);
  }
  draw_rides(drawn, {rides.front().scene, differing_columns(sources, options.bar)}, options.plot);
}

}  // namespace

int compare_verb(const CompareOptions& options) {
  open_outputs({"", options.plot, options.replace, options.json}, options.files);
  const std::vector<FileRide> rides = read_all(options);
  if (!options.plot.empty()) demand_drawable(rides.size());
  const Comparison comparison(rides, options.bar);
  if (!options.plot.empty() && comparison.scenes() > 1) {
    throw InputError(
        Fault{"--plot",
              options.plot,
              fmt::format("draws the rides of one scene; these are of {}: compare each "
                          "scene by itself",
                          comparison.scenes()),
              {}});
  }
  if (options.json) {
    say("{}\n", comparison_json(rides));
  } else {
    comparison.print();
  }
  if (options.plot.empty()) return 0;
  finish_saying();
  draw_compared(rides, comparison.labelled(), options);
  remember_written(options.plot);
  note("plot: {}\n", shown(options.plot));
  return 0;
}

}  // namespace plunge
