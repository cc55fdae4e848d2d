#include "sim/report/sweep_choices.hpp"

#include <algorithm>
#include <cmath>
#include <span>

#include "sim/numerics/statistics.hpp"

namespace plunge {
namespace {

constexpr double kMiddle = 50.0;    // [%]
constexpr double kBadShare = 90.0;  // [%]

// One dimension of a selection.
struct Dimension {
  std::size_t size = 1;
  bool chosen = false;
};

std::vector<Dimension> dimensions_of(const SweepSelection& selection) {
  const MergedSweep& sweep = selection.sweep();
  std::vector<Dimension> dimensions;
  for (std::size_t i = 0; i < sweep.grid().size(); ++i) {
    dimensions.push_back({selection.places()[i].size(), sweep.grid()[i].role == Role::chosen});
  }
  // The numbers of a sample have one role.
  const bool chosen = !sweep.sampled().empty() && sweep.sampled().front().role == Role::chosen;
  dimensions.push_back({selection.rows().size(), chosen});
  return dimensions;
}

}  // namespace

bool has_roles(const MergedSweep& sweep) {
  const auto marked = [](const auto& axis) { return axis.role != Role::none; };
  return std::ranges::any_of(sweep.grid(), marked) || std::ranges::any_of(sweep.sampled(), marked);
}

SweepChoices::SweepChoices(const SweepSelection& selection) : selection_(&selection) {
  const std::vector<Dimension> dimensions = dimensions_of(selection);
  for (const Dimension& dimension : dimensions) {
    (dimension.chosen ? choices_ : circumstances_) *= dimension.size;
  }
  const std::size_t count = selection.size();
  choice_.resize(count);
  circumstance_.resize(count);
  first_.assign(choices_, count);
  for (std::size_t at = 0; at < count; ++at) {
    std::size_t rest = at;
    std::size_t steps[2] = {1, 1};
    std::size_t places[2] = {0, 0};
    for (std::size_t d = dimensions.size(); d-- > 0;) {
      const std::size_t kind = dimensions[d].chosen ? 1 : 0;
      places[kind] += rest % dimensions[d].size * steps[kind];
      steps[kind] *= dimensions[d].size;
      rest /= dimensions[d].size;
    }
    circumstance_[at] = places[0];
    choice_[at] = places[1];
    if (first_[places[1]] == count) first_[places[1]] = selection.ride(at);
  }
  const std::vector<int> origins = selection.of(selection.sweep().origins());
  is_lost_.resize(count);
  lost_.assign(choices_, 0);
  for (std::size_t at = 0; at < count; ++at) {
    is_lost_[at] = origins[at] == static_cast<int>(Origin::failed) || origins[at] == kNotRidden;
    lost_[choice_[at]] += is_lost_[at] ? 1 : 0;
  }
}

std::vector<double> SweepChoices::values_of(const std::string& metric) const {
  return selection_->of(selection_->sweep().metric(metric));
}

std::vector<bool> SweepChoices::spoken_of(const std::vector<double>& values) const {
  std::vector<bool> spoken(circumstances_, false);
  for (std::size_t at = 0; at < values.size(); ++at) {
    if (std::isfinite(values[at])) spoken[circumstance_[at]] = true;
  }
  return spoken;
}

std::vector<Tail> SweepChoices::tails(const std::string& metric, bool lower_is_worse) const {
  return tails(values_of(metric), lower_is_worse);
}

std::vector<Tail> SweepChoices::tails(const std::vector<double>& values,
                                      bool lower_is_worse) const {
  const std::vector<bool> spoken = spoken_of(values);
  const double sign = lower_is_worse ? -1.0 : 1.0;
  // The numbers of each choice one after another, made so that more is worse.
  std::vector<double> costs(values.size());
  std::vector<std::size_t> counts(choices_, 0);
  std::vector<std::size_t> losses(choices_, 0);
  for (std::size_t at = 0; at < values.size(); ++at) {
    const std::size_t choice = choice_[at];
    if (std::isfinite(values[at])) {
      costs[choice * circumstances_ + counts[choice]++] = sign * values[at];
    } else if (spoken[circumstance_[at]] || is_lost_[at]) {
      ++losses[choice];
    }
  }
  std::vector<Tail> tails(choices_);
  for (std::size_t choice = 0; choice < choices_; ++choice) {
    Tail& tail = tails[choice];
    tail.rides = counts[choice];
    if (counts[choice] + losses[choice] == 0) continue;
    const std::span<double> own(&costs[choice * circumstances_], counts[choice]);
    tail.median = sign * percentile_with_losses(own, losses[choice], kMiddle);
    tail.bad = sign * percentile_with_losses(own, losses[choice], kBadShare);
  }
  return tails;
}

std::vector<double> SweepChoices::shares_above_none(const std::string& metric) const {
  const std::vector<double> values = values_of(metric);
  std::vector<double> counts(choices_, 0.0);
  std::vector<double> shares(choices_, 0.0);
  for (std::size_t at = 0; at < values.size(); ++at) {
    if (!std::isfinite(values[at])) continue;
    counts[choice_[at]] += 1.0;
    shares[choice_[at]] += values[at] > 0.0 ? 1.0 : 0.0;
  }
  for (std::size_t choice = 0; choice < choices_; ++choice) {
    shares[choice] = counts[choice] > 0.0 ? shares[choice] / counts[choice] : kUnset;
  }
  return shares;
}

std::vector<double> SweepChoices::shares(const std::vector<Limit>& limits) const {
  std::vector<bool> asked(is_lost_);
  std::vector<bool> met(is_lost_.size(), true);
  for (std::size_t at = 0; at < met.size(); ++at) met[at] = !is_lost_[at];
  for (const Limit& limit : limits) {
    const std::vector<double> values = values_of(limit.metric);
    const std::vector<bool> spoken = spoken_of(values);
    for (std::size_t at = 0; at < values.size(); ++at) {
      if (!spoken[circumstance_[at]]) continue;
      asked[at] = true;
      met[at] = met[at] && holds(limit, values[at]);
    }
  }
  std::vector<double> counts(choices_, 0.0);
  std::vector<double> shares(choices_, 0.0);
  for (std::size_t at = 0; at < met.size(); ++at) {
    if (!asked[at]) continue;
    counts[choice_[at]] += 1.0;
    shares[choice_[at]] += met[at] ? 1.0 : 0.0;
  }
  for (std::size_t choice = 0; choice < choices_; ++choice) {
    shares[choice] = counts[choice] > 0.0 ? shares[choice] / counts[choice] : kUnset;
  }
  return shares;
}

}  // namespace plunge
