// What a report on a sweep is told from, and its lists of rides and of choices: the same whether
// they are printed, stand on a page or go to programs.
#pragma once

#include <cstddef>
#include <nlohmann/json.hpp>
#include <string>
#include <utility>
#include <vector>

#include "sim/report/sweep_report.hpp"
#include "tools/cli/report_figures.hpp"
#include "tools/cli/table.hpp"

namespace plunge {

// The settings that differ between the rides of a sweep, or between its choices.
class ReportSettings {
 public:
  enum class Of { rides, choices };

  ReportSettings(const SweepSelection& selection, const ReportWords& words, Of what);

  std::size_t columns() const { return shown_.size() + samples_.size(); }
  void columns(Table& table) const;
  void cells(std::size_t ride, std::vector<std::string>& cells) const;
  // "fork.spacers 4, fork.pressure 95 psi"; "all" where nothing differs.
  std::string text(std::size_t ride) const;
  // The same as "4, 95" under "fork.spacers, fork.pressure [psi]".
  std::string values(std::size_t ride) const;
  std::string heading() const;
  nlohmann::ordered_json json(std::size_t ride) const;

 private:
  // What each column is about.
  std::vector<KnobLabel> labels() const;

  const MergedSweep& sweep_;
  const ReportWords& words_;
  std::vector<std::size_t> axes_;
  std::vector<std::size_t> shown_;  // of these the ones with more than one value
  std::vector<std::pair<std::size_t, std::vector<double>>> samples_;
};

// A report with all that its words are made from. It refers to all of that.
struct ToldReport {
  ToldReport(const SweepSelection& asked_of, const SweepQuestion& asked, const SweepReport& found,
             const ReportWords& said);

  const SweepSelection& selection;
  const SweepQuestion& question;
  const SweepReport& report;
  const ReportWords& words;
  ReportSettings rides;
  ReportSettings choices;

  const MergedSweep& sweep() const { return selection.sweep(); }
  bool by_choice() const { return !report.choices.empty(); }
};

// Places of the metrics that are shown: first those that are asked about.
std::vector<std::size_t> metrics_in_order(const ToldReport& told);

// Some rides with their settings and metrics.
class RideList {
 public:
  RideList(const ToldReport& told, std::vector<std::size_t> rides)
      : told_(told), rides_(std::move(rides)) {}

  RideList& with_metrics();
  Table table() const;
  nlohmann::ordered_json json() const;

 private:
  const ToldReport& told_;
  std::vector<std::size_t> rides_;
  std::vector<Label> metrics_;
  std::vector<std::vector<double>> values_;
};

// Some choices with their settings and what they come to.
class ChoiceList {
 public:
  ChoiceList(const ToldReport& told, std::vector<std::size_t> choices)
      : told_(told), choices_(std::move(choices)) {}

  Table table() const;
  nlohmann::ordered_json json() const;

 private:
  const ToldReport& told_;
  std::vector<std::size_t> choices_;
};

// A share in percent, "-" where there is none.
std::string percent(double share);

}  // namespace plunge
