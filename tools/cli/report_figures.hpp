// The plots of a report on a sweep.
#pragma once

#include <string>
#include <vector>

#include "sim/figure/figure.hpp"
#include "sim/report/sweep_report.hpp"

namespace plunge {

// What a report says, with the words for its numbers.
struct ReportWords {
  bool bar = false;  // pressures in bar

  std::string said(const std::string& unit) const { return bar && unit == "psi" ? "bar" : unit; }
  Label said(const Label& metric) const;
  std::string value(const GridAxis& axis, std::size_t at) const;
};

// Shares of the variance as bars, a panel for each metric. Throws InputError where no metric varies
// with a setting (has_indices()).
Figure indices_figure(const MergedSweep& sweep, const SweepReport& report);
bool has_indices(const SweepReport& report);

// The same at a glance: metrics over settings, each with its share in all, or alone where that is
// not to be had. Needs has_indices().
Figure shares_figure(const SweepReport& report);

// What the best rides, or choices, have of the metric that they are the best by; `names` of each,
// under `heading`. There is one at least.
Figure best_figure(const MergedSweep& sweep, const SweepQuestion& question,
                   const SweepReport& report, const ReportWords& words,
                   const std::vector<std::string>& names, const std::string& heading);

// Of every metric that varies how many of the rides have no more; no panels where none varies.
Figure distribution_figure(const SweepSelection& selection, const SweepReport& report,
                           const ReportWords& words);

// Every ride, or the 90th percentiles of every choice, as a dot, no more than one where several
// would lie on each other, and the front.
Figure front_figure(const SweepSelection& selection, const SweepQuestion& question,
                    const SweepReport& report, const ReportWords& words);

// A metric over two axes, "travel_use:fork.pressure,fork.spacers"; throws as map_sweep().
Figure map_figure(const SweepSelection& selection, const std::string& asked,
                  const ReportWords& words);

// Place of a metric among those that the report shows.
std::size_t place_of(const SweepReport& report, const std::string& metric);

// "least hand force peak".
std::string goal_words(const MergedSweep& sweep, const Goal& goal);

}  // namespace plunge
