#include "sim/measure/metrics.hpp"

#include <algorithm>
#include <cmath>
#include <span>
#include <stdexcept>
#include <string>

#include "models/setup/judge.hpp"
#include "models/setup/statics.hpp"
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

// Speeds of a moving fork in one direction, positive.
std::vector<double> speeds(std::span<const double> travel_speed, double sign) {
  std::vector<double> found;
  for (const double v : travel_speed) {
    if (sign * v > kLeastSpeed) found.push_back(sign * v);
  }
  return found;
}

double largest_closing(const Record& record) {
  double closing = 0.0;
  for (const Closing& contact : record.metal) closing = std::max(closing, contact.speed);
  return closing;
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

double Ridden::speed_percentile(double sign, double percent) {
  std::optional<std::vector<double>>& way = sign > 0.0 ? compression_ : rebound_;
  if (!way) way = speeds(traces.travel_speed, sign);
  return way->empty() ? 0.0 : percentile(*way, percent);
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

// A list of fields that says what each value is drawn from.
class Fields {
 public:
  template <class Value>
  void add(const std::string& name, const std::string& unit, const std::string& long_name,
           unsigned needs, const Value& value) {
    list_.push_back({name, unit, long_name, needs, value});
  }
  std::vector<MetricField> take() { return std::move(list_); }

 private:
  std::vector<MetricField> list_;
};

void add_travel(Fields& fields) {
  fields.add("travel_max", "m", "largest travel", 0,
             [](Ridden& r) { return r.record.peaks.travel; });
  fields.add("travel_use", "1", "largest travel over full travel", 0,
             [](Ridden& r) { return r.record.peaks.travel / r.rider.travel; });
  fields.add("travel_mean", "m", "mean travel: ride height, less is higher", kNeedsTravel,
             [](Ridden& r) { return mean(r.traces.travel); });
  fields.add("time_past_90", "1", "share of time past 90 % of travel", kNeedsTravel,
             [](Ridden& r) { return share_above(r.traces.travel, 0.9 * r.rider.travel); });
  for (std::size_t i = 0; i < 10; ++i) {
    const std::string from = std::to_string(10 * i);
    const std::string to = std::to_string(10 * (i + 1));
    fields.add("travel_share_" + from + "_" + to, "1",
               "share of time between " + from + " and " + to + " % of travel", kNeedsTravel,
               [i](Ridden& r) {
                 const Histogram& tenths = r.tenths();
                 const double outside = i == 0 ? tenths.below : i == 9 ? tenths.above : 0.0;
                 return tenths.share[i] + outside;
               });
  }
  fields.add("bumper_contacts", "1", "times that the fork reached its bumper", 0,
             [](Ridden& r) { return r.record.bumper_contacts; });
  fields.add("metal_contacts", "1", "times that metal met metal past full travel", 0,
             [](Ridden& r) { return static_cast<double>(r.record.metal.size()); });
  fields.add("metal_speed_max", "m s-1", "largest closing speed as metal met metal", 0,
             [](Ridden& r) { return largest_closing(r.record); });
  fields.add("metal_energy_max", "J", "kinetic energy of the closing fork at that speed", 0,
             [](Ridden& r) {
               const double along =
                   r.rider.unsprung_mass *
                   (r.rider.sprung_mass + r.rider.unsprung_mass * square(r.rider.cosine)) /
                   (r.rider.sprung_mass + r.rider.unsprung_mass);
               return 0.5 * along * square(largest_closing(r.record));
             });
  fields.add("top_outs", "1", "times that the fork reached its top-out spring", 0,
             [](Ridden& r) { return r.record.top_outs; });
}

void add_forces(Fields& fields) {
  fields.add("axle_force_max", "N", "largest vertical force of the ground on the wheel", 0,
             [](Ridden& r) { return r.record.peaks.axle_force; });
  fields.add("fork_force_max", "N", "largest force of the fork along its legs", 0,
             [](Ridden& r) { return r.record.peaks.fork_force; });
  fields.add("damper_force_max", "N", "largest size of the damper force, either way", 0,
             [](Ridden& r) { return r.record.peaks.damper_force; });
  fields.add("hand_force_max", "N", "largest size of the force at the hands, both together", 0,
             [](Ridden& r) { return r.record.peaks.hand_force; });
  fields.add("hand_force_rms", "N", "rms of the force at the hands about its mean", kNeedsHandForce,
             [](Ridden& r) { return rms_about_mean(r.traces.hand_force); });
  fields.add("sprung_acceleration_max", "m s-2",
             "largest size of the vertical acceleration of the sprung mass", 0,
             [](Ridden& r) { return r.record.peaks.sprung_acceleration; });
  fields.add(
      "hand_acceleration", "m s-2",
      "W_h-weighted rms vertical acceleration at the bar (ISO 5349-1), one axis", kNeedsSprungSpeed,
      [](Ridden& r) -> std::optional<double> {
        if (r.traces.sprung_speed.size() < 2) return std::nullopt;
        return rms(weighted_rates(r.traces.sprung_speed, r.traces.rate, Weighting::hand_arm));
      });
  fields.add("vibration_dose", "m s-1.75",
             "W_k-weighted vibration dose value of the vertical acceleration (ISO 2631-1)",
             kNeedsSprungSpeed, [](Ridden& r) -> std::optional<double> {
               if (r.traces.sprung_speed.size() < 2) return std::nullopt;
               return vibration_dose(
                   weighted_rates(r.traces.sprung_speed, r.traces.rate, Weighting::vertical_body),
                   r.traces.rate);
             });
}

void add_grip(Fields& fields) {
  fields.add("tyre_load_variation", "1", "rms of the tyre force about its mean, over its mean",
             kNeedsAxleForce, [](Ridden& r) -> std::optional<double> {
               if (!(mean(r.traces.axle_force) > 0.0)) return std::nullopt;
               return variation(r.traces.axle_force);
             });
  fields.add("time_off_ground", "1", "share of time with the tyre off the ground", 0,
             [](Ridden& r) {
               return r.record.end_time > 0.0 ? r.record.airborne_time / r.record.end_time : 0.0;
             });
  fields.add("lift_offs", "1", "times that the tyre left the ground", 0,
             [](Ridden& r) { return r.record.lift_offs; });
  fields.add("rim_strikes", "1", "times that the rim was struck through the tyre", 0,
             [](Ridden& r) { return r.record.rim_strikes; });
}

void add_dives(Fields& fields) {
  for (const auto& [kind, prefix, what] :
       {std::tuple{EventKind::brake, std::string("brake"), std::string("braking")},
        std::tuple{EventKind::corner, std::string("corner"), std::string("cornering")}}) {
    const auto add = [&fields, kind = kind](const std::string& name, const std::string& unit,
                                            const std::string& long_name, double Dive::*number) {
      fields.add(name, unit, long_name, kNeedsTravel,
                 [kind, number](Ridden& r) -> std::optional<double> {
                   const std::optional<Dive>& dive = r.dive(kind);
                   if (!dive) return std::nullopt;
                   return (*dive).*number;
                 });
    };
    add(prefix + "_dive_max", "m", "largest dive in " + what + ", bumps included", &Dive::largest);
    add(prefix + "_dive_steady", "m", "steady dive in " + what, &Dive::steady);
    add(prefix + "_dive_settle", "s", "time for the dive in " + what + " to settle", &Dive::settle);
  }
  fields.add("packing", "m", "mean travel over the last pitch of a bump train less the first",
             kNeedsTravel, [](Ridden& r) { return r.packing(); });
}

void add_damper(Fields& fields) {
  fields.add("damper_power", "W", "mean power that the damper and the hydraulic stop take out", 0,
             [](Ridden& r) {
               return r.record.end_time > 0.0 ? r.record.damper_work / r.record.end_time : 0.0;
             });
  for (const auto& [sign, way] :
       {std::pair{1.0, std::string("compression")}, std::pair{-1.0, std::string("rebound")}}) {
    for (const int percent : {50, 95, 99}) {
      fields.add(way + "_speed_p" + std::to_string(percent), "m s-1",
                 std::to_string(percent) + "th percentile of the fork's speed in " + way +
                     " while it moves, faster than 1 mm/s",
                 kNeedsTravelSpeed,
                 [sign = sign, percent](Ridden& r) { return r.speed_percentile(sign, percent); });
    }
  }
}

void add_rest(Fields& fields) {
  fields.add("sag", "m", "travel at rest on level ground", 0, [](Ridden& r) { return r.sag(); });
  fields.add("sag_share", "1", "sag over full travel", 0,
             [](Ridden& r) { return r.sag() / r.rider.travel; });
  fields.add("breakaway_force", "N",
             "force along the legs that the first movement asks for: slow spring force at the port "
             "plus static friction",
             0, [](Ridden& r) { return breakaway_force(r.rider); });
  fields.add("stiffness_slow", "N m-1", "slow (isothermal) spring stiffness at sag", 0,
             [](Ridden& r) { return slow_stiffness(r.rider, r.sag()); });
  fields.add("stiffness_fast", "N m-1", "fast (isentropic) spring stiffness at sag", 0,
             [](Ridden& r) { return fast_stiffness(r.rider, r.sag()); });
  fields.add("progression", "1", "slow stiffness at 90 % of travel over that at 50 %", 0,
             [](Ridden& r) { return progression(r.rider); });
  fields.add("pressure", "Pa", "gauge pressure at full extension, at the pump", 0,
             [](Ridden& r) -> std::optional<double> {
               if (r.setup.fork.spring != Spring::air) return std::nullopt;
               return r.setup.fork.pressure;
             });
  fields.add("pressure_reattached", "Pa", "gauge reading after the pump's hose is screwed on again",
             0, [](Ridden& r) -> std::optional<double> {
               if (r.setup.fork.spring != Spring::air) return std::nullopt;
               return reading_with_hose(r.setup.fork.pressure, r.rider.air.main.volume,
                                        r.setup.fork.air.hose_volume);
             });
}

std::vector<MetricField> rest_fields() {
  Fields fields;
  add_rest(fields);
  return fields.take();
}

std::vector<Metric> told(const std::vector<MetricField>& fields, Ridden& ridden) {
  std::vector<Metric> metrics;
  for (const MetricField& field : fields) {
    if (const std::optional<double> value = field.value(ridden)) {
      metrics.push_back({field.name, field.unit, field.long_name, *value});
    }
  }
  return metrics;
}

}  // namespace

const std::vector<MetricField>& metric_fields() {
  static const std::vector<MetricField> list = [] {
    Fields fields;
    add_travel(fields);
    add_forces(fields);
    add_grip(fields);
    add_dives(fields);
    add_damper(fields);
    add_rest(fields);
    return fields.take();
  }();
  return list;
}

std::vector<Metric> metrics_of(Ridden& ridden) { return told(metric_fields(), ridden); }

std::vector<Metric> static_metrics(const Rider& rider, const Setup& setup) {
  static const std::vector<MetricField> list = rest_fields();
  static const RideLine no_line{{.speed = 1.0, .duration = 1.0}, {}, 1.0, 1.0};
  const Record no_record;
  Ridden ridden(rider, no_line, setup, {}, no_record);
  return told(list, ridden);
}

}  // namespace plunge
