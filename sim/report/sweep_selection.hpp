// Which rides of a merged sweep a report looks at: all, or those of some values of its axes.
//
// A selection is a grid itself: on each axis some of its values, and some rows of the sample. Rides
// keep the numbers that they have in the sweep.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "sim/sweep/merge.hpp"

namespace plunge {

class SweepSelection {
 public:
  // All rides. It refers to the sweep.
  explicit SweepSelection(const MergedSweep& sweep);

  // Those that every name allows, each by any of its values:
  //   "rider=wren,alder"             names of files
  //   "fork.pressure=70psi"          a value of the axis to the four digits in which it is said
  //   "fork.pressure=60psi..80psi"   what lies between
  // Throws InputError for a name or a value that the sweep does not have, with the nearest and with
  // what there is; for a range that nothing lies in; for a bare number where people say a unit.
  SweepSelection(const MergedSweep& sweep, const std::string& option,
                 const std::vector<std::string>& conditions);

  const MergedSweep& sweep() const { return *sweep_; }
  bool whole() const { return whole_; }
  std::size_t size() const { return rides_.empty() ? sweep_->size() : rides_.size(); }
  // Number in the sweep of a selected ride.
  std::size_t ride(std::size_t at) const { return rides_.empty() ? at : rides_[at]; }

  // Places that are kept on each axis of the grid, in order.
  const std::vector<std::vector<std::size_t>>& places() const { return places_; }
  // Rows of the sample that are kept.
  const std::vector<std::size_t>& rows() const { return rows_; }
  bool all_rows() const { return rows_.size() == sweep_->points(); }

  // The selected ones of one value a ride.
  template <class Value>
  std::vector<Value> of(std::vector<Value> column) const {
    if (rides_.empty()) return column;
    std::vector<Value> kept;
    kept.reserve(rides_.size());
    for (const std::size_t ride : rides_) kept.push_back(column[ride]);
    return kept;
  }

 private:
  void number_rides();

  const MergedSweep* sweep_;
  bool whole_ = true;
  std::vector<std::vector<std::size_t>> places_;
  std::vector<std::size_t> rows_;
  std::vector<std::size_t> rides_;  // empty: all
};

// A setting in the unit in which people say it: "72.5".
std::string setting_text(double value, const std::string& said);
// The name of an axis' value.
std::string value_name(const GridAxis& axis, std::size_t at);

}  // namespace plunge
