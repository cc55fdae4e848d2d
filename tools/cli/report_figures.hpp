// The plots of a report on a sweep.
#pragma once

#include <string>

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

// Shares of the variance as bars, a panel for each metric.
Figure indices_figure(const MergedSweep& sweep, const SweepReport& report);

// Every ride, or the 90th percentiles of every choice, as a dot, no more than one where several
// would lie on each other, and the front.
Figure front_figure(const SweepSelection& selection, const SweepQuestion& question,
                    const SweepReport& report, const ReportWords& words);

// A metric over two axes, "travel_use:fork.pressure,fork.spacers"; throws as map_sweep().
Figure map_figure(const SweepSelection& selection, const std::string& asked,
                  const ReportWords& words);

// "least hand force peak".
std::string goal_words(const MergedSweep& sweep, const Goal& goal);

}  // namespace plunge
