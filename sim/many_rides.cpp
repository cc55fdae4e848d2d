#include "sim/many_rides.hpp"

#include <cmath>

#include "models/fault.hpp"
#include "sim/channels.hpp"
#include "sim/metrics.hpp"
#include "sim/run.hpp"

namespace plunge {

std::string_view to_string(InstructionSet set) {
  switch (set) {
    case InstructionSet::portable:
      return "portable";
    case InstructionSet::avx2:
      return "avx2";
    case InstructionSet::avx512:
      return "avx512";
  }
  return "";
}

InstructionSet parse_instruction_set(std::string_view word) {
  for (const InstructionSet set :
       {InstructionSet::portable, InstructionSet::avx2, InstructionSet::avx512}) {
    if (to_string(set) == word) return set;
  }
  throw InputError(Fault{"--lanes", std::string(word), "must be portable, avx2 or avx512", {}});
}

InstructionSet best_instruction_set() { return InstructionSet::portable; }
bool runs_here(InstructionSet) { return true; }

struct ManyRides::Parts {
  Keep keep;
};

ManyRides::ManyRides(const Keep& keep, InstructionSet) : parts_(new Parts{keep}) {}
ManyRides::~ManyRides() = default;

std::vector<RideRow> ManyRides::ride(std::span<const PlannedRide> rides) {
  std::vector<RideRow> rows;
  for (const PlannedRide& planned : rides) {
    RideRow row;
    row.metrics.assign(parts_->keep.metrics.size(), kUnset);
    row.failure = planned.failure;
    if (row.failure.empty()) {
      const Result result = run_ride(planned.setup);
      row.failure = result.failure;
      row.origin = row.failure.empty() ? Origin::adaptive : Origin::failed;
      for (std::size_t i = 0; i < row.metrics.size(); ++i) {
        for (const Metric& metric : result.metrics) {
          if (metric.name == parts_->keep.metrics[i]) row.metrics[i] = metric.value;
        }
      }
      for (const std::string& name : parts_->keep.traces) {
        const std::vector<double>& values = channel(result, name);
        const double step = planned.setup.ride.sample_rate / parts_->keep.trace_rate;
        std::vector<float> trace;
        for (std::size_t k = 0;; ++k) {
          const auto at = static_cast<std::size_t>(std::llround(static_cast<double>(k) * step));
          if (at >= values.size()) break;
          trace.push_back(static_cast<float>(values[at]));
        }
        row.traces.push_back(std::move(trace));
      }
    }
    rows.push_back(std::move(row));
  }
  return rows;
}

const std::vector<Keepable>& keepable_metrics() {
  static const std::vector<Keepable> list = {
      {"travel_max", "m", "largest travel"},
      {"travel_use", "1", "largest travel over full travel"},
      {"travel_mean", "m", "mean travel: ride height, less is higher"},
      {"metal_contacts", "1", "times that metal met metal past full travel"},
      {"bumper_contacts", "1", "times that the fork reached its bumper"},
      {"axle_force_max", "N", "largest vertical force of the ground on the wheel"},
      {"fork_force_max", "N", "largest force of the fork along its legs"},
      {"hand_force_max", "N", "largest size of the force at the hands, both together"},
      {"lift_offs", "1", "times that the tyre left the ground"},
      {"brake_dive_max", "m", "largest dive in braking, bumps included"},
      {"sag_share", "1", "sag over full travel"},
      {"pressure", "Pa", "gauge pressure at full extension, at the pump"}};
  return list;
}

const std::vector<Keepable>& keepable_traces() {
  static const std::vector<Keepable> list = {
      {"travel", "m", "fork travel, 0 at full extension"},
      {"axle_force", "N", "vertical force of the ground on the wheel"}};
  return list;
}

const std::vector<std::string>& usual_metrics() {
  static const std::vector<std::string> list = {
      "travel_max",     "travel_use",     "bumper_contacts", "metal_contacts",
      "axle_force_max", "fork_force_max", "hand_force_max",  "lift_offs"};
  return list;
}

}  // namespace plunge
