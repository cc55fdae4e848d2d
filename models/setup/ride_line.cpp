#include "models/setup/ride_line.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include "models/setup/fault.hpp"

namespace plunge {
namespace {

double lean_of(const RidePhase& phase, double time) {
  if (phase.lean_from == phase.lean_to) return phase.lean_to;
  const double u = std::clamp((time - phase.lean_start) / phase.lean_duration, 0.0, 1.0);
  const double step = u * u * u * (10.0 + u * (6.0 * u - 15.0));
  return phase.lean_from + (phase.lean_to - phase.lean_from) * step;
}

// The phase that follows after `duration` with a new jerk; the motion goes on unbroken.
RidePhase after(const RidePhase& phase, double duration, double jerk) {
  const Motion<double> end = phase.at(phase.start + duration);
  RidePhase next = phase;
  next.start += duration;
  next.distance = end.distance;
  next.speed = end.speed;
  next.acceleration = end.acceleration;
  next.jerk = jerk;
  return next;
}

[[noreturn]] void refuse(std::size_t event, const char* rule) {
  throw InputError(Fault{"event[" + std::to_string(event) + "].at", "", rule, {}});
}

// Event numbers of the given kind class in order of `at`.
std::vector<std::size_t> in_order(const std::vector<RideEvent>& events, bool corners) {
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < events.size(); ++i) {
    if ((events[i].kind == EventKind::corner) == corners) order.push_back(i);
  }
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return events[a].at < events[b].at; });
  return order;
}

}  // namespace

Motion<double> RidePhase::at(double time) const {
  const double u = time - start;
  Motion<double> motion;
  motion.distance = distance + u * (speed + u * (acceleration / 2.0 + u * jerk / 6.0));
  motion.speed = speed + u * (acceleration + u * jerk / 2.0);
  motion.acceleration = acceleration + u * jerk;
  motion.brake_share = brake_share;
  motion.gravity = kGravity;
  if (lean_from != 0.0 || lean_to != 0.0) motion.gravity /= std::cos(lean_of(*this, time));
  return motion;
}

RideLine::RideLine(const RideSetup& ride, const std::vector<RideEvent>& events,
                   double ground_length)
    : event_starts_(events.size()), event_ends_(events.size()) {
  RidePhase cruise;
  cruise.speed = ride.speed;
  cruise.brake_share = ride.brake_share;
  phases_.push_back(cruise);

  for (const std::size_t number : in_order(events, false)) {
    add_change(number, events[number]);
  }
  double free_from = 0.0;
  for (const std::size_t number : in_order(events, true)) {
    add_corner(number, events[number], free_from);
    free_from = event_ends_[number];
  }
  duration_ = ride.duration > 0.0 ? ride.duration : time_at(ground_length);
}

void RideLine::add_change(std::size_t number, const RideEvent& event) {
  const RidePhase& last = phases_.back();
  if (!(event.at >= last.distance)) {
    refuse(number, last.start > 0.0 ? "begins before the change of speed before it has ended"
                                    : "must not lie before the start");
  }
  const bool brakes = event.kind == EventKind::brake;
  const double change = event.to_speed - last.speed;
  const double sign = brakes ? -1.0 : 1.0;
  if (!(sign * change > 0.0)) {
    throw InputError(Fault{"event[" + std::to_string(number) + "].to_speed",
                           "",
                           brakes ? "must be below the speed at which the braking begins"
                                  : "must be above the speed at which the accelerating begins",
                           {}});
  }
  const double full_jerk = event.rate / event.rise;
  const double ramp = std::min(event.rise, std::sqrt(std::abs(change) / full_jerk));
  const double hold = std::abs(change) / event.rate - event.rise;
  RidePhase on = after(last, (event.at - last.distance) / last.speed, sign * full_jerk);
  on.brakes = brakes;
  if (brakes) on.brake_share = event.front_share;
  event_starts_[number] = on.start;
  phases_.push_back(on);
  if (hold > 0.0) phases_.push_back(after(phases_.back(), ramp, 0.0));
  phases_.push_back(after(phases_.back(), hold > 0.0 ? hold : ramp, -sign * full_jerk));
  RidePhase off = after(phases_.back(), ramp, 0.0);
  off.speed = event.to_speed;
  off.acceleration = 0.0;
  off.brakes = false;
  off.brake_share = phases_.front().brake_share;
  event_ends_[number] = off.start;
  phases_.push_back(off);
}

void RideLine::add_corner(std::size_t number, const RideEvent& event, double free_from) {
  if (!(event.at >= 0.0)) refuse(number, "must not lie before the start");
  const double start = time_at(event.at);
  if (start < free_from) refuse(number, "begins before the corner before it has ended");
  const double leaned = start + event.rise;
  const double straightens = time_at(at(leaned).distance + event.length);
  const double upright = straightens + event.rise;
  event_starts_[number] = start;
  event_ends_[number] = upright;
  for (const double cut : {start, leaned, straightens, upright}) {
    const std::size_t index = phase_at(cut);
    if (cut > phases_[index].start) {
      phases_.insert(phases_.begin() + static_cast<std::ptrdiff_t>(index) + 1,
                     after(phases_[index], cut - phases_[index].start, phases_[index].jerk));
    }
  }
  for (RidePhase& phase : phases_) {
    if (phase.start < start || phase.start >= upright) continue;
    const bool in = phase.start < leaned;
    const bool out = phase.start >= straightens;
    phase.lean_start = out ? straightens : start;
    phase.lean_duration = event.rise;
    phase.lean_from = in ? 0.0 : event.lean;
    phase.lean_to = out ? 0.0 : event.lean;
  }
}

std::size_t RideLine::phase_at(double time) const {
  const auto later =
      std::upper_bound(phases_.begin(), phases_.end(), time,
                       [](double t, const RidePhase& phase) { return t < phase.start; });
  return later == phases_.begin() ? 0 : static_cast<std::size_t>(later - phases_.begin()) - 1;
}

double RideLine::time_at(double distance) const {
  const auto later =
      std::upper_bound(phases_.begin(), phases_.end(), distance,
                       [](double s, const RidePhase& phase) { return s < phase.distance; });
  const RidePhase& phase = later == phases_.begin() ? phases_.front() : *(later - 1);
  // s(t) rises steadily, so Newton from the average speed converges in a few steps.
  double time = phase.start + (distance - phase.distance) / phase.speed;
  for (int step = 0; step < 50; ++step) {
    const Motion<double> motion = phase.at(time);
    const double correction = (motion.distance - distance) / motion.speed;
    time -= correction;
    if (!(std::abs(correction) > 1e-15 * std::abs(time))) break;
  }
  return time;
}

double RideLine::lean_at(double time) const { return lean_of(phases_[phase_at(time)], time); }

}  // namespace plunge
