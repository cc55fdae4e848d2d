#include "sim/search/demands.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <stdexcept>

namespace plunge {
namespace {

constexpr std::string_view kHands = "hand_force_rms";
constexpr std::string_view kGrip = "tyre_load_variation";
constexpr std::string_view kDepth = "travel_use";

constexpr std::array kDemandRows = {
    DemandRow{"sag", "sag_share", Counts::each, true, 0.01, "sag at rest on level ground"},
    DemandRow{"travel", "travel_use", Counts::largest, true, 0.01,
              "travel used on the hardest scene"},
    DemandRow{"metal", "metal_contacts", Counts::each, false, 0.5,
              "metal contacts past full travel"},
    DemandRow{"brake_dive", "brake_dive_steady", Counts::each, false, 2e-3,
              "steady dive while braking"},
    DemandRow{"corner_dive", "corner_dive_steady", Counts::each, false, 2e-3,
              "steady dive while cornering"},
    DemandRow{"hand_load", "hand_force_max", Counts::each, false, 25.0, "peak force at the hands"},
    DemandRow{"grip", "tyre_load_variation", Counts::each, false, 0.02, "tyre load variation"},
    DemandRow{"return", "return_time", Counts::deepest, true, 0.02,
              "return from the deepest travel"},
};

}  // namespace

std::span<const DemandRow> demand_rows() { return kDemandRows; }

const DemandRow* find_demand(std::string_view key) {
  const auto found = std::ranges::find(kDemandRows, key, &DemandRow::key);
  return found == kDemandRows.end() ? nullptr : &*found;
}

std::vector<std::string> metrics_of_demands(std::span<const Demand> demands) {
  std::vector<std::string> names = {std::string(kDepth), std::string(kHands), std::string(kGrip)};
  for (const Demand& demand : demands) {
    const std::string name(demand.row->metric);
    if (std::ranges::find(names, name) == names.end()) names.push_back(name);
  }
  return names;
}

Judge::Judge(std::vector<Demand> demands, double hands, std::vector<std::string> names,
             const Outcome& reference)
    : demands_(std::move(demands)), hands_(hands), names_(std::move(names)), reference_(reference) {
  for (const std::string& name : metrics_of_demands(demands_)) column(name);
}

std::size_t Judge::column(std::string_view name) const {
  const auto found = std::ranges::find(names_, name);
  if (found == names_.end()) throw std::invalid_argument("no metric " + std::string(name));
  return static_cast<std::size_t>(found - names_.begin());
}

double Judge::value(const Outcome& outcome, std::size_t scene, std::string_view metric) const {
  return outcome.scenes.at(scene).at(column(metric));
}

Met Judge::met(const Demand& demand, const Outcome& outcome) const {
  const DemandRow& row = *demand.row;
  const std::size_t read = column(row.metric);
  const std::size_t depth = column(kDepth);
  Met met;
  double deepest = -std::numeric_limits<double>::infinity();
  for (std::size_t scene = 0; scene < outcome.scenes.size(); ++scene) {
    const double value = outcome.scenes[scene][read];
    if (std::isnan(value)) continue;
    const double margin = std::min(value - demand.low, demand.high - value) / row.tolerance;
    const double travel = outcome.scenes[scene][depth];
    const bool first = std::isnan(met.value);
    const bool takes = row.counts == Counts::largest   ? value > met.value
                       : row.counts == Counts::deepest ? travel > deepest
                                                       : margin < met.margin;
    if (!first && !takes) continue;
    met = {value, margin, scene};
    deepest = travel;
  }
  return met;
}

double Judge::comfort(const Outcome& outcome) const {
  const std::size_t hands = column(kHands);
  const std::size_t grip = column(kGrip);
  double sum = 0.0;
  double scenes = 0.0;
  for (std::size_t i = 0; i < outcome.scenes.size() && i < reference_.scenes.size(); ++i) {
    const auto& own = outcome.scenes[i];
    const auto& before = reference_.scenes[i];
    if (!(before[hands] > 0.0 && before[grip] > 0.0)) continue;
    if (std::isnan(own[hands]) || std::isnan(own[grip])) continue;
    sum += hands_ * own[hands] / before[hands] + (1.0 - hands_) * own[grip] / before[grip];
    scenes += 1.0;
  }
  return scenes > 0.0 ? sum / scenes : 1.0;
}

Verdict Judge::operator()(const Outcome& outcome) const {
  Verdict verdict;
  verdict.met.resize(demands_.size());
  if (!outcome.failure.empty()) return verdict;
  double least = kMostMargin;
  for (std::size_t i = 0; i < demands_.size(); ++i) {
    verdict.met[i] = met(demands_[i], outcome);
    const double margin = verdict.met[i].margin;
    if (std::isnan(margin)) continue;
    const double breach = std::max(0.0, -margin);
    verdict.worst = std::max(verdict.worst, breach);
    verdict.total += breach;
    if (margin >= least) continue;
    least = margin;
    verdict.tightest = i;
  }
  verdict.margin = least;
  verdict.comfort = comfort(outcome);
  verdict.merit =
      10.0 * verdict.worst + verdict.total + 5.0 * verdict.comfort - 0.1 * std::max(0.0, least);
  return verdict;
}

}  // namespace plunge
