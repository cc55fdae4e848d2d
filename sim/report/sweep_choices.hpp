// What each choice comes to over what varies.
//
// A plan may mark its axes as what is chosen (spacers, pressure) or as what varies (rider, speed,
// scene). A choice is one combination of what is chosen, a circumstance one of what varies; every
// choice is ridden in every circumstance, all as likely as one another. Of a metric over the
// circumstances of a choice:
//   median  the 50th percentile
//   bad     the 90th percentile in the direction that is worse: nine circumstances in ten are no
//           worse. Larger is worse unless the metric's Sense or a goal says otherwise.
// A ride that failed, was not ridden, or lacks a number that another choice has in the same
// circumstance counts as worse than every number; a circumstance in which no choice has the number
// (brake dive where nobody brakes) is left out. So neither a lucky ride nor a lost one makes a
// choice look good.
//   share   of circumstances in which all limits hold. A ride as above that counts as worse holds
//           none; a limit on a number that no choice has there is not asked.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "models/laws/constants.hpp"
#include "sim/report/sweep_question.hpp"
#include "sim/report/sweep_selection.hpp"

namespace plunge {

// Whether any axis of a sweep is marked.
bool has_roles(const MergedSweep& sweep);

struct Tail {
  double median = kUnset;  // infinite: more than so many rides count as worse than every number
  double bad = kUnset;     // likewise; both are unset where no circumstance has the number
  std::size_t rides = 0;   // that have it
};

class SweepChoices {
 public:
  // Of a sweep with roles; it refers to the selection.
  explicit SweepChoices(const SweepSelection& selection);

  const MergedSweep& sweep() const { return selection_->sweep(); }
  std::size_t size() const { return choices_; }
  std::size_t circumstances() const { return circumstances_; }
  // Number in the sweep of one of the rides of a choice, by which its settings are told.
  std::size_t ride(std::size_t choice) const { return first_[choice]; }
  // Rides that failed or were not ridden.
  const std::vector<std::size_t>& lost() const { return lost_; }

  // Of a metric, or of the values that the selected rides have of it; `lower_is_worse` turns the
  // direction.
  std::vector<Tail> tails(const std::string& metric, bool lower_is_worse) const;
  std::vector<Tail> tails(const std::vector<double>& values, bool lower_is_worse) const;

  // Share of the rides that have a number in which it is above 0; unset where none has it.
  std::vector<double> shares_above_none(const std::string& metric) const;

  // Share of circumstances in which all limits hold; unset where none is asked in any.
  std::vector<double> shares(const std::vector<Limit>& limits) const;

 private:
  std::vector<double> values_of(const std::string& metric) const;
  // By circumstance, whether any choice has a number.
  std::vector<bool> spoken_of(const std::vector<double>& values) const;

  const SweepSelection* selection_;
  std::size_t choices_ = 1;
  std::size_t circumstances_ = 1;
  std::vector<std::size_t> choice_;        // of each selected ride
  std::vector<std::size_t> circumstance_;  // likewise
  std::vector<bool> is_lost_;              // likewise
  std::vector<std::size_t> first_;
  std::vector<std::size_t> lost_;
};

}  // namespace plunge
