#include "sim/sweep/plan_estimate.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <map>

#include "models/setup/fault.hpp"
#include "models/setup/masses.hpp"
#include "models/setup/ride_line.hpp"
#include "sim/ground/terrain.hpp"
#include "sim/sweep/team.hpp"

namespace plunge {
namespace {

using Clock = std::chrono::steady_clock;

constexpr std::size_t kFirstHandful = 16;  // fills the widest lanes once
constexpr std::size_t kGrowth = 4;
constexpr double kMoment = 0.01;  // of a ride [s]
constexpr double kHead = 20e3;    // of a file of any size [bytes]
constexpr std::size_t kLastHandful = 1024;

// Rides of a plan, cut to what is tried of them.
struct Handful {
  std::vector<PlannedRide> rides;
  std::vector<std::size_t> numbers;
  double lasts = 0.0;  // as planned [s], summed
  double tried = 0.0;  // as cut [s], summed
  double longest = 0.0;
};

class Trial {
 public:
  explicit Trial(const Plan& plan) : plan_(plan), rider_(plan.keep(), best_instruction_set()) {}

  PlanEstimate run(std::size_t cores) {
    PlanEstimate found;
    found.cores = std::min(cores, plan_.shards());
    double spent = 0.0;
    for (std::size_t count = kFirstHandful;; count *= kGrowth) {
      const Handful handful = pick(std::min(count, plan_.size()));
      const double seconds = ride(handful, found);
      spent += seconds;
      longest_ = std::max(longest_, handful.longest);
      if (handful.tried > 0.0) {
        const auto size = static_cast<double>(handful.rides.size());
        const double all =
            static_cast<double>(plan_.size()) / size * handful.lasts * seconds / handful.tried;
        found.rate = static_cast<double>(plan_.size()) / all;
        found.seconds = all / static_cast<double>(found.cores);
      }
      const bool dear = spent + static_cast<double>(kGrowth) * seconds > 2.0 * kLongEnough;
      if (spent > kLongEnough || dear || count >= std::min(plan_.size(), kLastHandful)) break;
    }
    found.reasons = reasons_.by_frequency();
    put_sizes(found);
    return found;
  }

 private:
  // So many rides, each from the middle of an equal part of the plan.
  Handful pick(std::size_t count) {
    Handful handful;
    for (std::size_t i = 0; i < count; ++i) {
      const long double middle =
          (static_cast<long double>(i) + 0.5L) / static_cast<long double>(count);
      const auto number = static_cast<std::size_t>(middle * static_cast<long double>(plan_.size()));
      PlannedRide ride = plan_.ride(number);
      cut(ride, handful);
      handful.rides.push_back(std::move(ride));
      handful.numbers.push_back(number);
    }
    return handful;
  }

  void cut(PlannedRide& ride, Handful& handful) {
    if (!ride.failure.empty()) return;
    Setup& setup = ride.setup;
    try {
      auto known = lengths_.find(ride.ground);
      if (known == lengths_.end()) {
        const double length = build_ground(setup.terrain, setup.bike).length;
        known = lengths_.emplace(ride.ground, length).first;
      }
      const RideLine line(setup.ride, setup.events, known->second);
      const double tried = std::min(line.duration(), kTrial);
      setup.ride.duration = tried;
      handful.lasts += line.duration();
      handful.tried += tried;
      handful.longest = std::max(handful.longest, line.duration());
    } catch (const InputError& error) {
      ride.failure = error.what();
    }
  }

  // Builds the grounds of a handful, which a sweep does once for many rides.
  void warm(const Handful& handful) {
    std::vector<PlannedRide> rides = handful.rides;
    for (PlannedRide& ride : rides) {
      ride.setup.ride.duration = std::min(ride.setup.ride.duration, kMoment);
    }
    rider_.ride(rides);
  }

  // Time that a handful takes [s].
  double ride(const Handful& handful, PlanEstimate& found) {
    warm(handful);
    const Clock::time_point start = Clock::now();
    const std::vector<RideRow> rows = rider_.ride(handful.rides);
    const double seconds = std::chrono::duration<double>(Clock::now() - start).count();
    found.tried = rows.size();
    found.failed = 0;
    reasons_ = ReasonCounts();
    for (std::size_t i = 0; i < rows.size(); ++i) {
      if (rows[i].origin != Origin::failed) continue;
      ++found.failed;
      reasons_.count(handful.numbers[i], rows[i].failure);
    }
    return seconds;
  }

  void put_sizes(PlanEstimate& found) const {
    const Keep& keep = plan_.keep();
    const auto count = [](std::size_t number) { return static_cast<double>(number); };
    const double samples = keep.traces.empty() ? 0.0 : keep.trace_rate * longest_;
    const double row = 8.0 * count(keep.metrics.size()) + 4.0 * count(keep.traces.size()) * samples;
    const double rides = count(plan_.size());
    const double sample = 8.0 * count(plan_.points()) * count(plan_.sampled().size());
    const double head = kHead + 8.0 * samples;
    found.shard_bytes = rides * (12.0 + row) + head * count(plan_.shards());
    found.merged_bytes = rides * (8.0 + row) + sample + head + count(plan_.resolved().size());
  }

  const Plan& plan_;
  ManyRides rider_;
  std::map<std::uint64_t, double> lengths_;  // of grounds [m]
  ReasonCounts reasons_;
  double longest_ = 0.0;
};

}  // namespace

PlanEstimate estimate(const Plan& plan, std::size_t threads) {
  return Trial(plan).run(threads_or_cores(threads));
}

}  // namespace plunge
