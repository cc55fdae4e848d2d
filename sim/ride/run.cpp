#include "sim/ride/run.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "models/setup/fault.hpp"
#include "models/setup/judge.hpp"
#include "models/setup/masses.hpp"
#include "models/setup/statics.hpp"
#include "sim/input/balance.hpp"
#include "sim/measure/braking.hpp"
#include "sim/measure/channels.hpp"
#include "sim/measure/metrics.hpp"

namespace plunge {
namespace {

struct EnergyField {
  StateIndex index;
  const char* name;
  const char* long_name;
};

constexpr EnergyField kEnergyFields[] = {
    {kGravityIn, "gravity_in", "work of gravity"},
    {kGroundIn, "ground_in", "work of the ground on the wheel, from the forward motion"},
    {kBrakeIn, "brake_in", "work of the braking force on the fork"},
    {kCarryIn, "carry_in", "work of the frame's forward acceleration on the fork"},
    {kTransferIn, "transfer_in", "work of the load transfer on the sprung mass"},
    {kPitchIn, "pitch_in", "work of the pitching bike on the wheel"},
    {kSpinIn, "spin_in", "work of the front wheel's spin on the fork"},
    {kDamperOut, "damper_out", "taken out by the damper and the hydraulic stop"},
    {kFrictionOut, "friction_out", "taken out by seal and bushing friction"},
    {kStopsOut, "stops_out", "taken out by bumper, metal contact and top-out"},
    {kTyreOut, "tyre_out", "taken out by the tyre"},
    {kBodyOut, "body_out", "taken out by the rider's legs and arms"},
    {kHeatOut, "heat_out", "heat from the gas through the walls"},
};

constexpr double kLeastTurnover = 1e-3;  // [J]

struct Balance {
  double in = 0.0;
  double out = 0.0;
  double turnover = 0.0;
};

Balance balance_of(const State<double>& state) {
  Balance balance;
  for (const EnergyField& field : kEnergyFields) {
    const double value = state[field.index];
    (field.index < kDamperOut ? balance.in : balance.out) += value;
    balance.turnover += std::abs(value);
  }
  return balance;
}

double stored(const Rider& rider, const Instant& at) {
  const double deflection = at.forces.tyre > 0.0 ? at.forces.deflection : 0.0;
  return rider.stores(at.state, at.course, deflection).total();
}

const char* switch_name(Switch which, bool on) {
  switch (which) {
    case kTyreTouches:
      return on ? "touch_down" : "lift_off";
    case kRimTouches:
      return on ? "rim_strike" : nullptr;
    case kBumperTouches:
      return on ? "bumper_contact" : nullptr;
    case kMetalTouches:
      return on ? "metal_contact" : nullptr;
    case kTopOutTouches:
      return on ? "top_out" : nullptr;
    case kBrakeSlips:
      return on ? "brake_limited_by_grip" : "brake_grips";
    default:
      return nullptr;
  }
}

// The traces that metrics are drawn from.
constexpr const char* kMeasured[] = {"travel", "travel_speed", "sprung_speed", "hand_force",
                                     "ground_force"};

std::size_t samples_of(double duration, double rate) {
  return static_cast<std::size_t>(std::floor(duration * rate)) + 1;
}

// Collects what a ride shows as it goes, whole, or block by block where there is a sink.
class Recorder {
 public:
  Recorder(const Prepared& prepared, Result& result, const TraceSink& sink)
      : prepared_(prepared), result_(result), sink_(sink), channels_(empty_channels()) {
    const std::size_t all = samples_of(prepared.line.duration(), result.setup.ride.sample_rate);
    if (!sink_) result_.time.reserve(all);
    for (Channel& channel : channels_) {
      channel.values.reserve(sink_ ? std::min(all, kTraceBlock) : all);
    }
    if (!sink_) return;
    for (const char* name : kMeasured) {
      const auto row = std::ranges::find(channels_, name, &Channel::name);
      measured_.push_back({name, "", "", {}});
      measured_.back().values.reserve(all);
      places_.push_back(static_cast<std::size_t>(row - channels_.begin()));
    }
  }

  Watch watch() {
    Watch watch;
    watch.sample_rate = result_.setup.ride.sample_rate;
    watch.on_sample = [this](const Instant& i) { sample(i); };
    watch.on_switch = [this](const Switched& s) { switched(s); };
    watch.on_step = [this](const Instant& i) { return step(i); };
    return watch;
  }

  const Instant& first() const { return first_; }
  const Instant& last() const { return last_; }
  // Whether the sink, and not the ride, has failed.
  bool sink_failed() const { return sink_failed_; }
  std::size_t samples() const { return samples_; }

  // The traces that metrics are drawn from, once the ride is over and all of it handed on.
  Traces traces(double rate) const {
    const auto at = [&](std::size_t i) -> std::span<const double> {
      const auto& among = sink_ ? measured_ : result_.channels;
      return std::ranges::find(among, kMeasured[i], &Channel::name)->values;
    };
    return {rate, at(0), at(1), at(2), at(3), at(4)};
  }

  void hand_over() {
    if (sink_) {
      pass_block();
    } else {
      result_.channels = std::move(channels_);
    }
  }

  Record finish() {
    if (airborne_since_ >= 0.0) record_.airborne_time += last_.time - airborne_since_;
    record_.start_travel = first_.state[kTravel];
    record_.end_time = last_.time;
    record_.damper_work = last_.state[kDamperOut];
    const BrakeLosses losses = brake_losses(prepared_.line, result_.located, last_.time);
    record_.brake_grip_time = losses.grip.time;
    record_.brake_air_time = losses.air.time;
    return record_;
  }

 private:
  void sample(const Instant& i) {
    search_peaks(i);
    const std::vector<ChannelRow>& rows = channel_rows();
    for (std::size_t c = 0; c < rows.size(); ++c) {
      channels_[c].values.push_back(rows[c].value(i, prepared_.rider));
    }
    ++samples_;
    if (!sink_) {
      result_.time.push_back(i.time);
      return;
    }
    for (std::size_t k = 0; k < places_.size(); ++k) {
      measured_[k].values.push_back(channels_[places_[k]].values.back());
    }
    if (channels_.front().values.size() == kTraceBlock) pass_block();
  }

  void pass_block() {
    if (channels_.front().values.empty()) return;
    try {
      sink_(channels_);
    } catch (...) {
      sink_failed_ = true;
      throw;
    }
    for (Channel& channel : channels_) channel.values.clear();
  }

  void switched(const Switched& s) {
    const bool lifts_off = s.which == kTyreTouches && !s.on;
    if (lifts_off) {
      lift_off(s.time);
    } else if (const char* name = switch_name(s.which, s.on)) {
      locate(s.time, name);
    }
    if (s.which == kTyreTouches && s.on) {
      record_.airborne_time += s.time - airborne_since_;
      airborne_since_ = -1.0;
    }
    if (!s.on) return;
    if (s.which == kBumperTouches) ++record_.bumper_contacts;
    if (s.which == kRimTouches) ++record_.rim_strikes;
    if (s.which == kTopOutTouches) ++record_.top_outs;
    if (s.which == kMetalTouches) {
      record_.metal.push_back({s.time, s.state[kTravelSpeed], s.state[kTravel],
                               s.state[kTravelSpeed], s.forces.travel_acceleration, s.forces.fork});
    }
  }

  void locate(double time, const char* what) {
    result_.located.push_back({time, what, prepared_.line.at(time).distance});
  }

  void lift_off(double time) {
    locate(time, switch_name(kTyreTouches, false));
    ++record_.lift_offs;
    airborne_since_ = time;
  }

  bool step(const Instant& i) {
    if (!started_) {
      started_ = true;
      first_ = i;
      // On ground that falls away at once the ride begins with the wheel in the air.
      const Modes<double> mode = modes_of(prepared_.rider, i.state, i.course, i.point);
      if (!mode[kTyreTouches]) lift_off(i.time);
      // On a steep slope or a slippery one it may begin with the brake at the end of its grip.
      if (mode[kBrakeSlips]) locate(i.time, switch_name(kBrakeSlips, true));
    }
    if (i.time >= last_.time) last_ = i;
    return search_peaks(i);
  }

  // Whether a force is near its largest so far.
  bool search_peaks(const Instant& i) {
    Peaks& peaks = record_.peaks;
    bool near = false;
    const auto take = [&](double& peak, double value) {
      near = near || value > 0.9 * peak;
      peak = std::max(peak, value);
    };
    take(peaks.travel, i.state[kTravel]);
    take(peaks.fork_force, i.forces.fork);
    take(peaks.ground_force, i.forces.tyre);
    take(peaks.hand_force, std::abs(i.forces.hands));
    take(peaks.sprung_acceleration, std::abs(i.forces.sprung_acceleration));
    take(peaks.damper_force, std::abs(i.forces.damper));
    // A mean of two that are looked for.
    peaks.axle_force = std::max(peaks.axle_force, i.forces.axle);
    return near;
  }

  const Prepared& prepared_;
  Result& result_;
  const TraceSink& sink_;
  std::vector<Channel> channels_;
  std::vector<Channel> measured_;    // of a ride with a sink
  std::vector<std::size_t> places_;  // of these among the channels
  std::size_t samples_ = 0;
  bool sink_failed_ = false;
  Record record_;
  Instant first_;
  Instant last_;
  bool started_ = false;
  double airborne_since_ = -1.0;
};

void add_energy(Result& result, const Rider& rider, const Instant& first, const Instant& last) {
  for (const EnergyField& field : kEnergyFields) {
    result.energy.push_back({field.name, "J", field.long_name, last.state[field.index]});
  }
  result.energy.push_back({"stored_start", "J", "stored at the start: motion, gas, springs, tyre",
                           stored(rider, first)});
  result.energy.push_back({"stored_end", "J", "stored at the end", stored(rider, last)});
  result.energy.push_back({"closing_error", "1",
                           "what does not add up, over all energy turned over",
                           closing_error(rider, first, last)});
}

void add_solver(Result& result, const SolverCount& count) {
  const auto add = [&](const char* name, const char* long_name, std::uint64_t value) {
    result.solver.push_back({name, "1", long_name, static_cast<double>(value)});
  };
  add("steps", "accepted steps", count.steps);
  add("rejected", "steps tried again shorter", count.rejected);
  add("evaluations", "times that all forces were worked out", count.evaluations);
  add("switches", "contacts and changes of mode located", count.switches);
  add("kinks", "kinks of the wheel's path located", count.kinks);
}

}  // namespace

double closing_error(const Rider& rider, const Instant& first, const Instant& last) {
  const Balance balance = balance_of(last.state);
  const double change = stored(rider, last) - stored(rider, first);
  return (balance.in - balance.out - change) / std::max(balance.turnover, kLeastTurnover);
}

Prepared prepare(const Setup& setup) {
  Ground ground = build_ground(setup.terrain, setup.bike);
  RideLine line(setup.ride, setup.events, ground.length);
  Prepared prepared{assemble_ridden(setup), std::move(ground), std::move(line), {}};
  refuse_tipping(setup, prepared.rider, prepared.ground.grade, prepared.line);
  prepared.start = start_of(prepared.rider, prepared.ground, prepared.line);
  return prepared;
}

void refuse_tipping(const Setup& setup, const Rider& rider, const GradeLine& grade,
                    const RideLine& line) {
  Faults faults = judge_balance(setup, rider, grade, line);
  if (!faults.empty()) throw InputError(std::move(faults));
}

State<double> start_of(const Rider& rider, const Ground& ground, const RideLine& line) {
  return state_at_rest_on(
      rider, [&](double s) { return ground.path.at(s); },
      motion_at(ground.grade, line.phases().front(), 0.0));
}

Result run_ride(const Setup& setup) { return run_ride(setup, prepare(setup)); }

Result run_ride(const Setup& setup, const Prepared& prepared, const TraceSink& sink,
                const std::function<bool()>& stop) {
  Result result;
  result.setup = setup;
  Recorder recorder(prepared, result, sink);
  SolverCount count;
  Watch watch = recorder.watch();
  if (stop) {
    constexpr int kStepsUnasked = 256;
    watch.on_step = [&stop, record = watch.on_step, steps = 0](const Instant& i) mutable {
      if (++steps % kStepsUnasked == 0 && stop()) throw RideStopped();
      return record(i);
    };
  }
  try {
    ride(prepared.rider, prepared.ground, prepared.line, prepared.start, setup.ride.tolerance,
         watch, count);
  } catch (const RunError& error) {
    if (recorder.sink_failed()) throw;
    result.failure = error.what();
  }
  recorder.hand_over();
  const Record record = recorder.finish();
  if (recorder.samples() == 0) {
    result.metrics = static_metrics(prepared.rider, setup);
  } else {
    const Traces traces = recorder.traces(setup.ride.sample_rate);
    Ridden ridden(prepared.rider, prepared.line, setup, traces, record);
    result.metrics = metrics_of(ridden);
    add_energy(result, prepared.rider, recorder.first(), recorder.last());
  }
  add_solver(result, count);
  return result;
}

std::vector<Channel> empty_channels() {
  std::vector<Channel> channels;
  for (const ChannelRow& row : channel_rows()) {
    channels.push_back({row.name, row.unit, row.long_name, {}});
  }
  return channels;
}

std::size_t most_samples(const Setup& setup) {
  const RideLine line(setup.ride, setup.events, terrain_length(setup.terrain));
  return samples_of(line.duration(), setup.ride.sample_rate) + 1;
}

}  // namespace plunge
