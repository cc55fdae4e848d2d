#include "sim/metrics.hpp"

#include <algorithm>
#include <cmath>
#include <span>
#include <stdexcept>
#include <string>

#include "models/judge.hpp"
#include "models/statics.hpp"
#include "sim/statistics.hpp"
#include "sim/weighting.hpp"

namespace plunge {
namespace {

class List {
 public:
  void add(std::string name, std::string unit, std::string long_name, double value) {
    metrics_.push_back({std::move(name), std::move(unit), std::move(long_name), value});
  }
  std::vector<Metric> take() { return std::move(metrics_); }

 private:
  std::vector<Metric> metrics_;
};

struct Dive {
  double largest = 0.0;
  double steady = 0.0;
  double settle = kUnset;
};

// The part of a channel between two times; empty where the ride did not get there.
std::span<const double> between(const std::vector<double>& x, double rate, double begin,
                                double end) {
  const auto at = [&](double time) {
    return std::min(x.size(), static_cast<std::size_t>(std::ceil(std::max(time, 0.0) * rate)));
  };
  const std::size_t first = at(begin);
  return std::span(x).subspan(first, std::max(at(end), first) - first);
}

// The largest dive among the events of one kind.
bool find_dive(const Prepared& prepared, const Result& result, EventKind kind, Dive& found) {
  const std::vector<double>& travel = channel(result, "travel");
  const double rate = result.setup.ride.sample_rate;
  bool any_event = false;
  for (std::size_t i = 0; i < result.setup.events.size(); ++i) {
    const RideEvent& event = result.setup.events[i];
    if (event.kind != kind) continue;
    const double start = prepared.line.event_starts()[i];
    const double end = prepared.line.event_ends()[i];
    const double full = std::min(start + event.rise, 0.5 * (start + end));
    const double eases = std::max(end - event.rise, 0.5 * (start + end));
    const auto before = between(travel, rate, start - 0.5, start);
    const auto during = between(travel, rate, start, end);
    const auto steady = between(travel, rate, 0.5 * (full + eases), eases);
    const auto effort = between(travel, rate, full, eases);
    if (during.empty()) continue;
    const double level = before.empty() ? travel.front() : mean(before);
    Dive dive;
    dive.largest = *std::max_element(during.begin(), during.end()) - level;
    dive.steady = steady.empty() ? during.back() - level : mean(steady) - level;
    if (!effort.empty()) {
      const double band = std::max(0.1 * std::abs(dive.steady), 1e-3);
      dive.settle = settle_time(effort, rate, level + dive.steady, band).value_or(kUnset);
    }
    if (!any_event || dive.largest > found.largest) found = dive;
    any_event = true;
  }
  return any_event;
}

void add_dive(List& list, const std::string& prefix, const std::string& what, const Dive& dive) {
  list.add(prefix + "_dive_max", "m", "largest dive in " + what + ", bumps included", dive.largest);
  list.add(prefix + "_dive_steady", "m", "steady dive in " + what, dive.steady);
  list.add(prefix + "_dive_settle", "s", "time for the dive in " + what + " to settle",
           dive.settle);
}

bool find_packing(const Prepared& prepared, const Result& result, double& drift_found) {
  const std::vector<double>& travel = channel(result, "travel");
  const double rate = result.setup.ride.sample_rate;
  double start = 0.0;
  bool any_train = false;
  for (const Feature& feature : result.setup.terrain) {
    const double begin = start;
    start += feature_length(feature);
    if (feature.kind != FeatureKind::bumps || feature.count < 3.0) continue;
    const auto time = [&](double pitches) {
      return prepared.line.time_at(begin + pitches * feature.spacing);
    };
    const Interval first{time(0.0), time(1.0)};
    const Interval last{time(feature.count - 1.0), time(feature.count)};
    if (last.end > result.time.back()) continue;
    const double value = drift(travel, rate, first, last);
    if (!any_train || std::abs(value) > std::abs(drift_found)) drift_found = value;
    any_train = true;
  }
  return any_train;
}

// Speeds of one direction alone, positive.
std::vector<double> speeds(const std::vector<double>& travel_speed, double sign) {
  std::vector<double> found;
  for (const double v : travel_speed) {
    if (sign * v > 0.0) found.push_back(sign * v);
  }
  return found;
}

}  // namespace

const std::vector<double>& channel(const Result& result, const std::string& name) {
  for (const Channel& candidate : result.channels) {
    if (candidate.name == name) return candidate.values;
  }
  throw std::out_of_range("no channel " + name);
}

std::vector<Metric> static_metrics(const Rider& rider, const Setup& setup) {
  List list;
  const double rest = sag(rider);
  list.add("sag", "m", "travel at rest on level ground", rest);
  list.add("sag_share", "1", "sag over full travel", rest / rider.travel);
  list.add("breakaway_force", "N",
           "force along the legs that the first movement asks for: slow spring force at the port "
           "plus static friction",
           breakaway_force(rider));
  list.add("stiffness_slow", "N m-1", "slow (isothermal) spring stiffness at sag",
           slow_stiffness(rider, rest));
  list.add("stiffness_fast", "N m-1", "fast (isentropic) spring stiffness at sag",
           fast_stiffness(rider, rest));
  list.add("progression", "1", "slow stiffness at 90 % of travel over that at 50 %",
           progression(rider));
  if (setup.fork.spring == Spring::air) {
    list.add("pressure", "Pa", "gauge pressure at full extension, at the pump",
             setup.fork.pressure);
    list.add(
        "pressure_reattached", "Pa", "gauge reading after the pump's hose is screwed on again",
        reading_with_hose(setup.fork.pressure, rider.air.main.volume, setup.fork.air.hose_volume));
  }
  return list.take();
}

std::vector<Metric> ride_metrics(const Prepared& prepared, const Result& result,
                                 const Record& record) {
  const Rider& rider = prepared.rider;
  const double full = rider.travel;
  const double rate = result.setup.ride.sample_rate;
  const std::vector<double>& travel = channel(result, "travel");
  const std::vector<double>& acceleration = channel(result, "sprung_acceleration");
  List list;

  list.add("travel_max", "m", "largest travel", record.peaks.travel);
  list.add("travel_use", "1", "largest travel over full travel", record.peaks.travel / full);
  list.add("travel_mean", "m", "mean travel: ride height, less is higher", mean(travel));
  list.add("time_past_90", "1", "share of time past 90 % of travel",
           share_above(travel, 0.9 * full));
  const Histogram tenths = histogram(travel, 0.0, full, 10);
  for (std::size_t i = 0; i < tenths.share.size(); ++i) {
    const double outside = i == 0 ? tenths.below : i == 9 ? tenths.above : 0.0;
    const std::string from = std::to_string(10 * i);
    const std::string to = std::to_string(10 * (i + 1));
    list.add("travel_share_" + from + "_" + to, "1",
             "share of time between " + from + " and " + to + " % of travel",
             tenths.share[i] + outside);
  }
  list.add("bumper_contacts", "1", "times that the fork reached its bumper",
           record.bumper_contacts);
  list.add("metal_contacts", "1", "times that metal met metal past full travel",
           static_cast<double>(record.metal.size()));
  double closing = 0.0;
  for (const Closing& contact : record.metal) closing = std::max(closing, contact.speed);
  const double along = rider.unsprung_mass *
                       (rider.sprung_mass + rider.unsprung_mass * square(rider.cosine)) /
                       (rider.sprung_mass + rider.unsprung_mass);
  list.add("metal_speed_max", "m s-1", "largest closing speed as metal met metal", closing);
  list.add("metal_energy_max", "J", "kinetic energy of the closing fork at that speed",
           0.5 * along * square(closing));
  list.add("top_outs", "1", "times that the fork reached its top-out spring", record.top_outs);

  list.add("axle_force_max", "N", "largest vertical force of the ground on the wheel",
           record.peaks.axle_force);
  list.add("fork_force_max", "N", "largest force of the fork along its legs",
           record.peaks.fork_force);
  list.add("damper_force_max", "N", "largest size of the damper force, either way",
           record.peaks.damper_force);
  list.add("hand_force_max", "N", "largest size of the force at the hands, both together",
           record.peaks.hand_force);
  list.add("hand_force_rms", "N", "rms of the force at the hands about its mean",
           rms_about_mean(channel(result, "hand_force")));
  list.add("sprung_acceleration_max", "m s-2",
           "largest size of the vertical acceleration of the sprung mass",
           record.peaks.sprung_acceleration);
  const std::vector<double> at_hand = weighted(acceleration, rate, Weighting::hand_arm);
  list.add("hand_acceleration", "m s-2",
           "W_h-weighted rms vertical acceleration at the bar (ISO 5349-1), one axis",
           rms(at_hand));
  const std::vector<double> at_body = weighted(acceleration, rate, Weighting::vertical_body);
  list.add("vibration_dose", "m s-1.75",
           "W_k-weighted vibration dose value of the vertical acceleration (ISO 2631-1)",
           vibration_dose(at_body, rate));

  const std::vector<double>& load = channel(result, "axle_force");
  if (mean(load) > 0.0) {
    list.add("tyre_load_variation", "1", "rms of the tyre force about its mean, over its mean",
             variation(load));
  }
  list.add("time_off_ground", "1", "share of time with the tyre off the ground",
           record.end_time > 0.0 ? record.airborne_time / record.end_time : 0.0);
  list.add("lift_offs", "1", "times that the tyre left the ground", record.lift_offs);
  list.add("rim_strikes", "1", "times that the rim was struck through the tyre",
           record.rim_strikes);

  for (const auto& [kind, prefix, what] : {std::tuple{EventKind::brake, "brake", "braking"},
                                           std::tuple{EventKind::corner, "corner", "cornering"}}) {
    Dive dive;
    if (find_dive(prepared, result, kind, dive)) add_dive(list, prefix, what, dive);
  }
  double packing = 0.0;
  if (find_packing(prepared, result, packing)) {
    list.add("packing", "m", "mean travel over the last pitch of a bump train less the first",
             packing);
  }

  const std::vector<double>& speed = channel(result, "travel_speed");
  list.add("damper_power", "W", "mean power that the damper and the hydraulic stop take out",
           record.end_time > 0.0 ? record.damper_work / record.end_time : 0.0);
  for (const auto& [sign, prefix, what] :
       {std::tuple{1.0, "compression", "compression"}, std::tuple{-1.0, "rebound", "rebound"}}) {
    const std::vector<double> way = speeds(speed, sign);
    for (const int percent : {50, 95, 99}) {
      list.add(std::string(prefix) + "_speed_p" + std::to_string(percent), "m s-1",
               std::to_string(percent) + "th percentile of the fork's speed in " + what,
               way.empty() ? 0.0 : percentile(way, percent));
    }
  }
  return list.take();
}

}  // namespace plunge
