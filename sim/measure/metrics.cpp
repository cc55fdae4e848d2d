#include "sim/measure/metrics.hpp"

#include <algorithm>
#include <cmath>
#include <span>
#include <stdexcept>
#include <string>

#include "models/laws/constants.hpp"
#include "models/setup/judge.hpp"
#include "models/setup/statics.hpp"
#include "sim/measure/braking.hpp"
#include "sim/measure/reserve.hpp"
#include "sim/measure/weighting.hpp"
#include "sim/numerics/statistics.hpp"

namespace plunge {
namespace {

// The part of a channel between two times; empty where the ride did not get there.
std::span<const double> between(std::span<const double> x, double rate, double begin, double end) {
  const auto at = [&](double time) {
    return std::min(x.size(), static_cast<std::size_t>(std::ceil(std::max(time, 0.0) * rate)));
  };
  const std::size_t first = at(begin);
  return x.subspan(first, std::max(at(end), first) - first);
}

// For how many samples a tyre on the ground presses with less than `light`: its force is joined by
// straight lines. To a sample off the ground it goes on as steeply as before, or from one as
// steeply as behind, until it is 0. What presses with less than kTouch is off the ground: samples
// of lanes come from a curve over a step that ends with the ground.
double light_samples(std::span<const double> force, double light) {
  constexpr double kTouch = 1.0;  // [N]
  double time = 0.0;
  // Between a sample on the ground and one off it; inner: the next one on the ground.
  const auto to_nothing = [light](double on, double inner) {
    const double slope = inner - on;
    const auto until = [slope](double change) {
      if (!(change > 0.0)) return 0.0;
      return slope > change ? change / slope : 1.0;
    };
    return until(on) - until(on - light);
  };
  for (std::size_t i = 0; i + 1 < force.size(); ++i) {
    const double a = force[i];
    const double b = force[i + 1];
    if (a > kTouch && b > kTouch) {
      const auto [bottom, top] = std::minmax(a, b);
      time += top < light ? 1.0 : bottom < light ? (light - bottom) / (top - bottom) : 0.0;
    } else if (a > kTouch) {
      time += to_nothing(a, i > 0 ? force[i - 1] : a);
    } else if (b > kTouch) {
      time += to_nothing(b, i + 2 < force.size() ? force[i + 2] : b);
    }
  }
  return time;
}

// The time from when event `number` is over to the next event or the end, of at most kRecovery;
// empty where another is still going on.
Interval after_event(const Ridden& ridden, std::size_t number, double last_time) {
  const RideLine& line = ridden.line;
  const double end = line.event_ends()[number];
  Interval after{end, std::min(end + kRecovery, last_time)};
  for (std::size_t i = 0; i < ridden.setup.events.size(); ++i) {
    if (i == number || !(line.event_ends()[i] > end)) continue;
    after.end = std::min(after.end, std::max(end, line.event_starts()[i]));
  }
  return after;
}

// What is left of an interval without a second one: none, one or two pieces.
std::vector<Interval> without(const std::vector<Interval>& whole, const Interval& part) {
  std::vector<Interval> left;
  for (const Interval& piece : whole) {
    const Interval before{piece.begin, std::min(piece.end, part.begin)};
    const Interval behind{std::max(piece.begin, part.end), piece.end};
    for (const Interval& rest : {before, behind}) {
      if (rest.begin < rest.end) left.push_back(rest);
    }
  }
  return left;
}

// Stretches of rough ground, from begin to end along the ground [m].
std::vector<Interval> rough_ground(const std::vector<Feature>& terrain) {
  std::vector<Interval> found;
  Interval stretch;
  double bumps = 0.0;  // on the stretch; 0: there is none
  double start = 0.0;
  const auto close = [&] {
    if (bumps >= kBumpTrain) found.push_back(stretch);
    bumps = 0.0;
  };
  for (const Feature& feature : terrain) {
    const double begin = start;
    start += feature_length(feature);
    const bool level = feature.kind == FeatureKind::flat;
    if (feature.kind == FeatureKind::drop || (level && !(start - begin < kBumpGap))) close();
    if (level || feature.kind == FeatureKind::drop) continue;
    if (bumps == 0.0) stretch.begin = begin;
    stretch.end = start;
    const bool single = feature.kind == FeatureKind::bump;
    bumps += single ? 1.0 : feature.kind == FeatureKind::bumps ? feature.count : kBumpTrain;
  }
  close();
  return found;
}

}  // namespace

const std::optional<Dive>& Ridden::dive(EventKind kind) {
  auto& kept = kind == EventKind::brake ? brake_ : corner_;
  if (kept) return *kept;
  const double rate = traces.rate;
  std::optional<Dive> found;
  for (std::size_t i = 0; i < setup.events.size(); ++i) {
    const RideEvent& event = setup.events[i];
    if (event.kind != kind) continue;
    const double start = line.event_starts()[i];
    const double end = line.event_ends()[i];
    const double full = std::min(start + event.rise, 0.5 * (start + end));
    const double eases = std::max(end - event.rise, 0.5 * (start + end));
    const auto before = between(traces.travel, rate, start - 0.5, start);
    const auto during = between(traces.travel, rate, start, end);
    const auto steady = between(traces.travel, rate, 0.5 * (full + eases), eases);
    const auto effort = between(traces.travel, rate, full, eases);
    if (during.empty()) continue;
    const double level = before.empty() ? traces.travel.front() : mean(before);
    Dive dive;
    dive.largest = *std::max_element(during.begin(), during.end()) - level;
    dive.steady = steady.empty() ? during.back() - level : mean(steady) - level;
    if (!effort.empty()) {
      const double band = std::max(0.1 * std::abs(dive.steady), 1e-3);
      dive.settle = settle_time(effort, rate, level + dive.steady, band).value_or(kUnset);
    }
    const double last_time = static_cast<double>(traces.travel.size() - 1) / rate;
    const Interval let_go = after_event(*this, i, last_time);
    const auto after = between(traces.travel, rate, let_go.begin, let_go.end);
    if (!after.empty()) {
      const double band = std::max(0.1 * std::abs(dive.steady), 1e-3);
      const double late = std::ceil(let_go.begin * rate) / rate - let_go.begin;
      if (const auto time = recovery(after, rate, band)) dive.after = *time + late;
    }
    if (!found || dive.largest > found->largest) found = dive;
  }
  return kept.emplace(found);
}

const Histogram& Ridden::tenths() {
  if (!tenths_) tenths_ = histogram(traces.travel, 0.0, rider.travel, 10);
  return *tenths_;
}

double Ridden::sag() {
  if (!sag_) sag_ = plunge::sag(rider);
  return *sag_;
}

const TravelBand& Ridden::sag_band() {
  if (!sag_band_) sag_band_ = plunge::sag_band(rider);
  return *sag_band_;
}

double Ridden::speed_percentile(double sign, double percent) {
  std::optional<TimesAbove>& way = sign > 0.0 ? compression_ : rebound_;
  if (!way) {
    std::vector<double> speed(traces.travel_speed.begin(), traces.travel_speed.end());
    for (double& v : speed) v *= sign;
    way.emplace(speed, kLeastSpeed);
  }
  return way->empty() ? 0.0 : way->percentile(percent);
}

const std::optional<StrokeReturn>& Ridden::stroke_return() {
  if (!return_) {
    return_.emplace(plunge::stroke_return(traces.travel, traces.rate,
                                          ride_height() + kBack * rider.travel, ride_height()));
  }
  return *return_;
}

std::optional<double> Ridden::ride_height_loss() {
  const double last_time = static_cast<double>(traces.travel.size() - 1) / traces.rate;
  double time = 0.0;
  double sum = 0.0;
  for (const Interval& ground : rough_ground(setup.terrain)) {
    std::vector<Interval> ridden{
        {line.time_at(ground.begin), std::min(line.time_at(ground.end), last_time)}};
    for (std::size_t i = 0; i < setup.events.size(); ++i) {
      if (setup.events[i].kind != EventKind::brake) continue;
      ridden = without(ridden, {line.event_starts()[i], line.event_ends()[i]});
    }
    for (const Interval& piece : ridden) {
      if (!(piece.begin < piece.end)) continue;
      time += piece.end - piece.begin;
      sum += (piece.end - piece.begin) * mean_between(traces.travel, traces.rate, piece);
    }
  }
  if (!(time >= kLeastRough)) return std::nullopt;
  return sum / time - ride_height();
}

const Closing* Ridden::hardest_hit() const {
  const auto hardest = std::ranges::max_element(record.metal, {}, &Closing::speed);
  return hardest == record.metal.end() ? nullptr : &*hardest;
}

const std::optional<ForceBand>& Ridden::hit_force() {
  if (!hit_) {
    const Closing* const hit = hardest_hit();
    hit_.emplace(hit == nullptr ? std::nullopt : std::optional(band_of_hit(rider, *hit)));
  }
  return *hit_;
}

bool Ridden::deepest_after_drop() const {
  const double time = deepest(traces.travel, traces.rate).time;
  double start = 0.0;
  for (const Feature& feature : setup.terrain) {
    const double lip = start;
    start += feature_length(feature);
    if (feature.kind != FeatureKind::drop) continue;
    const double fall =
        feature.height + (feature.landing_angle > 0.0
                              ? feature.landing_length * std::tan(feature.landing_angle)
                              : 0.0);
    const double left = line.time_at(lip);
    if (time > left && time < left + std::sqrt(2.0 * fall / kGravity) + kDropStroke) return true;
  }
  return false;
}

std::optional<double> Ridden::packing() const {
  const double last_time = static_cast<double>(traces.travel.size() - 1) / traces.rate;
  double start = 0.0;
  std::optional<double> found;
  for (const Feature& feature : setup.terrain) {
    const double begin = start;
    start += feature_length(feature);
    if (feature.kind != FeatureKind::bumps || feature.count < 3.0) continue;
    const auto time = [&](double pitches) {
      return line.time_at(begin + pitches * feature.spacing);
    };
    const Interval first{time(0.0), time(1.0)};
    const Interval last{time(feature.count - 1.0), time(feature.count)};
    if (last.end > last_time) continue;
    const double value = drift(traces.travel, traces.rate, first, last);
    if (!found || std::abs(value) > std::abs(*found)) found = value;
  }
  return found;
}

const std::vector<double>& channel(const Result& result, const std::string& name) {
  for (const Channel& candidate : result.channels) {
    if (candidate.name == name) return candidate.values;
  }
  throw std::out_of_range("no channel " + name);
}

namespace {

// How closely lanes and adaptive path agree. What moves smoothly with the ride is held to what a
// workshop reads off or what one click changes, and comes ten times nearer as a rule; small values
// are as good as the one given. A share of time or a percentile also turns on when the fork passes
// a line, which a fork that nearly rests there does at another time for a micron: these have more.
constexpr Agreement kExact = Agreement::exact();
constexpr Agreement kSameTravel = Agreement::absolute(1e-4);         // a reading of the o-ring [m]
constexpr Agreement kSameShareOfTravel = Agreement::absolute(1e-3);  // the same of 100 mm
constexpr Agreement kSameShareOfTime = Agreement::absolute(0.01);
constexpr Agreement kSameTime = Agreement::absolute(0.01);         // a tenth of a settling [s]
constexpr Agreement kSameForce = Agreement::relative(0.01, 50.0);  // [N]
constexpr Agreement kSameAcceleration = Agreement::relative(0.01, 5.0);
constexpr Agreement kSameVibration = Agreement::relative(0.01, 0.5);  // limits are 2.5 and 5 m/s2
constexpr Agreement kSameVariation = Agreement::absolute(0.005);
constexpr Agreement kSamePower = Agreement::relative(0.01, 1.0);
constexpr Agreement kSameSpeed = Agreement::relative(0.02, 0.1);
// A median of a short ride may lie in a gap between its slow and its fast strokes, which it crosses
// for a few milliseconds that the fork creeps longer or shorter past kLeastSpeed.
constexpr Agreement kSameMedianSpeed = Agreement::relative(0.05, 0.1);
constexpr Agreement kSameClosingSpeed = Agreement::relative(0.01, 0.5);
constexpr Agreement kSameClosingEnergy = Agreement::relative(0.02, 1.0);  // its square
constexpr Agreement kSameForceOfHit = Agreement::relative(0.02, 500.0);
// What kSameTravel is worth: 0.1 mm at 2 kN, and of that under the weight of a rider.
constexpr Agreement kSameReserve = Agreement::relative(0.02, 10.0);
constexpr Agreement kSameHeight = Agreement::absolute(2e-3);
// A count over the same time.
constexpr Agreement kSameRate = Agreement::relative(1e-9, 1e-3);

class Rows {
 public:
  template <class Value>
  void add(const Label& label, Group group, unsigned shown, Sense sense, const Agreement& agreement,
           unsigned needs, const Value& value) {
    list_.push_back({label, group, shown, sense, agreement, needs, value});
  }
  std::vector<MetricRow> take() { return std::move(list_); }

 private:
  std::vector<MetricRow> list_;
};

std::optional<double> gauge(const Ridden& r, double pressure) {
  if (r.setup.fork.spring != Spring::air) return std::nullopt;
  return pressure;
}

void add_rest(Rows& rows) {
  const Group rest = Group::rest;
  rows.add(
      {"pressure", "Pa", "gauge pressure at full extension, at the pump", "psi", 1, "pressure"},
      rest, kWithOneRide | kSideBySide | kInComparisons, Sense::neither, kExact, 0,
      [](Ridden& r) { return gauge(r, r.setup.fork.pressure); });
  rows.add({"pressure_reattached", "Pa", "gauge reading after the pump's hose is screwed on again",
            "psi", 1, "pressure with the hose back on"},
           rest, kWithOneRide, Sense::neither, kExact, 0, [](Ridden& r) {
             return gauge(r, reading_with_hose(r.setup.fork.pressure, r.rider.air.main.volume,
                                               r.setup.fork.air.hose_volume));
           });
  rows.add({"sag", "m", "travel at rest on level ground", "mm", 1, "sag"}, rest,
           kWithOneRide | kSideBySide | kInComparisons, Sense::neither, kExact, kNeedsRider,
           [](Ridden& r) { return r.sag(); });
  rows.add({"sag_least", "m", "least travel at which friction holds the fork at rest", "mm", 1,
            "sag, at least"},
           rest, 0, Sense::neither, kExact, kNeedsRider,
           [](Ridden& r) { return r.sag_band().least; });
  rows.add({"sag_most", "m", "largest travel at which friction holds the fork at rest", "mm", 1,
            "sag, at most"},
           rest, 0, Sense::neither, kExact, kNeedsRider,
           [](Ridden& r) { return r.sag_band().most; });
  rows.add({"sag_share", "1", "sag over full travel", "%", 1, "sag, share of travel"}, rest, 0,
           Sense::neither, kExact, kNeedsRider, [](Ridden& r) { return r.sag() / r.rider.travel; });
  rows.add({"breakaway_force", "N",
            "force along the legs that the first movement asks for: slow spring force at the port "
            "plus static friction of seals and bushings, loaded as at rest",
            "N", 1, "breakaway force"},
           rest, kWithOneRide | kSideBySide | kInComparisons, Sense::less, kExact, 0,
           [](Ridden& r) { return breakaway_force(r.rider); });
  rows.add({"stiffness_slow", "N m-1", "slow (isothermal) spring stiffness at sag", "N/mm", 2,
            "stiffness at sag, slow"},
           rest, kWithOneRide, Sense::neither, kExact, kNeedsRider,
           [](Ridden& r) { return slow_stiffness(r.rider, r.sag()); });
  rows.add({"stiffness_fast", "N m-1", "fast (isentropic) spring stiffness at sag", "N/mm", 2,
            "stiffness at sag, fast"},
           rest, kWithOneRide, Sense::neither, kExact, kNeedsRider,
           [](Ridden& r) { return fast_stiffness(r.rider, r.sag()); });
  rows.add({"progression", "1", "slow stiffness at 90 % of travel over that at 50 %", "1", 2,
            "progression, end over middle"},
           rest, kWithOneRide | kInComparisons, Sense::neither, kExact, 0,
           [](Ridden& r) { return progression(r.rider); });
}

void add_travel(Rows& rows) {
  const Group travel = Group::travel;
  rows.add({"travel_max", "m", "largest travel", "mm", 1, "travel used"}, travel,
           kWithOneRide | kSideBySide | kInComparisons | kInUsualSweeps, Sense::neither,
           kSameTravel, 0, [](Ridden& r) { return r.record.peaks.travel; });
  rows.add({"travel_use", "1", "largest travel over full travel", "%", 1, "share of travel"},
           travel, kWithOneRide | kSideBySide | kInComparisons | kInUsualSweeps, Sense::neither,
           kSameShareOfTravel, 0, [](Ridden& r) { return r.record.peaks.travel / r.rider.travel; });
  rows.add({"travel_mean", "m", "mean travel: ride height, less is higher", "mm", 1, "mean travel"},
           travel, kWithOneRide | kInComparisons, Sense::neither, kSameTravel, kNeedsTravel,
           [](Ridden& r) { return mean(r.traces.travel); });
  rows.add({"time_past_90", "1", "share of time past 90 % of travel", "%", 2, "time past 90 %"},
           travel, kWithOneRide | kInComparisons, Sense::less, kSameShareOfTime,
           kNeedsTravel | kNeedsTravelLines,
           [](Ridden& r) { return share_above(r.traces.travel, 0.9 * r.rider.travel); });
  for (std::size_t i = 0; i < 10; ++i) {
    const std::string range =
        std::to_string(10 * i) + " and " + std::to_string(10 * (i + 1)) + " % of travel";
    rows.add({"travel_share_" + std::to_string(10 * i) + "_" + std::to_string(10 * (i + 1)), "1",
              "share of time between " + range, "%", 1, "time between " + range},
             travel, 0, Sense::neither, kSameShareOfTime, kNeedsTravel | kNeedsTravelLines,
             [i](Ridden& r) {
               const Histogram& tenths = r.tenths();
               const double outside = i == 0 ? tenths.below : i == 9 ? tenths.above : 0.0;
               return tenths.share[i] + outside;
             });
  }
  rows.add(
      {"bumper_contacts", "1", "times that the fork reached its bumper", "1", 0, "bumper contacts"},
      travel, kWithOneRide | kSideBySide | kInComparisons | kInUsualSweeps, Sense::less, kExact,
      kNeedsContacts, [](Ridden& r) { return r.record.bumper_contacts; });
}

void add_metal(Rows& rows) {
  const Group travel = Group::travel;
  rows.add({"metal_contacts", "1", "times that metal met metal past full travel", "1", 0,
            "metal contacts"},
           travel, kWithOneRide | kSideBySide | kInComparisons | kInUsualSweeps, Sense::less,
           kExact, kNeedsContacts,
           [](Ridden& r) { return static_cast<double>(r.record.metal.size()); });
  rows.add({"metal_speed_max", "m s-1", "largest closing speed as metal met metal", "m/s", 2,
            "metal closing speed"},
           travel, kWithOneRide | kSideBySide | kInComparisons, Sense::less, kSameClosingSpeed,
           kNeedsContacts, [](Ridden& r) {
             const Closing* const hit = r.hardest_hit();
             return hit == nullptr ? 0.0 : hit->speed;
           });
  rows.add({"metal_energy_max", "J", "kinetic energy of the closing fork at that speed", "J", 1,
            "metal closing energy"},
           travel, kWithOneRide, Sense::less, kSameClosingEnergy, kNeedsContacts, [](Ridden& r) {
             const Closing* const hit = r.hardest_hit();
             return hit == nullptr ? 0.0 : 0.5 * closing_mass(r.rider) * square(hit->speed);
           });
  for (const auto& [name, which, end] : {std::tuple{"low", "softest", &ForceBand::low},
                                         std::tuple{"high", "stiffest", &ForceBand::high}}) {
    rows.add({std::string("metal_force_") + name, "N",
              std::string("fork force of the hardest metal contact, contact and chassis the ") +
                  which + " that they may be",
              "N", 0, std::string("fork force at metal, ") + which},
             travel, 0, Sense::less, kSameForceOfHit, kNeedsContacts,
             [end = end](Ridden& r) -> std::optional<double> {
               const std::optional<ForceBand>& band = r.hit_force();
               if (!band) return std::nullopt;
               return (*band).*end;
             });
  }
  rows.add({"metal_reserve", "J",
            "energy that springs and bumper could take up between the deepest travel and metal",
            "J", 1, "reserve before metal"},
           travel, kWithOneRide | kInComparisons, Sense::more, kSameReserve, 0,
           [](Ridden& r) { return energy_to_metal(r.rider, r.sag(), r.record.peaks.travel); });
  rows.add({"metal_reserve_drop", "m",
            "the same as height of a drop whose landing was the deepest: what could be added to it",
            "m", 2, "reserve before metal, height"},
           travel, kWithOneRide | kInComparisons, Sense::more, kSameHeight,
           kNeedsTravel | kNeedsStrokes, [](Ridden& r) -> std::optional<double> {
             if (!r.deepest_after_drop()) return std::nullopt;
             const double x = r.record.peaks.travel;
             return drop_to_metal(r.rider, energy_to_metal(r.rider, r.sag(), x), x);
           });
}

void add_strokes(Rows& rows) {
  const Group travel = Group::travel;
  rows.add({"top_outs", "1", "times that the fork reached its top-out spring", "1", 0, "top-outs"},
           travel, 0, Sense::less, kExact, 0, [](Ridden& r) { return r.record.top_outs; });
  rows.add({"strokes_past_90", "Hz",
            "strokes past 90 % of travel, each from below 85 %, over the time ridden", "/min", 1,
            "strokes past 90 %"},
           travel, kWithOneRide | kInComparisons, Sense::less, kSameRate,
           kNeedsTravel | kNeedsStrokes, [](Ridden& r) {
             const double full = r.rider.travel;
             const int count = strokes_past(r.traces.travel, 0.9 * full, 0.85 * full);
             return r.record.end_time > 0.0 ? count / r.record.end_time : 0.0;
           });
  rows.add({"packing", "m", "mean travel over the last pitch of a bump train less the first", "mm",
            1, "packing over bumps"},
           travel, kWithOneRide | kInComparisons, Sense::less, kSameTravel, kNeedsTravel,
           [](Ridden& r) { return r.packing(); });
  rows.add({"ride_height_loss", "m",
            "mean travel over rough ground and bump trains, but for braking, less the travel that "
            "the ride begins with",
            "mm", 1, "ride height lost over rough ground"},
           travel, kWithOneRide | kInComparisons, Sense::less, kSameTravel, kNeedsTravel,
           [](Ridden& r) { return r.ride_height_loss(); });
  rows.add({"return_time", "s",
            "from the deepest travel until the fork is first back at the travel that the ride "
            "begins with, within 5 % of full travel",
            "s", 2, "return from the deepest travel in"},
           travel, kWithOneRide | kInComparisons, Sense::neither, kSameTime,
           kNeedsTravel | kNeedsTravelLines | kNeedsStrokes,
           [](Ridden& r) -> std::optional<double> {
             if (!r.stroke_return()) return std::nullopt;
             return r.stroke_return()->time;
           });
  rows.add({"return_overshoot", "m", "how far past that travel the fork then extends", "mm", 1,
            "overshoot of that return"},
           travel, kWithOneRide | kInComparisons, Sense::less, kSameTravel,
           kNeedsTravel | kNeedsTravelLines | kNeedsStrokes,
           [](Ridden& r) -> std::optional<double> {
             if (!r.stroke_return()) return std::nullopt;
             return r.stroke_return()->overshoot;
           });
}

void add_forces(Rows& rows) {
  const Group forces = Group::forces;
  rows.add({"ground_force_max", "N",
            "largest force of the ground on the tyre, along the normal of the wheel's path", "N", 0,
            "ground force peak"},
           forces, kWithOneRide | kSideBySide | kInComparisons | kInUsualSweeps, Sense::less,
           kSameForce, 0, [](Ridden& r) { return r.record.peaks.ground_force; });
  rows.add({"axle_force_max", "N",
            "largest force at the axle along the legs, of the wheel on the lower legs", "N", 0,
            "axle force peak"},
           forces, kWithOneRide | kSideBySide | kInComparisons, Sense::less, kSameForce, 0,
           [](Ridden& r) { return r.record.peaks.axle_force; });
  rows.add({"fork_force_max", "N", "largest force of the fork along its legs", "N", 0,
            "fork force peak"},
           forces, kWithOneRide | kSideBySide | kInComparisons | kInUsualSweeps, Sense::less,
           kSameForce, 0, [](Ridden& r) { return r.record.peaks.fork_force; });
  rows.add({"damper_force_max", "N", "largest size of the damper force, either way", "N", 0,
            "damper force peak"},
           forces, kWithOneRide, Sense::neither, kSameForce, 0,
           [](Ridden& r) { return r.record.peaks.damper_force; });
  rows.add({"hand_force_max", "N", "largest size of the force at the hands, both together", "N", 0,
            "hand force peak"},
           forces, kWithOneRide | kSideBySide | kInComparisons | kInUsualSweeps, Sense::less,
           kSameForce, 0, [](Ridden& r) { return r.record.peaks.hand_force; });
  rows.add({"hand_force_rms", "N", "rms of the force at the hands about its mean", "N", 0,
            "hand force rms"},
           forces, kWithOneRide | kInComparisons, Sense::less, kSameForce, kNeedsHandForce,
           [](Ridden& r) { return rms_about_mean(r.traces.hand_force); });
  rows.add({"sprung_acceleration_max", "m s-2",
            "largest size of the vertical acceleration of the sprung mass", "m/s2", 1,
            "frame acceleration peak"},
           forces, kWithOneRide | kInComparisons | kInUsualSweeps, Sense::less, kSameAcceleration,
           0, [](Ridden& r) { return r.record.peaks.sprung_acceleration; });
  rows.add({"hand_acceleration", "m s-2",
            "W_h-weighted rms vertical acceleration at the bar (ISO 5349-1), one axis", "m/s2", 2,
            "weighted at the bar, ISO 5349-1"},
           forces, kWithOneRide | kInComparisons, Sense::less, kSameVibration, kNeedsSprungSpeed,
           [](Ridden& r) -> std::optional<double> {
             if (r.traces.sprung_speed.size() < 2) return std::nullopt;
             return rms(weighted_rates(r.traces.sprung_speed, r.traces.rate, Weighting::hand_arm));
           });
  rows.add({"vibration_dose", "m s-1.75",
            "W_k-weighted vibration dose value of the vertical acceleration (ISO 2631-1)", "1", 1,
            "vibration dose, ISO 2631-1"},
           forces, kWithOneRide, Sense::less, kSameVibration, kNeedsSprungSpeed,
           [](Ridden& r) -> std::optional<double> {
             if (r.traces.sprung_speed.size() < 2) return std::nullopt;
             return vibration_dose(
                 weighted_rates(r.traces.sprung_speed, r.traces.rate, Weighting::vertical_body),
                 r.traces.rate);
           });
}

void add_grip(Rows& rows) {
  const Group grip = Group::grip;
  rows.add({"tyre_load_variation", "1", "rms of the tyre force about its mean, over its mean", "%",
            1, "tyre load variation"},
           grip, kWithOneRide | kInComparisons, Sense::less, kSameVariation, kNeedsGroundForce,
           [](Ridden& r) -> std::optional<double> {
             if (!(mean(r.traces.ground_force) > 0.0)) return std::nullopt;
             return variation(r.traces.ground_force);
           });
  rows.add({"time_off_ground", "1", "share of time with the tyre off the ground", "%", 1,
            "time off the ground"},
           grip, kWithOneRide | kInComparisons | kInUsualSweeps, Sense::less, kSameShareOfTime, 0,
           [](Ridden& r) {
             return r.record.end_time > 0.0 ? r.record.airborne_time / r.record.end_time : 0.0;
           });
  rows.add({"light_tyre", "1",
            "share of the time on the ground with the tyre force below 30 % of that at rest", "%",
            1, "tyre below 30 % of its load"},
           grip, kWithOneRide | kInComparisons, Sense::less, kSameShareOfTime, kNeedsGroundForce,
           [](Ridden& r) -> std::optional<double> {
             const double ground = r.record.end_time - r.record.airborne_time;
             if (!(ground > 0.0)) return std::nullopt;
             const double weight = r.rider.bike.front_mass * kGravity;
             const double light =
                 light_samples(r.traces.ground_force, kLightTyre * weight) / r.traces.rate;
             return std::min(1.0, light / ground);
           });
  rows.add({"lift_offs", "1", "times that the tyre left the ground", "1", 0, "lift-offs"}, grip,
           kWithOneRide, Sense::less, kExact, kNeedsLiftOffs,
           [](Ridden& r) { return r.record.lift_offs; });
  rows.add(
      {"rim_strikes", "1", "times that the rim was struck through the tyre", "1", 0, "rim strikes"},
      grip, kWithOneRide, Sense::less, kExact, kNeedsRimStrikes,
      [](Ridden& r) { return r.record.rim_strikes; });
}

void add_events(Rows& rows) {
  for (const auto& [kind, prefix, what] :
       {std::tuple{EventKind::brake, std::string("brake"), std::string("braking")},
        std::tuple{EventKind::corner, std::string("corner"), std::string("cornering")}}) {
    const auto add = [&rows, kind = kind](const Label& label, unsigned shown,
                                          const Agreement& agreement, double Dive::*number) {
      rows.add(label, Group::events, shown, Sense::less, agreement, kNeedsTravel,
               [kind, number](Ridden& r) -> std::optional<double> {
                 const std::optional<Dive>& dive = r.dive(kind);
                 if (!dive) return std::nullopt;
                 const double value = (*dive).*number;
                 return std::isnan(value) ? std::nullopt : std::optional(value);
               });
    };
    const bool brake = kind == EventKind::brake;
    add({prefix + "_dive_max", "m", "largest dive in " + what + ", bumps included", "mm", 1,
         prefix + " dive peak"},
        kWithOneRide | kInComparisons | (brake ? kSideBySide : 0U), kSameTravel, &Dive::largest);
    add({prefix + "_dive_steady", "m", "steady dive in " + what, "mm", 1,
         "steady " + prefix + " dive"},
        kWithOneRide | (brake ? kInComparisons : 0U), kSameTravel, &Dive::steady);
    add({prefix + "_dive_settle", "s", "time for the dive in " + what + " to settle", "s", 2,
         prefix + " dive settles in"},
        kWithOneRide, kSameTime, &Dive::settle);
    if (!brake) continue;
    add({"brake_recovery", "s", "time after braking until the travel settles where it then rides",
         "s", 2, "settles after braking in"},
        kWithOneRide | kInComparisons, kSameTime, &Dive::after);
  }
}

void add_braking(Rows& rows) {
  const auto add = [&rows](const Label& label, double Record::*time) {
    rows.add(label, Group::events, kInComparisons, Sense::less, kSameShareOfTime, 0,
             [time](Ridden& r) -> std::optional<double> {
               const double all = braking_time(r.line, r.record.end_time);
               if (!(all > 0.0)) return std::nullopt;
               return r.record.*time / all;
             });
  };
  add({"brake_grip_limited", "1",
       "share of the time in which events brake with the front brake limited by grip", "%", 1,
       "front brake limited by grip"},
      &Record::brake_grip_time);
  add({"brake_in_air", "1",
       "share of the time in which events brake with the front wheel off the ground", "%", 1,
       "braking with the front wheel in the air"},
      &Record::brake_air_time);
}

void add_speed(Rows& rows) {
  rows.add({"damper_power", "W", "mean power that the damper and the hydraulic stop take out", "W",
            1, "mean damper power"},
           Group::speed, kWithOneRide, Sense::neither, kSamePower, 0, [](Ridden& r) {
             return r.record.end_time > 0.0 ? r.record.damper_work / r.record.end_time : 0.0;
           });
  for (const auto& [sign, way] :
       {std::pair{1.0, std::string("compression")}, std::pair{-1.0, std::string("rebound")}}) {
    for (const int percent : {50, 95, 99}) {
      const std::string number = std::to_string(percent);
      const unsigned shown =
          kWithOneRide | (sign < 0.0 && percent == 95 ? unsigned{kInComparisons} : 0U);
      rows.add({way + "_speed_p" + number, "m s-1",
                number + "th percentile of the fork's speed in " + way +
                    " while it moves, faster than 1 mm/s",
                "m/s", 2, way + " speed, " + (percent == 50 ? "median" : number + " %")},
               Group::speed, shown, Sense::neither, percent == 50 ? kSameMedianSpeed : kSameSpeed,
               kNeedsTravelSpeed,
               [sign = sign, percent](Ridden& r) { return r.speed_percentile(sign, percent); });
    }
  }
}

std::vector<MetricRow> rest_rows() {
  Rows rows;
  add_rest(rows);
  return rows.take();
}

std::vector<Metric> values_of(const std::vector<MetricRow>& rows, Ridden& ridden) {
  std::vector<Metric> metrics;
  for (const MetricRow& row : rows) {
    if (const std::optional<double> value = row.value(ridden)) {
      metrics.push_back({row.name, row.unit, row.long_name, *value});
    }
  }
  return metrics;
}

}  // namespace

std::string_view heading(Group group) {
  switch (group) {
    case Group::rest:
      return "at rest";
    case Group::travel:
      return "travel";
    case Group::forces:
      return "forces";
    case Group::grip:
      return "grip";
    case Group::events:
      return "braking and cornering";
    case Group::speed:
      return "fork speed and damper";
  }
  return "";
}

const std::vector<MetricRow>& metric_rows() {
  static const std::vector<MetricRow> list = [] {
    Rows rows;
    for (const auto add : {add_rest, add_travel, add_metal, add_strokes, add_forces, add_grip,
                           add_events, add_braking, add_speed}) {
      add(rows);
    }
    return rows.take();
  }();
  return list;
}

const MetricRow* find_metric(std::string_view name) {
  const auto found = std::ranges::find(metric_rows(), name, &MetricRow::name);
  return found == metric_rows().end() ? nullptr : &*found;
}

std::vector<Metric> metrics_of(Ridden& ridden) { return values_of(metric_rows(), ridden); }

std::vector<Metric> static_metrics(const Rider& rider, const Setup& setup) {
  static const std::vector<MetricRow> list = rest_rows();
  static const RideLine no_line{{.speed = 1.0, .duration = 1.0}, {}, 1.0};
  const Record no_record;
  Ridden ridden(rider, no_line, setup, {}, no_record);
  return values_of(list, ridden);
}

}  // namespace plunge
