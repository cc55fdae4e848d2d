// What a merged sweep says: extremes, what matters most, the best rides or choices, trade-offs.
//
//   least, median, most   of each metric over the rides that have it, with the rides' numbers; the
//                         median of an even count is the mean of the middle two
//   indices               sensitivity.hpp
//   choices               where the plan says what is chosen and what varies: sweep_choices.hpp
//   within the limits     a ride in which all hold, where a metric that it does not have holds
//   none;
//                         a choice for which they hold in SweepQuestion::share of its circumstances
//   best                  of those within the limits the rides with the least or largest metric,
//                         equal ones in the order of their numbers; or the choices of the best
//                         90th percentile, equal ones by the median
//   front                 of those within the limits the rides, or choices by their 90th
//                         percentiles, that no other one beats in one of two metrics without losing
//                         in the other; of equal ones the first. What differs by less than kSame of
//                         a metric's range is equal.
// Where there are choices best and front are choices, never single rides: the best of many rides is
// a lucky one. Ties, orders and numbers follow from the file alone.
// Numbers only; tools/cli/report_sections.hpp puts them into words.
#pragma once

#include <cstddef>
#include <functional>
#include <string>
#include <vector>

#include "sim/report/sensitivity.hpp"
#include "sim/report/sweep_choices.hpp"
#include "sim/report/sweep_question.hpp"
#include "sim/report/sweep_selection.hpp"
#include "sim/sweep/merge.hpp"
#include "sim/sweep/reasons.hpp"

namespace plunge {

struct Spread {
  Label metric;
  std::size_t rides = 0;  // that have it
  double least = kUnset;
  double median = kUnset;
  double most = kUnset;
  std::size_t least_at = 0;  // numbers of rides
  std::size_t most_at = 0;
  Sensitivity sensitivity;
};

// One choice over what varies.
struct ChoiceRow {
  std::size_t ride = 0;          // number of one of its rides, by which its settings are told
  std::size_t lost = 0;          // rides that failed or were not ridden
  double metal_share = kUnset;   // of its rides, those in which metal met metal; unset: not kept
  double within_share = kUnset;  // of its circumstances, those within the limits
  std::vector<Tail> tails;       // of each metric that the report shows
};

// Failed rides whose reasons differ in their numbers only: SweepReason of reasons.hpp.
struct SweepReport {
  std::size_t rides = 0;
  std::size_t failed = 0;
  std::size_t redone = 0;
  std::size_t not_ridden = 0;
  std::vector<SweepReason> reasons;  // most frequent first
  std::vector<Spread> metrics;       // that are shown
  std::vector<ChoiceRow> choices;    // empty: the plan marks none
  std::size_t circumstances = 0;     // of each choice
  std::size_t within = 0;            // rides, or choices, within the limits
  std::vector<std::size_t> best;     // numbers of rides, or places among the choices
  std::vector<std::size_t> front;    // likewise, from the least of the first metric on
  bool stopped = false;              // before all was looked at
};

inline constexpr double kSame = 1e-6;  // chosen: far below what a ride's numbers are good for
inline constexpr std::size_t kBestShown = 10;

// Whether the smaller values of a metric are the worse ones, as what is asked or its Sense says.
bool lower_is_worse(const SweepQuestion& question, const std::string& metric);

// The metrics that a report shows: as asked, and those that it judges by.
std::vector<Label> shown_metrics(const MergedSweep& sweep, const SweepQuestion& question);

// Memory: one metric at a time, those that the question names, and of each choice two numbers a
// metric. `stop` is asked between metrics.
SweepReport report_sweep(const SweepSelection& selection, const SweepQuestion& question,
                         const std::function<bool()>& stop = {});

// A metric over two axes of the grid: the mean over all else, of the rides that have it.
struct SweepMap {
  std::size_t columns = 0;  // place of the axis in MergedSweep::grid()
  std::size_t rows = 0;
  std::vector<double> values;  // row by row, of the selected places; NaN: no ride has it
};

// "travel_use:fork.pressure,fork.spacers". Throws InputError for other than two axes of the grid.
SweepMap map_sweep(const SweepSelection& selection, const std::string& option,
                   const std::string& text, std::string& metric);

}  // namespace plunge
