#include "sim/ride/integrator.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <boost/numeric/odeint/algebra/array_algebra.hpp>
#include <boost/numeric/odeint/algebra/default_operations.hpp>
#include <boost/numeric/odeint/stepper/controlled_runge_kutta.hpp>
#include <boost/numeric/odeint/stepper/dense_output_runge_kutta.hpp>
#include <boost/numeric/odeint/stepper/runge_kutta_dopri5.hpp>
#include <cmath>
#include <optional>

#include "models/laws/constants.hpp"
#include "models/setup/fault.hpp"
#include "models/setup/root.hpp"

namespace plunge {
namespace {

namespace odeint = boost::numeric::odeint;
using StateVector = State<double>;

constexpr double kLongestStep = 0.01;    // [s]
constexpr double kShortestStep = 1e-13;  // [s]
constexpr double kFirstStep = 1e-4;      // [s]
constexpr double kSwitchWidth = 1e-12;   // bracket of a located switch [s]
constexpr double kStill = 1e-7;          // a fork slower than this has no direction [m/s]
constexpr double kUnloaded = 1e-4;       // a bushing with less moment has no side [N.m]
constexpr double kMoment = 1e-6;         // over which a slope is taken [s]
constexpr double kDip = 0.5;    // a force that may fall below this share is evaluated there [1]
constexpr double kFirm = 0.85;  // least tyre force over the largest at a step's ends
constexpr double kBent = 0.1;   // a bristle bent by less carries nothing [slip levels]
constexpr std::uint64_t kMostSteps = 100'000'000;  // of one ride: it would not end
constexpr int kMostFlips = 20;  // of one switch at one time: its sides differ by rounding

constexpr std::array<Switch, 2> kBushings = {kUpperBushing, kLowerBushing};

// What one unit of tolerance means for each state that moves: its usual size.
constexpr double kEnergyScale = 5.0;  // of each energy integral [J]
constexpr std::array<double, kMotionStates> kScale = {
    0.1,    // sprung height [m]
    1.0,    // sprung speed [m/s]
    0.1,    // travel [m]
    1.0,    // travel speed [m/s]
    0.1,    // body height [m]
    1.0,    // body speed [m/s]
    300.0,  // temperatures [K]
    300.0, 300.0,
    1e-3,  // gas mass [kg]
    1e-3,  // bristle [m]
};

// Largest scaled error of a step.
struct ErrorChecker {
  // An error past which its size tells nothing about the next try.
  static constexpr double kHopeless = 1e10;

  using value_type = double;
  using algebra_type = odeint::array_algebra;
  using operations_type = odeint::default_operations;

  explicit ErrorChecker(double tolerance = 1e-6) : tolerance_(tolerance) {}

  template <class X, class Dxdt, class Err, class Time>
  double error(const X&, const Dxdt&, Err& x_err, Time) const {
    double worst = 0.0;
    for (std::size_t i = 0; i < kStates; ++i) {
      const double scale = i < kMotionStates ? kScale[i] : kEnergyScale;
      const double scaled = std::abs(x_err[i]) / (tolerance_ * scale);
      if (!(scaled < kHopeless)) return kHopeless;  // nor is it where it is not a number
      worst = std::max(worst, scaled);
    }
    return worst;
  }
  template <class X, class Dxdt, class Err, class Time>
  double error(algebra_type&, const X& x, const Dxdt& dxdt, Err& x_err, Time dt) const {
    return error(x, dxdt, x_err, dt);
  }

 private:
  double tolerance_;
};

using Pair = odeint::runge_kutta_dopri5<StateVector, double, StateVector, double,
                                        odeint::array_algebra, odeint::default_operations>;

// Step size from the errors of the last two steps (Hairer, Norsett & Wanner I, II.4, and Hairer &
// Wanner II, IV.2: proportional and integral control of a fifth-order pair). A step that was nearly
// too long is not tried again, so fewer are rejected than by the last error alone.
class StepAdjuster {
 public:
  explicit StepAdjuster(double longest = kLongestStep) : longest_(longest) {}

  double decrease_step(double step, double error, int) const {
    return step * std::max(kShrinkMost, kSafety * std::pow(error, -0.2));
  }
  double increase_step(double step, double error, int) {
    const double now = std::max(error, kLeastError);
    const double factor = kSafety * std::pow(now, -0.17) * std::pow(before_, 0.04);
    before_ = now;
    return std::min(step * std::clamp(factor, kShrinkMost, kGrowMost), longest_);
  }
  bool check_step_size_limit(double step) const { return step <= longest_; }
  double get_max_dt() const { return longest_; }

 private:
  static constexpr double kSafety = 0.9;
  static constexpr double kShrinkMost = 0.2;
  static constexpr double kGrowMost = 5.0;
  static constexpr double kLeastError = 1e-4;
  double longest_;
  double before_ = kLeastError;
};

using Controlled = odeint::controlled_runge_kutta<Pair, ErrorChecker, StepAdjuster>;
using Dense = odeint::dense_output_runge_kutta<Controlled>;

// Places after the modes in the list of what may switch.
constexpr std::size_t kStretchBegin = kSwitches;  // and then its end
constexpr std::size_t kWatched = kSwitches + 2;

class Journey {
 public:
  Journey(const Rider& rider, const Ground& ground, const RideLine& line, double tolerance,
          const Watch& watch, SolverCount& count)
      : rider_(rider),
        path_(ground.path),
        grade_(ground.grade),
        line_(line),
        watch_(watch),
        count_(count),
        stepper_(Controlled(ErrorChecker(tolerance), StepAdjuster(kLongestStep))) {}

  Instant go(const StateVector& start);

  // The equations of motion, as Odeint calls them.
  void operator()(const StateVector& y, StateVector& dydt, double t) {
    evaluate(y, t, now_);
    dydt = rider_.rates(y, now_.course, now_.point, mode_, now_.forces);
    dydt[kBristle] = 0.0;  // follows from the stroke
  }

 private:
  void evaluate(const StateVector& y, double t, Instant& instant) {
    ++count_.evaluations;
    stroke_.elapsed = t - stroke_time_;
    instant.motion = motion_at(grade_, *phase_, t);
    instant.course = rider_.course(instant.motion);
    const double s = wheel_position(y, instant);
    instant.point = path_.at(s, stretch_for(s));
    instant.forces = rider_.forces(y, instant.course, instant.point, mode_, &stroke_);
  }

  // The same where a force may have jumped: no stroke leads here, and the bushings are loaded as
  // their load has it.
  void evaluate_anew(Instant& instant) {
    ++count_.evaluations;
    const double s = wheel_position(instant.state, instant);
    instant.point = path_.at(s, stretch_for(s));
    instant.forces = rider_.forces(instant.state, instant.course, instant.point, mode_);
  }

  double wheel_position(const StateVector& y, const Instant& at) const {
    return rider_.wheel_position(y, at.motion.distance, at.course);
  }

  // On the ground a step keeps to its stretch; in the air the wheel is over whatever is below it.
  const Stretch& stretch_for(double s) const {
    return path_.stretches()[mode_[kTyreTouches] ? stretch_ : path_.stretch_at(s)];
  }

  // An evaluation at an instant inside the last step.
  Instant inside(double t) {
    Instant instant;
    instant.time = t;
    stepper_.calc_state(t, instant.state);
    evaluate(instant.state, t, instant);
    instant.state[kBristle] = instant.forces.bristle;
    return instant;
  }

  // The rider's indicators. The fork's direction only changes past kStill; but a bristle that bends
  // on against the held direction, however slowly, would never slip. A bushing, which in the air
  // may carry next to nothing for long, changes sides past kUnloaded.
  Indicators<double> indicators(const Instant& instant) const {
    Indicators<double> value =
        rider_.indicators(instant.state, instant.course, instant.forces, mode_);
    const double way = mode_[kCompresses] ? 1.0 : -1.0;
    const double bend = -way * rider_.friction.stiffness * instant.forces.bristle;
    if (!(bend > kBent * instant.forces.slip_level)) value[kCompresses] += way * kStill;
    for (const Switch bushing : kBushings) {
      value[bushing] += mode_[bushing] ? kUnloaded : -kUnloaded;
    }
    return value;
  }

  double indicator(std::size_t which, const Instant& instant) const {
    if (which < kSwitches) return indicators(instant)[which];
    const double s = wheel_position(instant.state, instant);
    const Stretch& stretch = path_.stretches()[stretch_];
    return which == kStretchBegin ? s - stretch.begin : stretch.end - s;
  }

  // Whether a watched thing has left its mode at this instant.
  bool left(std::size_t which, const Instant& instant, const Indicators<double>& value) const {
    if (which >= kSwitches) return mode_[kTyreTouches] && indicator(which, instant) < 0.0;
    return mode_[which] ? value[which] < 0.0 : value[which] > 0.0;
  }

  std::vector<std::size_t> all_left(const Instant& instant) const {
    const Indicators<double> value = indicators(instant);
    std::vector<std::size_t> list;
    for (std::size_t which = 0; which < kWatched; ++which) {
      if (left(which, instant, value)) list.push_back(which);
    }
    return list;
  }

  // The first switch in (begin, end], if there is one.
  struct Found {
    std::size_t which;
    double time;
  };
  std::optional<Found> first_switch(const Instant& begin, const Instant& end);
  std::optional<Found> first_switch_between(const Instant& begin, const Instant& end,
                                            const std::vector<std::size_t>& candidates);

  void flip(std::size_t which, Instant& at);
  void settle_brake(Instant& at);
  void settle_bushings(Instant& at);
  void observe(const Instant& begin, const Instant& end);
  void sample_until(double time);
  void restart(Instant& at, double step);
  void begin_stroke(const Instant& at);
  // The slope of the Coulomb level at the start of a stroke: how it differs a moment later.
  void foresee_coulomb(const Instant& at);
  [[noreturn]] void fail(const std::string& why) const;

  const Rider& rider_;
  const WheelPath& path_;
  const GradeLine& grade_;
  const RideLine& line_;
  const Watch& watch_;
  SolverCount& count_;
  Dense stepper_;
  Modes<double> mode_{};
  std::size_t stretch_ = 0;
  const RidePhase* phase_ = nullptr;
  StrokeStart<double> stroke_;  // the start of the step
  double stroke_time_ = 0.0;    // [s]
  Instant now_;
  std::uint64_t next_sample_ = 0;
  double last_flip_time_ = -1.0;
  int flips_at_once_ = 0;
};

void Journey::fail(const std::string& why) const {
  const StateVector& y = stepper_.current_state();
  std::size_t worst = 0;
  for (std::size_t i = 0; i < kMotionStates; ++i) {
    if (!std::isfinite(y[i])) {
      worst = i;
      break;
    }
    if (std::abs(y[i]) / kScale[i] > std::abs(y[worst]) / kScale[worst]) worst = i;
  }
  const StateName name = state_name(worst);
  throw RunError(fmt::format("at {:.6f} s: {}; {} = {:.6g} ({}), travel = {:.6g} m",
                             stepper_.current_time(), why, name.name, y[worst], name.part,
                             y[kTravel]));
}

void Journey::restart(Instant& at, double step) {
  stepper_.initialize(at.state, at.time, std::clamp(step, 1e-7, kLongestStep));
  settle_bushings(at);
  begin_stroke(at);
  evaluate(at.state, at.time, at);  // the modes may have changed
  begin_stroke(at);
  foresee_coulomb(at);
}

void Journey::begin_stroke(const Instant& at) {
  stroke_ = {.travel = at.state[kTravel],
             .speed = at.state[kTravelSpeed],
             .bristle = at.state[kBristle],
             .coulomb = at.forces.coulomb,
             .slip_level = at.forces.slip_level};
  stroke_time_ = at.time;
}

void Journey::foresee_coulomb(const Instant& at) {
  if (!rider_.has_friction || !(rider_.friction.bushing > 0.0)) return;
  const StateVector rate = rider_.rates(at.state, at.course, at.point, mode_, at.forces);
  StateVector moved = at.state;
  for (std::size_t i = 0; i < kMotionStates; ++i) moved[i] += kMoment * rate[i];
  Instant later;
  evaluate(moved, at.time + kMoment, later);
  stroke_.coulomb_rate = (later.forces.coulomb - at.forces.coulomb) / kMoment;
}

std::optional<Journey::Found> Journey::first_switch_between(
    const Instant& begin, const Instant& end, const std::vector<std::size_t>& candidates) {
  std::optional<Found> first;
  for (const std::size_t which : candidates) {
    const double fa = indicator(which, begin);
    const double fb = indicator(which, end);
    const bool on = which >= kSwitches || mode_[which];
    // Already past its switch as the step began: it switches there.
    double time = begin.time;
    if (on ? fa > 0.0 : fa < 0.0) {
      time = find_root([&](double t) { return indicator(which, inside(t)); }, begin.time, end.time,
                       fa, fb, kSwitchWidth);
    }
    if (!first || time < first->time) first = Found{which, time};
  }
  return first;
}

std::optional<Journey::Found> Journey::first_switch(const Instant& begin, const Instant& end) {
  // Inside a step the fork moves one way, so only the tyre can come and go unseen at the end; one
  // that presses firmly at both ends does not.
  const double way = (end.time - begin.time) * now_.motion.speed;
  const auto [least, most] = std::minmax(begin.forces.tyre, end.forces.tyre);
  const bool clear_of_rim =
      std::max(begin.forces.deflection, end.forces.deflection) < 0.8 * rider_.tyre.rim_depth;
  const int parts = mode_[kTyreTouches]
                        ? (least > kFirm * most && clear_of_rim ? 1 : 2)
                        : std::clamp(static_cast<int>(way / kAirborneStride) + 1, 2, 1000);
  Instant from = begin;
  Instant middle = begin;
  for (int i = 1; i <= parts; ++i) {
    const Instant to =
        i == parts ? end
                   : inside(begin.time + (end.time - begin.time) * static_cast<double>(i) / parts);
    const auto candidates = all_left(to);
    if (!candidates.empty()) return first_switch_between(from, to, candidates);
    middle = from;
    from = to;
  }
  if (!mode_[kTyreTouches] || parts < 2) return std::nullopt;
  // A lift-off between two evaluations: where the parabola through the three forces dips.
  const double a = begin.forces.tyre_free;
  const double b = middle.forces.tyre_free;
  const double c = end.forces.tyre_free;
  const double bend = a - 2.0 * b + c;
  const double fall = 3.0 * a - 4.0 * b + c;
  const bool dips = bend > 0.0 && fall > 0.0 && fall < 4.0 * bend &&
                    a - square(fall) / (8.0 * bend) < kDip * std::min({a, b, c});
  if (!dips) return std::nullopt;
  const Instant lowest = inside(begin.time + (end.time - begin.time) * fall / (4.0 * bend));
  const auto candidates = all_left(lowest);
  if (candidates.empty()) return std::nullopt;
  return first_switch_between(begin, lowest, candidates);
}

void Journey::flip(std::size_t which, Instant& at) {
  if (which >= kSwitches) {
    stretch_ = which == kStretchBegin ? stretch_ - 1 : stretch_ + 1;
    const double s = wheel_position(at.state, at);
    const PathPoint<double> after = path_.at(s, path_.stretches()[stretch_]);
    at.state[kGroundIn] += rider_.turned(at.state, at.course, at.point, after);
    ++count_.kinks;
    settle_brake(at);
    return;
  }
  mode_[which] = !mode_[which];
  ++count_.switches;
  if (which == kTyreTouches) {
    const double stored = rider_.tyre.stored_energy(at.forces.deflection);
    at.state[kTyreOut] += mode_[which] ? -stored : stored;
  }
  if (which == kTyreTouches && mode_[which]) {
    stretch_ = path_.stretch_at(wheel_position(at.state, at));
  }
  if (watch_.on_switch) {
    watch_.on_switch({at.time, static_cast<Switch>(which), mode_[which], at.state, at.forces});
  }
  if (which == kTyreTouches && mode_[which]) settle_brake(at);
}

// A tyre that lands, or meets a kink, presses otherwise at once: whether it can hold the brake is
// known only then.
void Journey::settle_brake(Instant& at) {
  evaluate_anew(at);
  const bool slips = indicators(at)[kBrakeSlips] > 0.0;
  if (slips != mode_[kBrakeSlips]) flip(kBrakeSlips, at);
}

// Nor are the bushings then loaded on the sides on which they were.
void Journey::settle_bushings(Instant& at) {
  evaluate_anew(at);
  const Indicators<double> value = indicators(at);
  for (const Switch bushing : kBushings) {
    if (!left(bushing, at, value)) continue;
    mode_[bushing] = !mode_[bushing];
    ++count_.switches;
  }
}

void Journey::sample_until(double time) {
  if (!(watch_.sample_rate > 0.0)) return;
  while (true) {
    const double t = static_cast<double>(next_sample_) / watch_.sample_rate;
    if (t > time) return;
    watch_.on_sample(inside(t));
    ++next_sample_;
  }
}

void Journey::observe(const Instant& begin, const Instant& end) {
  sample_until(end.time);
  if (!watch_.on_step) return;
  const bool rising = watch_.on_step(begin);
  if (watch_.on_step(end) || rising) {
    constexpr int kParts = 8;
    for (int i = 1; i < kParts; ++i) {
      watch_.on_step(inside(begin.time + (end.time - begin.time) * i / kParts));
    }
  }
}

Instant Journey::go(const StateVector& start) {
  const double duration = line_.duration();
  std::size_t phase = 0;
  phase_ = &line_.phases()[phase];

  Instant at;
  at.state = start;
  at.motion = motion_at(grade_, *phase_, 0.0);
  at.course = rider_.course(at.motion);
  stretch_ = path_.stretch_at(wheel_position(start, at));
  at.point = path_.at(wheel_position(start, at));
  mode_ = modes_of(rider_, start, at.course, at.point);
  restart(at, kFirstStep);

  while (at.time < duration) {
    const double phase_end =
        phase + 1 < line_.phases().size() ? line_.phases()[phase + 1].start : kInfinity;
    const double stop = std::min(phase_end, duration);
    if (phase_end <= at.time) {
      phase_ = &line_.phases()[++phase];
      restart(at, stepper_.current_time_step());
      continue;
    }
    const std::uint64_t before = count_.evaluations;
    try {
      stepper_.do_step(std::ref(*this));
    } catch (const odeint::odeint_error&) {
      fail("no step is short enough to follow the motion");
    }
    if (++count_.steps > kMostSteps) fail("it takes too many steps to follow the motion");
    count_.rejected += (count_.evaluations - before) / 6 - 1;
    const double step = stepper_.current_time_step();
    if (!(stepper_.current_time() - stepper_.previous_time() > kShortestStep)) {
      fail("the step has shrunk to nothing");
    }
    const Instant begin = at;
    Instant end = now_;  // Odeint's last evaluation was at the end of the step
    end.time = stepper_.current_time();
    end.state = stepper_.current_state();
    end.state[kBristle] = end.forces.bristle;
    if (!std::isfinite(end.forces.fork + end.forces.tyre)) fail("a force is not a number");
    if (end.time > stop) end = inside(stop);

    std::optional<Found> found = first_switch(begin, end);
    if (found) {
      const bool again = found->time <= last_flip_time_ + kSwitchWidth;
      flips_at_once_ = again ? flips_at_once_ + 1 : 0;
      last_flip_time_ = found->time;
      if (flips_at_once_ > kMostFlips) found.reset();
    }
    if (found) {
      at = found->time > begin.time ? inside(found->time) : begin;
      observe(begin, at);
      flip(found->which, at);
      restart(at, step);
    } else {
      observe(begin, end);
      at = end;
      if (end.time >= stop) {
        restart(at, step);
      } else {
        begin_stroke(at);
        foresee_coulomb(at);
      }
    }
  }
  return at;
}

}  // namespace

Motion<double> motion_at(const GradeLine& grade, const RidePhase& phase, double time) {
  Motion<double> motion = phase.at(time);
  motion.grade = grade.at(motion.distance);
  return motion;
}

Modes<double> modes_of(const Rider& rider, const State<double>& state, const Course<double>& line,
                       const PathPoint<double>& point) {
  Modes<double> mode{};
  // Twice: the brake's grip depends on whether the tyre touches.
  for (int pass = 0; pass < 2; ++pass) {
    const Forces<double> f = rider.forces(state, line, point, mode);
    const Indicators<double> value = rider.indicators(state, line, f, mode);
    for (std::size_t i = 0; i < kSwitches; ++i) mode[i] = value[i] > 0.0;
  }
  return mode;
}

StateName state_name(std::size_t index) {
  static constexpr std::array<StateName, kMotionStates> kNames = {{
      {"sprung height", "frame"},
      {"sprung speed", "frame"},
      {"travel", "fork"},
      {"travel speed", "fork"},
      {"body height", "rider"},
      {"body speed", "rider"},
      {"main chamber temperature", "air spring"},
      {"negative chamber temperature", "air spring"},
      {"lower leg temperature", "lower-leg air"},
      {"main chamber gas mass", "transfer port"},
      {"bristle deflection", "friction"},
  }};
  return kNames.at(index);
}

Instant ride(const Rider& rider, const Ground& ground, const RideLine& line,
             const State<double>& start, double tolerance, const Watch& watch, SolverCount& count) {
  return Journey(rider, ground, line, tolerance, watch, count).go(start);
}

}  // namespace plunge
