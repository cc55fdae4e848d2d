// What a merged sweep says: extremes, what matters most, the best rides, trade-offs.
//
//   least, median, most   of each metric over the rides that have it, with the rides' numbers; the
//                         median of an even count is the mean of the middle two
//   indices               sensitivity.hpp
//   limits                "travel_use<=95%": a ride is within them where all hold; a metric that it
//                         does not have holds none
//   best                  of the rides within the limits those with the least or largest metric,
//                         equal ones in the order of their numbers
//   front                 of the rides within the limits those that no other one beats in one of
//                         two metrics without losing in the other; of equal ones the first. What
//                         differs by less than kSame of a metric's range is equal.
// Ties, orders and numbers follow from the file alone.
// Numbers only; tools/cli/verb_report.cpp prints them.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "sim/report/sensitivity.hpp"
#include "sim/sweep/merge.hpp"
#include "sim/sweep/reasons.hpp"

namespace plunge {

enum class Relation { at_most, less, at_least, more, equal };

struct Limit {
  std::string metric;
  Relation relation = Relation::at_most;
  double value = kUnset;  // SI
  std::string text;       // as given
};

struct Goal {
  std::string metric;
  bool largest = false;
};

bool holds(const Limit& limit, double value);

// "travel_use<=95%", "metal_contacts=0"; also >=, <, >. Throws InputError for another form, a
// metric that the sweep did not keep and a unit of another dimension, naming `option`.
Limit parse_limit(const std::string& option, const std::string& text,
                  const std::vector<Label>& metrics);

// "hand_force_max:min" or ":max"; neither is needed where one way is better (Sense). Throws
// InputError likewise.
Goal parse_goal(const std::string& option, const std::string& text,
                const std::vector<Label>& metrics);

// Two goals, "hand_force_max:min,travel_use:max".
std::pair<Goal, Goal> parse_goals(const std::string& option, const std::string& text,
                                  const std::vector<Label>& metrics);

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

// Failed rides whose reasons differ in their numbers only: SweepReason of reasons.hpp.
struct SweepReport {
  std::size_t rides = 0;
  std::size_t failed = 0;
  std::size_t redone = 0;
  std::size_t not_ridden = 0;
  std::vector<SweepReason> reasons;  // most frequent first
  std::vector<Spread> metrics;
  std::size_t within = 0;          // rides within the limits
  std::vector<std::size_t> best;   // numbers of rides
  std::vector<std::size_t> front;  // from the least of the first metric on
};

struct SweepQuestion {
  std::vector<Limit> limits;
  std::optional<Goal> best;
  std::optional<std::pair<Goal, Goal>> front;
};

inline constexpr double kSame = 1e-6;  // chosen: far below what a ride's numbers are good for
inline constexpr std::size_t kBestShown = 10;

// Memory: one metric at a time, and those that the question names.
SweepReport report_sweep(const MergedSweep& sweep, const SweepQuestion& question);

// A metric over two axes of the grid: the mean over all else, of the rides that have it.
struct SweepMap {
  std::size_t columns = 0;  // place of the axis in MergedSweep::grid()
  std::size_t rows = 0;
  std::vector<double> values;  // row by row; NaN: no ride has it
};

// "travel_use:fork.pressure,fork.spacers". Throws InputError for other than two axes of the grid.
SweepMap map_sweep(const MergedSweep& sweep, const std::string& option, const std::string& text,
                   std::string& metric);

}  // namespace plunge
