#include "sim/lanes/many_rides.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <functional>
#include <list>
#include <map>
#include <memory>
#include <optional>
#include <tuple>
#include <utility>

#include "models/setup/fault.hpp"
#include "models/setup/keys.hpp"
#include "models/setup/statics.hpp"
#include "sim/lanes/lanes.hpp"
#include "sim/measure/channels.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/ride/run.hpp"

namespace plunge {
namespace {

// Rides that are prepared at once: enough to keep the lanes full, few enough to stay in a cache; no
// more once they come to so many samples, a few hundred megabytes with every channel.
constexpr std::size_t kTogether = 256;
constexpr double kSamplesTogether = 8e6;
constexpr double kMostKept = 2e8;  // of buffers, from one time to the next [bytes]

// Grounds and dampers that a worker keeps.
constexpr std::size_t kGroundsKept = 64;
constexpr std::size_t kDampersKept = 512;

// Every ride is ridden twice, the second time with a looser tolerance and longer longest steps.
// What the two disagree in is the estimate of the error; how far a ride keeps from another count is
// its margin. Chosen so that over 20 000 random plans' rides none that is kept is off by more than
// 0.1 mm, 1 % of a peak force or one contact (tests/sim/lanes/many_rides_test.cpp): the estimate is
// that of the looser ride, several times the error of the one that is kept. Where the two are too
// far apart, a third, tighter ride is held against the closer one: a tenth of the price of the
// adaptive path, which rides what is left.
constexpr double kTolerance = 2e-5;
constexpr double kLooseTolerance = 1.6e-4;
constexpr double kLooseStretch = 1.5;
constexpr double kTightTolerance = 2e-6;
constexpr double kMostTravelDifference = 4e-5;  // [m]
constexpr double kMostSpeedDifference = 1e-5;   // of a fork that creeps [m/s]
// Largest difference of a kept metric between two rides, in what its row allows. Measured: the
// looser ride is several times as far off as the one that is kept, so that of 10 000 random plans'
// rides none that agreed as closely as its rows allow was further from the adaptive path than they
// allow, but for grazes, which have margins of their own.
constexpr double kMostStrain = 1.0;
constexpr double kDoubtfulForce = 2.5;    // of the tyre, from lift-off [N]
constexpr double kDoubtfulTravel = 3e-5;  // from a stop [m]

// Two rides are compared, in travel and in metrics, by samples this dense [Hz] or a little denser:
// of the looser one no more are taken. Their difference is the slow growth of an error, which more
// samples do not show better.
constexpr double kCompareRate = 200.0;

// The most recently used of things that take long to make.
template <class Key, class Value>
class Recent {
 public:
  explicit Recent(std::size_t most) : most_(most) {}

  template <class Make>
  std::shared_ptr<const Value> get(const Key& key, const Make& make) {
    if (const auto found = places_.find(key); found != places_.end()) {
      order_.splice(order_.begin(), order_, found->second);
      return found->second->second;
    }
    auto value = std::make_shared<const Value>(make());
    order_.emplace_front(key, value);
    places_[key] = order_.begin();
    if (order_.size() > most_) {
      places_.erase(order_.back().first);
      order_.pop_back();
    }
    return value;
  }

 private:
  using Order = std::list<std::pair<Key, std::shared_ptr<const Value>>>;
  std::size_t most_;
  Order order_;
  std::map<Key, typename Order::iterator> places_;
};

struct LaneGround {
  explicit LaneGround(Ground a_ground)
      : ground(std::move(a_ground)), pieces(lane_pieces(ground.path)) {}

  Ground ground;
  std::vector<WheelPiece> pieces;
};

struct LaneDamper {
  DamperLaw<double> law;
  LaneLaw lanes;
};

struct TraceChannel {
  const char* name;
  LaneChannel lane;
  unsigned need;
};

constexpr std::array kTraceChannels = {
    TraceChannel{"travel", kLaneTravel, kNeedsTravel},
    TraceChannel{"travel_speed", kLaneTravelSpeed, kNeedsTravelSpeed},
    TraceChannel{"sprung_speed", kLaneSprungSpeed, kNeedsSprungSpeed},
    TraceChannel{"sprung_acceleration", kLaneSprungAcceleration, 0},
    TraceChannel{"hand_force", kLaneHandForce, kNeedsHandForce},
    TraceChannel{"ground_force", kLaneGroundForce, kNeedsGroundForce},
    TraceChannel{"fork_force", kLaneForkForce, 0},
};

const TraceChannel* find_trace(std::string_view name) {
  for (const TraceChannel& trace : kTraceChannels) {
    if (name == trace.name) return &trace;
  }
  return nullptr;
}

// One ride on its way through the lanes.
struct OnItsWay {
  std::size_t place = 0;  // in the list asked for
  const PlannedRide* planned = nullptr;
  std::shared_ptr<const LaneGround> ground;
  std::shared_ptr<const LaneDamper> compression;
  std::shared_ptr<const LaneDamper> rebound;
  Rider rider;
  RideLine line;
  State<double> start{};

  bool tabled() const { return rider.damper.compression.table || rider.damper.rebound.table; }

  // Rides that can share lanes have this in common.
  auto kind() const {
    return std::tuple(rider.has_air, rider.has_leg_air, rider.has_body, rider.has_friction,
                      tabled(), planned->setup.ride.sample_rate);
  }
};

// Every k-th sample, so that they come at the trace's rate.
template <class Samples>
std::vector<float> thinned(const Samples& samples, double sample_rate, double trace_rate) {
  std::vector<float> trace;
  for (std::size_t k = 0;; ++k) {
    const double at = std::round(static_cast<double>(k) * sample_rate / trace_rate);
    if (at >= static_cast<double>(samples.size())) return trace;
    trace.push_back(static_cast<float>(samples[static_cast<std::size_t>(at)]));
  }
}

// A ride of the lanes, every `stride`-th sample of it.
struct Thinned {
  const LaneOutcome* outcome = nullptr;
  double rate = 0.0;  // at which those samples stand [Hz]
  std::size_t stride = 1;

  std::size_t count(std::size_t channel) const {
    return (outcome->samples[channel].size() + stride - 1) / stride;
  }
  float sample(std::size_t channel, std::size_t k) const {
    return outcome->samples[channel][k * stride];
  }
};

// Travel and its speed read otherwise than they were.
struct Reading {
  double deeper = 0.0;  // all of it [m]
  double capped = 0.0;  // its largest, and what comes as near, by so much less [m]
  double faster = 0.0;  // all of it [m/s]
};

using RideLanes = void (*)(std::span<const LaneRide>, const LaneWish&, std::span<LaneOutcome>);

RideLanes lanes_of(InstructionSet set) {
  switch (set) {
    case InstructionSet::portable:
      return ride_lanes_portable;
    case InstructionSet::avx2:
      return ride_lanes_avx2;
    case InstructionSet::avx512:
      return ride_lanes_avx512;
  }
  return nullptr;
}

}  // namespace

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

bool runs_here(InstructionSet set) {
#if defined(__x86_64__)
  // The levels that the files of sim/ are compiled for (CMakeLists.txt).
  switch (set) {
    case InstructionSet::portable:
      return true;
    case InstructionSet::avx2:
      return __builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma") &&
             __builtin_cpu_supports("bmi") && __builtin_cpu_supports("bmi2");
    case InstructionSet::avx512:
      return runs_here(InstructionSet::avx2) && __builtin_cpu_supports("avx512f") &&
             __builtin_cpu_supports("avx512bw") && __builtin_cpu_supports("avx512cd") &&
             __builtin_cpu_supports("avx512dq") && __builtin_cpu_supports("avx512vl");
  }
#endif
  return set == InstructionSet::portable;
}

InstructionSet best_instruction_set() {
  for (const InstructionSet set : {InstructionSet::avx512, InstructionSet::avx2}) {
    if (runs_here(set)) return set;
  }
  return InstructionSet::portable;
}

// The metrics that two rides are held together by, whatever is kept, with what each allows.
struct PeakAgreements {
  Agreement fork_force = find_metric("fork_force_max")->agreement;
  Agreement ground_force = find_metric("ground_force_max")->agreement;
  Agreement hand_force = find_metric("hand_force_max")->agreement;
  Agreement damper_force = find_metric("damper_force_max")->agreement;
};

struct ManyRides::Impl {
  Keep keep;
  const PeakAgreements agreements{};
  RideLanes ride_lanes = nullptr;
  LaneWish wish;
  std::vector<const MetricRow*> kept;
  std::array<bool, kLaneChannels> compared{};  // channels that the looser ride is sampled for
  std::uint32_t doubts_that_count = kDoubtStuck;
  bool samples_asked = false;
  bool reads_lines = false;
  bool reads_strokes = false;
  bool reads_speeds = false;
  Recent<std::uint64_t, LaneGround> grounds{kGroundsKept};
  Recent<Key, LaneDamper> dampers{kDampersKept};
  // Used again and again: fresh memory costs more than the metrics do.
  std::vector<LaneOutcome> outcomes;
  std::vector<LaneOutcome> estimates;
  std::array<std::vector<double>, kLaneChannels> samples;
  const std::function<bool()>* stop = nullptr;  // of the call that runs
  bool stopped = false;
  bool glancing = false;

  // True from the first time on that it is so.
  bool stopping() {
    stopped = stopped || (stop != nullptr && *stop && (*stop)());
    return stopped;
  }

  std::shared_ptr<const LaneDamper> damper_of(const DamperSetup& damper, const OilSetup& oil) {
    return dampers.get(damper_key(damper, oil), [&] {
      LaneDamper made{make_damper(damper, oil), {}};
      made.lanes = lane_law(made.law);
      return made;
    });
  }

  // At which the lanes sample a ride.
  double sample_rate(const Setup& setup) const {
    return samples_asked ? setup.ride.sample_rate : std::min(setup.ride.sample_rate, kCompareRate);
  }
  // Each how manieth of those samples is compared.
  std::size_t stride(const Setup& setup) const {
    return static_cast<std::size_t>(std::max(1.0, std::floor(sample_rate(setup) / kCompareRate)));
  }

  std::optional<std::vector<RideRow>> ride(std::span<const PlannedRide> rides,
                                           const std::function<bool()>& asked, bool glance);
  std::unique_ptr<OnItsWay> prepare(const PlannedRide& planned, std::size_t place);
  // After a stop the rows are not whole.
  void ride_together(std::vector<std::unique_ptr<OnItsWay>>& rides, std::vector<RideRow>& rows);
  void ride_group(std::span<const std::unique_ptr<OnItsWay>> rides, std::vector<RideRow>& rows);
  void free_large_buffers();
  // The row of a ride as the lanes rode it; nothing where that cannot be kept. `loose`: the same
  // ride, ridden more loosely.
  std::optional<RideRow> row_of(const OnItsWay& ride, const LaneOutcome& outcome,
                                const Thinned& loose);
  // The row of a ride, held against nothing.
  RideRow as_ridden(const OnItsWay& ride, const LaneOutcome& outcome);
  // The kept metrics, NaN where one does not apply or which() is false of its row; travel is read
  // as `reading` has it.
  template <class Which>
  std::vector<double> metrics_of(const OnItsWay& ride, const Thinned& outcome, const Which& which,
                                 const Reading& reading = {});
  // After a stop the row is not whole.
  RideRow adaptive_row(const OnItsWay& ride);

  bool doubtful(const LaneOutcome& outcome) const {
    return (outcome.doubts & doubts_that_count) != 0;
  }

  // True if travel and peak forces agree with those of the looser ride within the limits above, and
  // no doubt counts.
  bool holds(const Thinned& outcome, const Thinned& loose) const;
};

bool ManyRides::Impl::holds(const Thinned& ride, const Thinned& looser) const {
  const LaneOutcome& outcome = *ride.outcome;
  const LaneOutcome& loose = *looser.outcome;
  if (doubtful(outcome) || (loose.doubts & kDoubtStuck) != 0) return false;
  const std::size_t count = ride.count(kLaneTravel);
  if (count != looser.count(kLaneTravel)) return false;
  float most = 0.0F;
  for (std::size_t k = 0; k < count; ++k) {
    most = std::max(most, std::abs(ride.sample(kLaneTravel, k) - looser.sample(kLaneTravel, k)));
  }
  // What error there is shows in these forces.
  const Peaks& a = outcome.record.peaks;
  const Peaks& b = loose.record.peaks;
  return static_cast<double>(most) <= kMostTravelDifference &&
         std::abs(a.travel - b.travel) <= kMostTravelDifference &&
         agreements.fork_force.holds(a.fork_force, b.fork_force) &&
         agreements.ground_force.holds(a.ground_force, b.ground_force) &&
         agreements.hand_force.holds(a.hand_force, b.hand_force) &&
         agreements.damper_force.holds(a.damper_force, b.damper_force);
}

std::unique_ptr<OnItsWay> ManyRides::Impl::prepare(const PlannedRide& planned, std::size_t place) {
  const Setup& setup = planned.setup;
  auto ground = grounds.get(planned.ground,
                            [&] { return LaneGround(build_ground(setup.terrain, setup.bike)); });
  auto compression = damper_of(setup.fork.compression, setup.fork.oil);
  auto rebound = damper_of(setup.fork.rebound, setup.fork.oil);
  Rider rider = assemble_ridden(setup, {compression->law, rebound->law});
  RideLine line(setup.ride, setup.events, ground->ground.length);
  refuse_tipping(setup, rider, ground->ground.grade, line);
  const State<double> start = start_of(rider, ground->ground, line);
  return std::make_unique<OnItsWay>(OnItsWay{place, &planned, std::move(ground),
                                             std::move(compression), std::move(rebound),
                                             std::move(rider), std::move(line), start});
}

template <class Which>
std::vector<double> ManyRides::Impl::metrics_of(const OnItsWay& ride, const Thinned& outcome,
                                                const Which& which, const Reading& reading) {
  const Setup& setup = ride.planned->setup;
  unsigned needs = 0;
  for (const MetricRow* row : kept) needs |= which(*row) ? row->needs : 0U;
  for (const TraceChannel& trace : kTraceChannels) {
    std::vector<double>& to = samples[trace.lane];
    to.resize((needs & trace.need) != 0 ? outcome.count(trace.lane) : 0);
    const float* const from = outcome.outcome->samples[trace.lane].data();
    for (std::size_t k = 0; k < to.size(); ++k) {
      to[k] = static_cast<double>(from[k * outcome.stride]);
    }
  }
  std::vector<double>& travels = samples[kLaneTravel];
  if (reading.deeper != 0.0) {
    for (double& travel : travels) travel += reading.deeper;
  }
  if (reading.capped > 0.0 && !travels.empty()) {
    const double most = *std::ranges::max_element(travels) - reading.capped;
    for (double& travel : travels) travel = std::min(travel, most);
  }
  if (reading.faster != 0.0) {
    for (double& speed : samples[kLaneTravelSpeed]) speed += reading.faster;
  }
  const Traces traces{outcome.rate,
                      samples[kLaneTravel],
                      samples[kLaneTravelSpeed],
                      samples[kLaneSprungSpeed],
                      samples[kLaneHandForce],
                      samples[kLaneGroundForce]};
  Ridden ridden(ride.rider, ride.line, setup, traces, outcome.outcome->record);
  std::vector<double> metrics;
  for (const MetricRow* row : kept) {
    metrics.push_back(which(*row) ? row->value(ridden).value_or(kUnset) : kUnset);
  }
  return metrics;
}

std::optional<RideRow> ManyRides::Impl::row_of(const OnItsWay& ride, const LaneOutcome& outcome,
                                               const Thinned& loose) {
  const Setup& setup = ride.planned->setup;
  const Thinned whole{&outcome, sample_rate(setup), 1};
  const Thinned thin{&outcome, loose.rate, stride(setup)};
  if (!holds(thin, loose)) return std::nullopt;
  // Those of the fork at rest follow from the set-up alone.
  const auto ridden = [](const MetricRow& row) { return row.group != Group::rest; };
  const auto lines = [](const MetricRow& row) { return (row.needs & kNeedsTravelLines) != 0; };
  const auto strokes = [](const MetricRow& row) { return (row.needs & kNeedsStrokes) != 0; };
  const auto speeds = [](const MetricRow& row) { return (row.needs & kNeedsTravelSpeed) != 0; };
  const auto agree = [&](const std::vector<double>& ours, const std::vector<double>& others,
                         const auto& which) {
    for (std::size_t i = 0; i < kept.size(); ++i) {
      if (which(*kept[i]) && kept[i]->agreement.strain(others[i], ours[i]) > kMostStrain) {
        return false;
      }
    }
    return true;
  };
  const std::vector<double> thinned_out = metrics_of(ride, thin, ridden);
  if (!agree(thinned_out, metrics_of(ride, loose, ridden), ridden)) return std::nullopt;
  // A fork that rests at a line is past it or not for a micron, perhaps in both rides alike.
  constexpr double kMost = kMostTravelDifference;
  if (reads_lines) {
    for (const double deeper : {-kMost, kMost}) {
      if (!agree(thinned_out, metrics_of(ride, thin, lines, {.deeper = deeper}), lines)) {
        return std::nullopt;
      }
    }
  }
  // A fork that creeps at kLeastSpeed moves or not for some microns a second, and may move for
  // long.
  if (reads_speeds) {
    for (const double faster : {-kMostSpeedDifference, kMostSpeedDifference}) {
      if (!agree(thinned_out, metrics_of(ride, thin, speeds, {.faster = faster}), speeds)) {
        return std::nullopt;
      }
    }
  }
  RideRow row = as_ridden(ride, outcome);
  // So a stroke reaches a line or not, also between the thinned samples, or is the deepest or not.
  if (reads_strokes) {
    for (const Reading& reading :
         {Reading{.deeper = -kMost}, Reading{.deeper = kMost}, Reading{.capped = 2.0 * kMost}}) {
      if (!agree(row.metrics, metrics_of(ride, whole, strokes, reading), strokes)) {
        return std::nullopt;
      }
    }
  }
  return row;
}

RideRow ManyRides::Impl::as_ridden(const OnItsWay& ride, const LaneOutcome& outcome) {
  const Setup& setup = ride.planned->setup;
  RideRow row;
  row.origin = Origin::lanes;
  row.metrics =
      metrics_of(ride, {&outcome, sample_rate(setup), 1}, [](const MetricRow&) { return true; });
  for (const std::string& name : keep.traces) {
    row.traces.push_back(
        thinned(outcome.samples[find_trace(name)->lane], setup.ride.sample_rate, keep.trace_rate));
  }
  return row;
}

RideRow ManyRides::Impl::adaptive_row(const OnItsWay& ride) try {
  const Setup& setup = ride.planned->setup;
  RideRow row;
  row.metrics.assign(kept.size(), kUnset);
  row.traces.resize(keep.traces.size());
  const Result result = run_ride(setup, {ride.rider, ride.ground->ground, ride.line, ride.start},
                                 {}, [this] { return stopping(); });
  if (!result.failure.empty()) {
    row.failure = result.failure;
    return row;
  }
  row.origin = Origin::adaptive;
  for (std::size_t i = 0; i < kept.size(); ++i) {
    const auto found = std::ranges::find(result.metrics, kept[i]->name, &Metric::name);
    if (found != result.metrics.end()) row.metrics[i] = found->value;
  }
  for (std::size_t i = 0; i < keep.traces.size(); ++i) {
    row.traces[i] =
        thinned(channel(result, keep.traces[i]), setup.ride.sample_rate, keep.trace_rate);
  }
  return row;
} catch (const RideStopped&) {
  return {};
}

// Rides that can share lanes.
void ManyRides::Impl::ride_group(std::span<const std::unique_ptr<OnItsWay>> rides,
                                 std::vector<RideRow>& rows) {
  std::vector<LaneRide> group;
  for (const auto& ride : rides) {
    group.push_back({&ride->rider, &ride->line, &ride->start, &ride->ground->pieces,
                     &ride->ground->ground.grade,
                     ride->tabled() ? &ride->compression->lanes : nullptr,
                     ride->tabled() ? &ride->rebound->lanes : nullptr});
  }
  LaneWish closely = wish;
  closely.sample_rate = sample_rate(rides.front()->planned->setup);
  closely.stop = {[](void* of) { return static_cast<Impl*>(of)->stopping(); }, this};
  const std::size_t stride_here = stride(rides.front()->planned->setup);
  LaneWish loosely = closely;
  loosely.sample_rate = closely.sample_rate / static_cast<double>(stride_here);
  loosely.tolerance = kLooseTolerance;
  loosely.step_factor = kLooseStretch;
  outcomes.resize(std::max(outcomes.size(), group.size()));
  if (glancing) {
    loosely.sample_rate = closely.sample_rate;
    ride_lanes(group, loosely, std::span(outcomes).first(group.size()));
    for (std::size_t i = 0; i < group.size(); ++i) {
      const bool stuck = (outcomes[i].doubts & kDoubtStuck) != 0;
      rows[rides[i]->place] = stuck ? adaptive_row(*rides[i]) : as_ridden(*rides[i], outcomes[i]);
    }
    return;
  }
  std::ranges::copy(compared, std::begin(loosely.channels));
  estimates.resize(outcomes.size());
  ride_lanes(group, closely, std::span(outcomes).first(group.size()));
  ride_lanes(group, loosely, std::span(estimates).first(group.size()));
  std::vector<LaneRide> again;
  std::vector<std::size_t> numbers;
  for (std::size_t i = 0; i < group.size(); ++i) {
    if (stopping()) return;
    const OnItsWay& ride = *rides[i];
    if (std::optional<RideRow> row =
            row_of(ride, outcomes[i], {&estimates[i], loosely.sample_rate, 1})) {
      rows[ride.place] = std::move(*row);
    } else if (doubtful(outcomes[i])) {
      rows[ride.place] = adaptive_row(ride);
    } else {
      again.push_back(group[i]);
      numbers.push_back(i);
    }
  }
  LaneWish tightly = closely;
  tightly.tolerance = kTightTolerance;
  if (!again.empty()) ride_lanes(again, tightly, std::span(estimates).first(again.size()));
  for (std::size_t k = 0; k < again.size(); ++k) {
    if (stopping()) return;
    const OnItsWay& ride = *rides[numbers[k]];
    std::optional<RideRow> row =
        row_of(ride, estimates[k], {&outcomes[numbers[k]], loosely.sample_rate, stride_here});
    rows[ride.place] = row ? std::move(*row) : adaptive_row(ride);
  }
}

void ManyRides::Impl::ride_together(std::vector<std::unique_ptr<OnItsWay>>& rides,
                                    std::vector<RideRow>& rows) {
  // Long rides first: lanes then run empty only at the end.
  std::ranges::stable_sort(rides, [](const auto& a, const auto& b) {
    return std::tuple(a->kind(), -a->line.duration()) < std::tuple(b->kind(), -b->line.duration());
  });
  for (std::size_t begin = 0; begin < rides.size() && !stopped;) {
    std::size_t end = begin;
    while (end < rides.size() && rides[end]->kind() == rides[begin]->kind()) ++end;
    ride_group(std::span(rides).subspan(begin, end - begin), rows);
    begin = end;
  }
  free_large_buffers();
}

void ManyRides::Impl::free_large_buffers() {
  double kept_bytes = 0.0;
  const auto count = [&](const auto& numbers) {
    kept_bytes += static_cast<double>(numbers.capacity() * sizeof(numbers.front()));
  };
  for (const std::vector<LaneOutcome>* list : {&outcomes, &estimates}) {
    for (const LaneOutcome& outcome : *list) std::ranges::for_each(outcome.samples, count);
  }
  std::ranges::for_each(samples, count);
  if (kept_bytes < kMostKept) return;
  outcomes.clear();
  estimates.clear();
  samples = {};
}

ManyRides::ManyRides(const Keep& keep, InstructionSet set) : impl_(new Impl) {
  impl_->keep = keep;
  impl_->ride_lanes = lanes_of(set);
  LaneWish& wish = impl_->wish;
  wish.tolerance = kTolerance;
  wish.doubtful_force = kDoubtfulForce;
  wish.doubtful_travel = kDoubtfulTravel;
  unsigned needs = 0;
  for (const std::string& name : keep.metrics) {
    const MetricRow* row = find_metric(name);
    if (row == nullptr) throw std::invalid_argument("no metric " + name);
    impl_->kept.push_back(row);
    needs |= row->needs;
  }
  if ((needs & kNeedsLiftOffs) != 0) impl_->doubts_that_count |= kDoubtLiftOff;
  if ((needs & kNeedsContacts) != 0) impl_->doubts_that_count |= kDoubtContact;
  if ((needs & kNeedsRimStrikes) != 0) impl_->doubts_that_count |= kDoubtRim;
  impl_->reads_lines = (needs & kNeedsTravelLines) != 0;
  impl_->reads_strokes = (needs & kNeedsStrokes) != 0;
  impl_->reads_speeds = (needs & kNeedsTravelSpeed) != 0;
  for (const TraceChannel& trace : kTraceChannels) {
    impl_->compared[trace.lane] = (needs & trace.need) != 0;
    wish.channels[trace.lane] =
        impl_->compared[trace.lane] || std::ranges::count(keep.traces, trace.name) > 0;
    impl_->samples_asked = impl_->samples_asked || wish.channels[trace.lane];
  }
  wish.channels[kLaneTravel] = impl_->compared[kLaneTravel] = true;
  for (const std::string& name : keep.traces) {
    if (find_trace(name) == nullptr) throw std::invalid_argument("no trace " + name);
  }
}

ManyRides::~ManyRides() = default;

std::vector<RideRow> ManyRides::ride(std::span<const PlannedRide> rides) {
  return *ride(rides, {});
}

std::vector<RideRow> ManyRides::glance(std::span<const PlannedRide> rides) {
  return *impl_->ride(rides, {}, true);
}

std::optional<std::vector<RideRow>> ManyRides::ride(std::span<const PlannedRide> rides,
                                                    const std::function<bool()>& stop) {
  return impl_->ride(rides, stop, false);
}

std::optional<std::vector<RideRow>> ManyRides::Impl::ride(std::span<const PlannedRide> rides,
                                                          const std::function<bool()>& asked,
                                                          bool glance) {
  stop = &asked;
  stopped = false;
  glancing = glance;
  std::vector<RideRow> rows(rides.size());
  std::vector<std::unique_ptr<OnItsWay>> together;
  double samples = 0.0;
  for (std::size_t i = 0; i < rides.size(); ++i) {
    if (stopping()) return std::nullopt;
    RideRow& row = rows[i];
    row.metrics.assign(kept.size(), kUnset);
    row.traces.resize(keep.traces.size());
    row.failure = rides[i].failure;
    if (!row.failure.empty()) continue;
    try {
      together.push_back(prepare(rides[i], i));
    } catch (const InputError& error) {
      row.failure = error.what();
      continue;
    } catch (const RunError& error) {
      row.failure = error.what();
      continue;
    }
    samples += together.back()->line.duration() * sample_rate(rides[i].setup);
    if (together.size() < kTogether && samples < kSamplesTogether) continue;
    ride_together(together, rows);
    together.clear();
    samples = 0.0;
  }
  ride_together(together, rows);
  if (stopped) return std::nullopt;
  return rows;
}

const std::vector<Label>& keepable_traces() {
  static const std::vector<Label> list = [] {
    std::vector<Label> made;
    for (const ChannelRow& row : channel_rows()) {
      if (find_trace(row.name) != nullptr) made.push_back(row);
    }
    return made;
  }();
  return list;
}

const std::vector<std::string>& usual_metrics() {
  static const std::vector<std::string> list = [] {
    std::vector<std::string> names;
    for (const MetricRow& row : metric_rows()) {
      if ((row.shown & kInUsualSweeps) != 0) names.push_back(row.name);
    }
    return names;
  }();
  return list;
}

}  // namespace plunge
