// One try at a step of every lane: locate, choose the step, evaluate, estimate, find events, judge,
// accept, find peaks and doubts.
//
// The same lines serve the lanes of a register and a ride on its own; neither a container nor a
// library stands behind them. What a try means for the ride as a whole (its next piece, its next
// phase, its record) is the host's: LaneRunner (lane_runner.hpp).
//
//   Classical Runge-Kutta of fourth order; the fifth evaluation, at the end of the step, is the
//   first of the next and gives the error h (k4 - k5)/10 of an embedded third-order kRule.
//   The bristle of the friction follows the closed form of Friction::slid_evenly().
// Source: embedded weights 1/6, 1/3, 1/3, 1/15, 1/10: order conditions worked out by hand.
#pragma once

#include <array>
#include <cstddef>

#include "models/laws/quarter_rider.hpp"
#include "sim/lanes/lane_curve.hpp"
#include "sim/lanes/lane_events.hpp"
#include "sim/lanes/lane_state.hpp"

namespace plunge {

inline constexpr double kLongestStep = 0.01;   // [s]
inline constexpr double kShortestStep = 1e-9;  // [s]
inline constexpr double kGrowMost = 2.0;
inline constexpr double kShrinkMost = 0.15;
inline constexpr double kSafety = 0.8;
inline constexpr double kMostWaits = 200.0;  // tries for one step
// Slower than these a fork creeps, creeps where the bell is flat, and rests [Stribeck speeds].
inline constexpr double kCreep = 3.5;
inline constexpr double kSlowCreep = 0.3;
inline constexpr double kRests = 0.01;
inline constexpr double kSlowCreepStretch = 1.6;  // of the longest step, where the bell is flat
inline constexpr std::array<double, kLaneStates> kScale = {0.1, 1.0,   0.1,   1.0,   0.1,
                                                           1.0, 300.0, 300.0, 300.0, 1e-3};

// Where each lane is on its line and on its piece of the path.
template <class S>
void locate(const LaneState<S>& lanes, Trial<S>& t, Rates<S>& k) {
  using Real = typename S::Real;
  using Row = typename LaneState<S>::Row;
  alignas(64) Row place;
  alignas(64) Row speed;
  alignas(64) Row acceleration;
  alignas(64) Row jerk;
  alignas(64) Row time_left;
  for (std::size_t l = 0; l < S::kSize; ++l) {
    const double u = lanes.time[l] - lanes.phase_start[l];
    const double a = lanes.phase_acceleration[l];
    const double j = lanes.phase_jerk[l];
    const double s =
        lanes.phase_distance[l] + u * (lanes.phase_speed[l] + u * (a / 2.0 + u * j / 6.0));
    place[l] = static_cast<Real>(s - lanes.piece_start[l]);
    speed[l] = static_cast<Real>(lanes.phase_speed[l] + u * (a + u * j / 2.0));
    acceleration[l] = static_cast<Real>(a + u * j);
    jerk[l] = static_cast<Real>(j);
    time_left[l] = static_cast<Real>(lanes.stop[l] - lanes.time[l]);
  }
  t.place = S::load(place);
  t.speed = S::load(speed);
  t.acceleration = S::load(acceleration);
  t.jerk = S::load(jerk);
  t.time_left = S::load(time_left);
  t.brake_share = S::load(lanes.brake_share);
  t.stale = load_mask<S>(lanes.stale);
  t.alive = load_mask<S>(lanes.alive);
  t.touches = load_mask<S>(lanes.touches);
  t.compresses = load_mask<S>(lanes.compresses);
  t.way = select(t.compresses, S(1.0), S(-1.0));
  each_state([&](auto i) {
    t.y0[i] = S::load(lanes.state[i]);
    k[0][i] = S::load(lanes.rate[i]);
  });
  each_output([&](auto i) { t.begin[i] = S::load(lanes.output[i]); });
}

// The step: what the error allows, up to the end of what the piece stands for, an event or a phase.
template <class S>
void choose_step(const QuarterRider<S>& rider, const LaneState<S>& lanes, const StepLimits& limits,
                 const Rates<S>& k, Trial<S>& t) {
  const S cosine = S::load(lanes.cosine);
  t.ahead = t.place - t.y0[kTravel] * cosine;
  const S wheel_speed = S::load(lanes.wheel_speed);
  t.forward = wheel_speed > S(0.0);
  t.pace = max(abs(wheel_speed), S(1e-3));
  t.gap = max(select(t.forward, S::load(lanes.reach) - t.ahead, t.ahead), S(1e-6));
  const S gain = t.acceleration - k[0][kTravelSpeed] * cosine;
  S to_end = t.gap / t.pace;
  to_end *= min(max(1.0 - 0.5 * select(t.forward, gain, -gain) * to_end / t.pace, S(0.5)), S(2.0));
  // Short steps where the fork creeps, as the friction's bell is steep there, and inside a stop,
  // whose peak would fall between two evaluations.
  const S size = abs(t.y0[kTravelSpeed]);
  const S bell = rider.friction.stribeck_speed;
  const Mask<S> creeps = size < kCreep * bell && size > kRests * bell;
  const S creeping = select(size < kSlowCreep * bell, S(kSlowCreepStretch * limits.creep_step),
                            S(limits.creep_step));
  const Mask<S> in_stop = load_mask<S>(lanes.in_bumper) || load_mask<S>(lanes.in_top_out);
  const S allowed =
      select(load_mask<S>(lanes.in_metal), S(kMetalStep),
             select(in_stop, S(kStopStep), select(creeps, creeping, S(kLongestStep))));
  const S longest = allowed * S(limits.step_factor);
  t.wanted = min(S::load(lanes.step), longest);
  S h = min(min(to_end, t.wanted), S::load(lanes.event_step));
  t.stops = t.time_left <= h * 1.001;
  h = select(t.stops, t.time_left, h);
  t.h = select(t.stale || !t.alive, S(0.0), h);
}

// What is prescribed at a time tau into the step.
template <class S>
struct Moment {
  S tau;    // [s]
  S place;  // of the frame on the wheel's piece [m]
  Course<S> course;
};

template <class S>
Moment<S> moment_at(const QuarterRider<S>& rider, const LaneState<S>& lanes, const Trial<S>& t,
                    const S& tau, const S& gravity) {
  Moment<S> moment;
  moment.tau = tau;
  const S way = tau * (t.speed + tau * (0.5 * t.acceleration + tau * t.jerk * (1.0 / 6.0)));
  moment.place = t.place + way;
  Motion<S> motion;
  motion.speed = t.speed + tau * (t.acceleration + 0.5 * tau * t.jerk);
  motion.acceleration = t.acceleration + tau * t.jerk;
  motion.brake_share = t.brake_share;
  motion.gravity = gravity;
  const S u = moment.place - S::load(lanes.grade_start);
  const S c1 = S::load(lanes.grade[1]);
  const S c2 = S::load(lanes.grade[2]);
  const S c3 = S::load(lanes.grade[3]);
  motion.grade.slope = S::load(lanes.grade[0]) + u * (c1 + u * (c2 + u * c3));
  motion.grade.rate = c1 + u * (2.0 * c2 + u * (3.0 * c3));
  motion.grade.bend = 2.0 * c2 + u * (6.0 * c3);
  moment.course = rider.course(motion);
  return moment;
}

// The path at u from the start of each lane's piece.
template <class S>
PathPoint<S> path_at(const LaneState<S>& lanes, const S& u) {
  const S c1 = S::load(lanes.path[1]);
  const S c2 = S::load(lanes.path[2]);
  const S c3 = S::load(lanes.path[3]);
  const S c4 = S::load(lanes.path[4]);
  const S c5 = S::load(lanes.path[5]);
  PathPoint<S> point;
  point.height = S::load(lanes.path[0]) + u * (c1 + u * (c2 + u * (c3 + u * (c4 + u * c5))));
  point.slope = c1 + u * (2.0 * c2 + u * (3.0 * c3 + u * (4.0 * c4 + u * (5.0 * c5))));
  return point;
}

// The modes: contact and direction as the step holds them, all others as the state has them.
template <class S>
Modes<S> modes_at(const QuarterRider<S>& rider, const Trial<S>& t, const State<S>& y,
                  const Course<S>& line, const GroundContact<S>& contact) {
  Modes<S> mode;
  mode[kTyreTouches] = t.touches;
  mode[kCompresses] = t.compresses;
  Indicators<S> past;
  rider.indicate_by_place(y[kTravel], contact.deflection, past);
  for (const Switch which : kSwitchesByPlace) mode[which] = past[which] > S(0.0);
  const Mask<S> brakes = line.brake_wanted > S(0.0);
  if (any(brakes)) {
    const S load =
        rider.tyre.force(contact.deflection, contact.deflection_rate, t.touches, mode[kRimTouches]);
    mode[kBrakeSlips] = brakes && line.brake_wanted > rider.bike.grip * load;
  }
  return mode;
}

template <class S>
void put_out(const QuarterRider<S>& rider, const Course<S>& line, const Forces<S>& f,
             Outputs<S>& out) {
  out[kOutBrakeExcess] = line.brake_wanted - rider.bike.grip * f.tyre;
  out[kOutForkForce] = f.fork;
  out[kOutTyreForce] = f.tyre;
  out[kOutAxleForce] = f.axle;
  out[kOutHandForce] = f.hands;
  out[kOutSprungAcceleration] = f.sprung_acceleration;
  out[kOutDamperForce] = f.damper;
  out[kOutFreeTyreForce] = f.tyre_free;
  out[kOutDeflection] = f.deflection;
  out[kOutDeflectionRate] = f.deflection_rate;
  out[kOutSlipLevel] = f.slip_level;
  out[kOutCoulombLevel] = f.coulomb;
  out[kOutBristle] = f.bristle;
  out[kOutFriction] = f.friction;
}

// The state at a stage; travelled: the way of the fork up to it.
template <class S>
State<S> state_at(std::size_t stage, const LaneState<S>& lanes, const Rates<S>& k, Trial<S>& t,
                  const S& tau, S& travelled) {
  State<S> y;
  travelled = tau * k[stage - 1][kTravel];
  if (stage < 4) {
    each_state([&](auto i) { y[i] = t.y0[i] + tau * k[stage - 1][i]; });
  } else {
    const S sixth = t.h * (1.0 / 6.0);
    each_state([&](auto i) {
      const S change =
          sixth * (k[0][i] + 2.0 * (k[1][i] + k[2][i]) + k[3][i]) + S::load(lanes.rest[i]);
      y[i] = t.y0[i] + change;
      t.y1[i] = y[i];
      t.rest[i] = change - (t.y1[i] - t.y0[i]);
      if (i == kTravel) travelled = change;
    });
  }
  return y;
}

// The four evaluations of a step, two half-way and two at its end.
template <class S>
void evaluate(const QuarterRider<S>& rider, const LaneState<S>& lanes, Trial<S>& t, Rates<S>& k) {
  StrokeStart<S> stroke;
  stroke.bristle = t.begin[kOutBristle];
  stroke.slip_level = t.begin[kOutSlipLevel];
  stroke.coulomb = t.begin[kOutCoulombLevel];
  stroke.speed = t.y0[kTravelSpeed];
  S friction = t.begin[kOutFriction];
  Moment<S> moment;
  for (std::size_t stage = 1; stage <= 4; ++stage) {
    if (stage % 2 == 1) {
      const S share(stage < 3 ? 0.5 : 1.0);
      moment = moment_at(rider, lanes, t, t.h * share, S::load(lanes.gravity[stage < 3 ? 1 : 2]));
    }
    const Course<S>& line = moment.course;
    S travelled;
    const State<S> y = state_at(stage, lanes, k, t, moment.tau, travelled);
    const S u = moment.place - y[kTravel] * line.cosine;
    const PathPoint<S> point = path_at(lanes, u);
    const GroundContact<S> contact = rider.ground_contact(y, line, point);
    const Modes<S> mode = modes_at(rider, t, y, line, contact);
    const Forces<S> f = rider.forces_with(
        y, line, contact, mode, {friction, 1},
        [&](const S& direction, const S& coulomb, const S& slip_level) {
          return rider.friction.slid_evenly(stroke, direction * travelled, y[kTravelSpeed],
                                            direction, coulomb, slip_level);
        });
    friction = f.friction;
    const State<S> rate = rider.rates(y, line, point, mode, f);
    each_state([&](auto i) { k[stage][i] = rate[i]; });
    put_out(rider, line, f, t.end);
    // Half-way the first evaluation lacks h^2 a/8 of the way and the second has as much too much
    // of it.
    if (stage == 1) t.middle = t.end;
    if (stage == 2) {
      each_output([&](auto i) { t.middle[i] = 0.5 * (t.middle[i] + t.end[i]); });
    }
    if (stage == 4) {
      t.wheel_at_end = u;
      t.cosine_at_end = line.cosine;
      t.wheel_speed_at_end = contact.wheel_speed;
    }
  }
}

template <class S>
void estimate(const StepLimits& limits, const Rates<S>& k, Trial<S>& t) {
  S error(0.0);
  const S unit = t.h * (0.1 / limits.tolerance);
  each_state(
      [&](auto i) { error = max(error, abs(k[4][i] - k[3][i]) * unit * (1.0 / kScale[i])); });
  // NaN survives a sum but not a SIMD max, so the sum is what is tested.
  S sum(0.0);
  each_state([&](auto i) { sum += k[4][i]; });
  t.error = error;
  t.sound = abs(sum) < S(1e30);
  t.good = error <= S(1.0) && t.sound;
}

// The next step: what the error asks for; a step that was cut short does not shorten the next.
template <class S>
void plan_next_step(const Trial<S>& t, LaneState<S>& lanes) {
  const S fourth = 1.0 / sqrt(sqrt(max(t.error, S(1e-8))));
  const S factor = min(max(kSafety * fourth, S(kShrinkMost)), S(kGrowMost));
  const S asked = t.h * select(t.sound, factor, S(kShrinkMost));
  S next = select(t.good, max(asked, t.wanted), min(asked, 0.9 * t.wanted));
  next = select(t.h * 2.0 > t.wanted && t.good, asked, next);
  next = select(t.stale || !t.alive, S::load(lanes.step), min(next, S(kLongestStep)));
  next.store(lanes.step);
  const S landing = select(t.overshot, t.event * t.h + 0.25 * kLanding,
                           select(t.ran_past && t.good, t.h * t.gap / (t.gap + t.over),
                                  select(t.coarse || (t.ran_back && t.good), 0.5 * t.h, S(1.0))));
  select(t.accepted || !t.good, S(1.0), select(t.flips, S(1.0), landing)).store(lanes.event_step);
}

// Lanes whose step is accepted go on from its end; all others stay.
template <class S>
void accept(const Trial<S>& t, const Rates<S>& k, LaneState<S>& lanes) {
  each_state([&](auto i) {
    select(t.accepted, t.y1[i], t.y0[i]).store(lanes.state[i]);
    select(t.counted, t.rest[i], S::load(lanes.rest[i])).store(lanes.rest[i]);
    select(t.accepted, k[4][i], k[0][i]).store(lanes.rate[i]);
  });
  each_output([&](auto i) { select(t.accepted, t.end[i], t.begin[i]).store(lanes.output[i]); });
  select(t.accepted, t.cosine_at_end, S::load(lanes.cosine)).store(lanes.cosine);
  select(t.accepted, t.wheel_speed_at_end, S::load(lanes.wheel_speed)).store(lanes.wheel_speed);
  alignas(64) typename LaneState<S>::Row taken;
  select(t.counted, t.h, S(0.0)).store(taken);
  alignas(64) typename LaneState<S>::Row stopping;
  one_if<S>(t.counted && t.stops).store(stopping);
  for (std::size_t l = 0; l < S::kSize; ++l) {
    lanes.time[l] =
        stopping[l] > 0.5F ? lanes.stop[l] : lanes.time[l] + static_cast<double>(taken[l]);
  }
}

// A peak may lie at the end of the step or between: values at its begin, middle and end.
template <class S>
void raise_peak(const Mask<S>& counted, typename S::Real* row, const S& a, const S& b, const S& c) {
  const S now = S::load(row);
  const S ends = max(a, c);
  const Mask<S> near = counted && max(b, ends) > kNearPeak * now;
  if (!any(near)) return;
  const auto top = Extreme<S>::of(1.0, a, b, c);
  select(near, max(now, max(ends, select(top.inside(0.0), top.value, ends))), now).store(row);
}

template <class S>
void find_peaks(const Trial<S>& t, const Rates<S>& k, LaneState<S>& lanes) {
  {
    const S now = S::load(lanes.peak[kPeakTravel]);
    select(t.counted, max(now, t.y1[kTravel]), now).store(lanes.peak[kPeakTravel]);
  }
  each_peak([&](auto i) {
    constexpr PeakRule kRule = kPeakRules[i];
    const S a = t.begin[kRule.output];
    const S b = t.middle[kRule.output];
    const S c = t.end[kRule.output];
    if constexpr (kRule.of_size) {
      const S sign = select(a + b < S(0.0), S(-1.0), S(1.0));
      raise_peak<S>(t.counted, lanes.peak[kRule.peak], sign * a, sign * b, sign * c);
    } else {
      raise_peak<S>(t.counted, lanes.peak[kRule.peak], a, b, c);
    }
  });
  const S middle_speed =
      t.y0[kTravelSpeed] + 0.25 * t.h * (k[0][kTravelSpeed] + k[1][kTravelSpeed]);
  const S work = t.h * (1.0 / 6.0) *
                 (t.begin[kOutDamperForce] * t.y0[kTravelSpeed] +
                  4.0 * t.middle[kOutDamperForce] * middle_speed +
                  t.end[kOutDamperForce] * t.y1[kTravelSpeed]);
  const S now = S::load(lanes.damper_work);
  select(t.counted, now + work, now).store(lanes.damper_work);
}

// The share of a stretch in which a number is above 0 that runs straight from a to b.
template <class S>
S share_above_zero(const S& a, const S& b) {
  return (positive_part(a) + positive_part(b)) / (abs(a) + abs(b) + 1e-9);
}

// The time in which an event brakes and the front wheel is in the air, or its grip gives less than
// it is asked for: a share of the step, from its begin, middle and end.
template <class S>
void count_braking(const Trial<S>& t, LaneState<S>& lanes) {
  const Mask<S> brakes = load_mask<S>(lanes.brakes) && t.counted;
  if (!any(brakes)) return;
  const S share = 0.5 * (share_above_zero<S>(t.begin[kOutBrakeExcess], t.middle[kOutBrakeExcess]) +
                         share_above_zero<S>(t.middle[kOutBrakeExcess], t.end[kOutBrakeExcess]));
  // A try that is thrown away may have lost its numbers.
  (S::load(lanes.brake_grip) + select(brakes && t.touches, t.h * share, S(0.0)))
      .store(lanes.brake_grip);
  (S::load(lanes.brake_air) + select(brakes && !t.touches, t.h, S(0.0))).store(lanes.brake_air);
}

// What the bookkeeping hears of the try.
template <class S>
void report(const QuarterRider<S>& rider, const Trial<S>& t, LaneState<S>& lanes,
            LaneNews<S>& news) {
  using M = Mask<S>;
  const Contacts<S> contacts = find_contacts(rider, t, lanes);
  const M turns = (t.accepted && t.turned) || (t.good && t.turned_before);
  const M lands = (t.accepted && t.meets) || (t.good && t.met_before);
  const M leaves = (t.accepted && t.lifts) || (t.good && t.lifted_before);
  const M onward = t.wheel_speed_at_end > S(0.0);
  const S past = select(onward, t.wheel_at_end - S::load(lanes.length), -t.wheel_at_end);
  const M goes_on = t.counted && past > -t.near_kink;
  const M at_stop = t.counted && t.stops;
  const S waits = select(t.counted || !t.alive, S(0.0), S::load(lanes.waits) + S(1.0));
  waits.store(lanes.waits);
  (S::load(lanes.steps) + one_if<S>(t.counted)).store(lanes.steps);
  (S::load(lanes.tries) + S(1.0)).store(lanes.tries);
  const M stuck =
      (t.alive && !t.good && t.h < S(kShortestStep) && !t.stale) || waits > S(kMostWaits);
  const M lost = t.alive && t.stale && !t.good;
  const M other = contacts.bumps || contacts.knocks || contacts.tops || contacts.strikes ||
                  at_stop || stuck || lost;
  news.onward = lane_bits(onward);
  t.wheel_at_end.store(news.wheel);
  t.near_kink.store(news.near_kink);
  news.noted = lane_bits((turns || lands || leaves || other || t.stale) && t.alive);
  news.goes_on = lane_bits(goes_on);
  if (news.noted == 0) return;
  news.turns = lane_bits(turns);
  news.lands = lane_bits(lands);
  news.leaves = lane_bits(leaves);
  news.bumps = lane_bits(contacts.bumps);
  news.knocks = lane_bits(contacts.knocks);
  news.tops = lane_bits(contacts.tops);
  news.strikes = lane_bits(contacts.strikes);
  news.stops = lane_bits(at_stop);
  news.gives_up = lane_bits(stuck || lost);
  news.evaluated = lane_bits(t.stale && t.accepted);
  t.y0[kTravel].store(news.travel);
  t.y0[kTravelSpeed].store(news.travel_speed);
}

// One try. The host gives gravity and grade over the step, prescribe(trial), and keeps samples,
// sample(trial, rates).
template <class S, class Host>
void try_step(const QuarterRider<S>& rider, const StepLimits& limits, LaneState<S>& lanes,
              Host& host, LaneNews<S>& news) {
  Trial<S> t;
  Rates<S> k;
  locate(lanes, t, k);
  choose_step(rider, lanes, limits, k, t);
  host.prescribe(t);
  evaluate(rider, lanes, t, k);
  estimate(limits, k, t);
  find_events(rider, lanes, k, t);
  judge_step(rider, lanes, t);
  plan_next_step(t, lanes);
  accept(t, k, lanes);
  find_peaks(t, k, lanes);
  count_braking(t, lanes);
  find_doubts(rider, limits, t, lanes);
  find_rim_doubts(rider, limits, t, lanes);
  host.sample(t, k);
  report(rider, t, lanes, news);
}

}  // namespace plunge
