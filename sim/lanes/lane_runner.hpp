// Rides one after the other in the lanes of one instruction set: the bookkeeping around try_step().
//
// A lane's next piece, next phase and next ride, and what is recorded, are seen to here; the
// arithmetic is in lane_step.hpp, containers are handled in lane_task.cpp. Included by one file for
// each instruction set: everything here is a template over the pack of that instruction set, so
// that no function of it can be taken for another's by the linker.
#pragma once

#include <bit>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <span>
#include <type_traits>

#include "models/laws/constants.hpp"
#include "sim/lanes/lane_law.hpp"
#include "sim/lanes/lane_rider.hpp"
#include "sim/lanes/lane_samples.hpp"
#include "sim/lanes/lane_state.hpp"
#include "sim/lanes/lane_step.hpp"
#include "sim/lanes/lane_task.hpp"
#include "sim/lanes/lanes.hpp"
#include "sim/lanes/no_subnormals.hpp"

namespace plunge {

// One function of the whole step. Under sanitizers it would take the compiler minutes and
// gigabytes.
#ifdef __SANITIZE_ADDRESS__
#define PLUNGE_FLATTEN
#else
#define PLUNGE_FLATTEN [[gnu::flatten]]
#endif

template <class S>
class LaneRunner {
 public:
  LaneRunner(std::span<const LaneRide> rides, const LaneWish& wish, std::span<LaneOutcome> outcomes)
      : rides_(rides),
        wish_(wish),
        outcomes_(outcomes),
        limits_{wish.tolerance, wish.step_factor, wish.doubtful_force, wish.doubtful_travel,
                kCreepStep * std::sqrt(std::sqrt(wish.tolerance / 1e-3))},
        sampler_(wish, samples_anything(wish)) {}

  void run() {
    [[maybe_unused]] const NoSubnormals fast;  // which does nothing on some machines
    const Rider& first = *rides_.front().rider;
    rider_.has_air = first.has_air;
    rider_.has_leg_air = first.has_leg_air;
    rider_.has_body = first.has_body;
    rider_.has_friction = first.has_friction;
    for (std::size_t l = 0; l < kLanes; ++l) {
      if (!take_next(l)) fill_idle(l);
    }
    while (active_ > 0 && !wish_.stop()) {
      for (int steps = 0; active_ > 0 && steps < kStepsUnasked; ++steps) step();
    }
  }

  // Sets the piece of the grade that the middle of the step lies on, and for lanes that lean the
  // gravity at the begin, the middle and the end of the step.
  void prescribe(const Trial<S>& t) {
    const S middle = t.place + 0.5 * t.h * t.speed;
    std::uint32_t others =
        lane_bits(middle < S::load(lanes_.grade_from) || middle >= S::load(lanes_.grade_to));
    if (others != 0) {
      alignas(64) Row places;
      middle.store(places);
      for (; others != 0; others &= others - 1) {
        const auto l = static_cast<std::size_t>(std::countr_zero(others));
        set_grade(l, lanes_.piece_start[l] + static_cast<double>(places[l]));
      }
    }
    if (leaning_) lean(t);
  }

  void sample(const Trial<S>& t, const Rates<S>& k) { sampler_.sample(lanes_, t, k); }

 private:
  using Real = typename S::Real;
  static_assert(std::is_same_v<Real, float>);
  static constexpr std::size_t kLanes = S::kSize;
  using Row = Real[kLanes];
  static constexpr std::size_t kNone = ~std::size_t{0};

  static constexpr double kFirstStep = 5e-4;  // [s]
  static constexpr double kFarDatum = 0.5;    // heights are moved to a nearer datum past it [m]
  // Longest step of a fork that creeps at a tolerance of 1e-3 [s]: the error control does not see
  // the friction's bell, so this length goes with the tolerance's fourth root.
  static constexpr double kCreepStep = 1.5e-3;
  static constexpr std::size_t kClosings = 16;  // that are kept in the lane
  static constexpr Real kFar = 1e30F;           // past every place [m]

  bool take_next(std::size_t l);
  void fill_idle(std::size_t l);
  void start_state(std::size_t l);
  void start_record(std::size_t l);
  void finish(std::size_t l);
  void keep_lane_closings(std::size_t l);
  void set_phase(std::size_t l);
  void set_piece(std::size_t l, std::size_t piece);
  void set_grade(std::size_t l, double place);
  void put_grade(std::size_t l);
  void lean(const Trial<S>& t);
  void next_piece(const LaneNews<S>& news, std::size_t l);
  void note(const LaneNews<S>& news, std::size_t l);
  void note_first_evaluation(std::size_t l);
  void note_turn(std::size_t l);
  void note_knock(const LaneNews<S>& news, std::size_t l);
  void note_lift_off(std::size_t l);
  void note_landing(std::size_t l);
  PLUNGE_FLATTEN void step();

  std::span<const LaneRide> rides_;
  const LaneWish& wish_;
  std::span<LaneOutcome> outcomes_;
  std::size_t next_ride_ = 0;
  std::size_t active_ = 0;

  QuarterRider<S> rider_;
  StepLimits limits_;
  LaneState<S> lanes_;
  LaneSampler<S> sampler_;

  LaneTask tasks_[kLanes] = {};
  double datum_[kLanes] = {};  // of heights [m]
  double airborne_since_[kLanes] = {};
  std::size_t ride_[kLanes] = {};
  std::size_t phase_[kLanes] = {};
  std::size_t piece_[kLanes] = {};
  Closing closings_[kLanes][kClosings] = {};
  std::size_t closing_count_[kLanes] = {};
  bool leans_[kLanes] = {};
  bool leaning_ = false;
  std::size_t grade_piece_[kLanes] = {};
};

template <class S>
void LaneRunner<S>::fill_idle(std::size_t l) {
  // An idle lane goes on with its last numbers and no time passes; one that never rode takes those
  // of the first.
  ride_[l] = kNone;
  leans_[l] = false;
  lanes_.grade_from[l] = -kFar;
  lanes_.grade_to[l] = kFar;
  lanes_.alive[l] = 0;
  lanes_.stale[l] = 1;
  if (lanes_.step[l] > 0) return;
  for (auto& row : lanes_.state) row[l] = row[0];
  put_numbers(rider_, l, tasks_[0].numbers);
  rider_.damper.compression.table.set(l, tasks_[0].compression, tasks_[0].rebound);
  lanes_.output[kOutSlipLevel][l] = 1;
  lanes_.output[kOutCoulombLevel][l] = 1;
  for (auto& row : lanes_.gravity) row[l] = static_cast<Real>(kGravity);
  lanes_.length[l] = 1;
  lanes_.reach[l] = 1;
}

template <class S>
bool LaneRunner<S>::take_next(std::size_t l) {
  if (next_ride_ >= rides_.size()) return false;
  ride_[l] = next_ride_++;
  ++active_;
  LaneTask& task = tasks_[l];
  task = open_task(rides_[ride_[l]], wish_, LaneSampler<S>::kSlack, outcomes_[ride_[l]]);
  put_numbers(rider_, l, task.numbers);
  rider_.damper.compression.table.set(l, task.compression, task.rebound);
  lanes_.time[l] = 0.0;
  phase_[l] = 0;
  set_phase(l);
  for (auto& row : lanes_.grade) row[l] = 0;
  grade_piece_[l] = kNone;
  datum_[l] = task.pieces[task.first_piece].height;
  set_piece(l, task.first_piece);
  start_state(l);
  start_record(l);
  return true;
}

template <class S>
void LaneRunner<S>::start_state(std::size_t l) {
  const LaneTask& task = tasks_[l];
  for (std::size_t s = 0; s < kLaneStates; ++s) {
    const bool height = s == kSprungHeight || s == kBodyHeight;
    const double value = task.start[s] - (height ? datum_[l] : 0.0);
    lanes_.state[s][l] = static_cast<Real>(value);
    lanes_.rate[s][l] = 0;
    lanes_.rest[s][l] = static_cast<Real>(value - static_cast<double>(lanes_.state[s][l]));
  }
  const auto on = [&](Switch which) { return static_cast<Real>(task.modes[which] ? 1 : 0); };
  lanes_.touches[l] = on(kTyreTouches);
  lanes_.compresses[l] = on(kCompresses);
  lanes_.in_bumper[l] = on(kBumperTouches);
  lanes_.in_metal[l] = on(kMetalTouches);
  lanes_.in_top_out[l] = on(kTopOutTouches);
  lanes_.on_rim[l] = on(kRimTouches);
  for (auto& row : lanes_.output) row[l] = 0;
  lanes_.output[kOutSlipLevel][l] = 1;
  lanes_.output[kOutCoulombLevel][l] = 1;
  lanes_.output[kOutBristle][l] = static_cast<Real>(task.start[kBristle]);
  lanes_.cosine[l] = static_cast<Real>(task.cosine);
  lanes_.wheel_speed[l] = static_cast<Real>(task.wheel_speed);
  lanes_.step[l] = static_cast<Real>(kFirstStep);
  lanes_.event_step[l] = 1;
  lanes_.stale[l] = 1;
  lanes_.alive[l] = 1;
}

template <class S>
void LaneRunner<S>::start_record(std::size_t l) {
  const LaneTask& task = tasks_[l];
  lanes_.hop_lowest[l] = 0;
  lanes_.ground_highest[l] = 1e9F;
  lanes_.damper_work[l] = 0;
  lanes_.brake_grip[l] = 0;
  lanes_.brake_air[l] = 0;
  lanes_.doubt[l] = 0;
  lanes_.rim_doubt[l] = 0;
  lanes_.waits[l] = 0;
  lanes_.steps[l] = 0;
  lanes_.tries[l] = 0;
  for (auto& row : lanes_.peak) row[l] = 0;
  closing_count_[l] = 0;
  sampler_.open(l, task.samples);
  if (!task.modes[kTyreTouches]) {
    ++task.record->lift_offs;
    airborne_since_[l] = 0.0;
  }
}

template <class S>
void LaneRunner<S>::finish(std::size_t l) {
  LaneOutcome& outcome = outcomes_[ride_[l]];
  Record& record = outcome.record;
  record.end_time = lanes_.time[l];
  outcome.steps = static_cast<std::uint64_t>(lanes_.steps[l]);
  outcome.tries = static_cast<std::uint64_t>(lanes_.tries[l]);
  if (lanes_.touches[l] < 0.5F) record.airborne_time += lanes_.time[l] - airborne_since_[l];
  record.damper_work = static_cast<double>(lanes_.damper_work[l]);
  record.brake_grip_time = static_cast<double>(lanes_.brake_grip[l]);
  record.brake_air_time = static_cast<double>(lanes_.brake_air[l]);
  const auto peak = [&](LanePeak which) { return static_cast<double>(lanes_.peak[which][l]); };
  record.peaks.travel = peak(kPeakTravel);
  record.peaks.fork_force = peak(kPeakForkForce);
  record.peaks.ground_force = peak(kPeakTyreForce);
  record.peaks.axle_force = peak(kPeakAxleForce);
  record.peaks.hand_force = peak(kPeakHandForce);
  record.peaks.sprung_acceleration = peak(kPeakSprungAcceleration);
  record.peaks.damper_force = peak(kPeakDamperForce);
  if (lanes_.doubt[l] > 0.5F) outcome.doubts |= kDoubtLiftOff;
  if (lanes_.rim_doubt[l] > 0.5F) outcome.doubts |= kDoubtRim;
  keep_lane_closings(l);
  close_task(wish_, sampler_.count(l), outcome);
  --active_;
  if (!take_next(l)) fill_idle(l);
}

template <class S>
void LaneRunner<S>::keep_lane_closings(std::size_t l) {
  keep_closings({closings_[l], closing_count_[l]}, outcomes_[ride_[l]]);
  closing_count_[l] = 0;
}

template <class S>
void LaneRunner<S>::set_phase(std::size_t l) {
  const LaneTask& task = tasks_[l];
  const std::span<const RidePhase> phases = task.phases;
  const double time = lanes_.time[l];
  while (phase_[l] + 1 < phases.size() && phases[phase_[l] + 1].start <= time) ++phase_[l];
  const RidePhase& phase = phases[phase_[l]];
  lanes_.phase_start[l] = phase.start;
  lanes_.phase_distance[l] = phase.distance;
  lanes_.phase_speed[l] = phase.speed;
  lanes_.phase_acceleration[l] = phase.acceleration;
  lanes_.phase_jerk[l] = phase.jerk;
  lanes_.brake_share[l] = static_cast<Real>(phase.brake_share);
  lanes_.brakes[l] = phase.brakes ? 1 : 0;
  const double end = phase_[l] + 1 < phases.size() ? phases[phase_[l] + 1].start : 1e300;
  lanes_.stop[l] = end < task.duration ? end : task.duration;
  leans_[l] = phase.lean_from != 0.0 || phase.lean_to != 0.0;
  for (auto& row : lanes_.gravity) row[l] = static_cast<Real>(phase.at(time).gravity);
  leaning_ = false;
  for (const bool leans : leans_) leaning_ = leaning_ || leans;
}

template <class S>
void LaneRunner<S>::set_piece(std::size_t l, std::size_t number) {
  const std::span<const WheelPiece> pieces = tasks_[l].pieces;
  const WheelPiece& piece = pieces[number];
  if (number + 3 < pieces.size()) __builtin_prefetch(&pieces[number + 3]);
  piece_[l] = number;
  lanes_.piece_start[l] = piece.start;
  const double far = piece.height - datum_[l];
  if (far > kFarDatum || far < -kFarDatum) {
    const auto shift = static_cast<Real>(far);
    datum_[l] += static_cast<double>(shift);
    lanes_.state[kSprungHeight][l] -= shift;
    lanes_.state[kBodyHeight][l] -= shift;
  }
  lanes_.path[0][l] = static_cast<Real>(piece.height - datum_[l]);
  for (std::size_t c = 0; c < 5; ++c) lanes_.path[c + 1][l] = static_cast<Real>(piece.slope[c]);
  lanes_.length[l] = piece.length;
  lanes_.reach[l] = piece.reach;
  lanes_.smooth[l] = piece.kink || piece.kink_after ? 0 : 1;
  put_grade(l);
}

// Takes the piece of the grade that a place of the frame lies on.
template <class S>
void LaneRunner<S>::set_grade(std::size_t l, double place) {
  const LaneTask& task = tasks_[l];
  const double along = (place - task.grade_start) * task.grades_per_metre;
  const std::size_t last = task.grades.size() - 1;
  grade_piece_[l] = !(along > 0.0)                       ? 0
                    : along >= static_cast<double>(last) ? last
                                                         : static_cast<std::size_t>(along);
  for (std::size_t c = 0; c < 4; ++c) {
    lanes_.grade[c][l] = static_cast<Real>(task.grades[grade_piece_[l]].c[c]);
  }
  put_grade(l);
}

// Puts the piece of the grade on the wheel's piece. The first and the last go on for ever, and so
// does level ground, which has none.
template <class S>
void LaneRunner<S>::put_grade(std::size_t l) {
  const LaneTask& task = tasks_[l];
  const std::size_t number = grade_piece_[l];
  lanes_.grade_start[l] = 0;
  lanes_.grade_from[l] = -kFar;
  lanes_.grade_to[l] = kFar;
  if (task.grades.empty()) return;
  if (number == kNone) {
    lanes_.grade_to[l] = -kFar;  // none yet: the next step takes one
    return;
  }
  const double start = task.grade_start - lanes_.piece_start[l];
  const auto at = [&](std::size_t piece) {
    return static_cast<Real>(start + static_cast<double>(piece) * task.grade_step);
  };
  lanes_.grade_start[l] = at(number);
  if (number > 0) lanes_.grade_from[l] = at(number);
  if (number + 1 < task.grades.size()) lanes_.grade_to[l] = at(number + 1);
}

template <class S>
void LaneRunner<S>::lean(const Trial<S>& t) {
  alignas(64) Row steps;
  t.h.store(steps);
  for (std::size_t l = 0; l < kLanes; ++l) {
    if (!leans_[l]) continue;
    const RidePhase& phase = tasks_[l].phases[phase_[l]];
    for (std::size_t part = 0; part < 3; ++part) {
      const double time =
          lanes_.time[l] + 0.5 * static_cast<double>(part) * static_cast<double>(steps[l]);
      lanes_.gravity[part][l] = static_cast<Real>(phase.at(time).gravity);
    }
  }
}

template <class S>
void LaneRunner<S>::next_piece(const LaneNews<S>& news, std::size_t l) {
  const std::span<const WheelPiece> pieces = tasks_[l].pieces;
  const double wheel = lanes_.piece_start[l] + static_cast<double>(news.wheel[l]);
  const auto near = static_cast<double>(news.near_kink[l]);
  std::size_t next = piece_[l];
  bool kink = false;
  if ((news.onward >> l & 1) != 0) {
    while (!kink && next + 1 < pieces.size() && wheel > pieces[next + 1].start - near) {
      kink = pieces[++next].kink;
    }
  } else {
    while (!kink && next > 0 && wheel < pieces[next].start + near) kink = pieces[next--].kink;
  }
  if (kink) {
    lanes_.stale[l] = 1;
    // If the tyre was almost unloaded before the kink, lift-off is uncertain: mark the ride.
    const auto load = static_cast<double>(lanes_.output[kOutFreeTyreForce][l]);
    if (lanes_.touches[l] > 0.5F && load < wish_.doubtful_force) lanes_.doubt[l] = 1;
  }
  set_piece(l, next);
}

template <class S>
void LaneRunner<S>::note(const LaneNews<S>& news, std::size_t l) {
  const auto is = [l](std::uint32_t bits) { return (bits >> l & 1) != 0; };
  Record& record = *tasks_[l].record;
  if (is(news.evaluated)) note_first_evaluation(l);
  if (is(news.gives_up)) {
    *tasks_[l].doubts |= kDoubtStuck;
    finish(l);
    return;
  }
  if (is(news.turns)) note_turn(l);
  if (is(news.bumps)) ++record.bumper_contacts;
  if (is(news.tops)) ++record.top_outs;
  if (is(news.strikes)) ++record.rim_strikes;
  if (is(news.knocks)) note_knock(news, l);
  if (is(news.leaves)) note_lift_off(l);
  if (is(news.lands)) note_landing(l);
  if (is(news.goes_on)) next_piece(news, l);
  if (is(news.stops)) {
    if (!(lanes_.time[l] < tasks_[l].duration)) {
      finish(l);
    } else {
      set_phase(l);
    }
  }
}

// Rates and outputs are those after a jump again; at the start they are the first.
template <class S>
void LaneRunner<S>::note_first_evaluation(std::size_t l) {
  lanes_.stale[l] = 0;
  if (sampler_.awaits_start(l)) sampler_.start(lanes_, l);
  if (lanes_.time[l] != 0.0) return;
  const auto raise = [&](LanePeak peak, Real value) {
    if (value > lanes_.peak[peak][l]) lanes_.peak[peak][l] = value;
  };
  raise(kPeakTravel, lanes_.state[kTravel][l]);
  for (const PeakRule& rule : kPeakRules) {
    const Real value = lanes_.output[rule.output][l];
    raise(rule.peak, rule.of_size && value < 0 ? -value : value);
  }
}

template <class S>
void LaneRunner<S>::note_turn(std::size_t l) {
  const auto x = static_cast<double>(lanes_.state[kTravel][l]);
  const double bumper = x - tasks_[l].bumper_start;
  const double metal = x - tasks_[l].metal_limit;
  const double near = wish_.doubtful_travel;
  if ((bumper < near && bumper > -near) || (metal < near && metal > -near)) {
    *tasks_[l].doubts |= kDoubtContact;
  }
  lanes_.compresses[l] = lanes_.compresses[l] > 0.5F ? 0 : 1;
}

// Metal met metal. Speed at the limit of the travel: even acceleration between the ends of the
// step; the rest is known at its end.
template <class S>
void LaneRunner<S>::note_knock(const LaneNews<S>& news, std::size_t l) {
  const auto x = static_cast<double>(lanes_.state[kTravel][l]);
  const auto from = static_cast<double>(news.travel[l]);
  const auto slow = static_cast<double>(news.travel_speed[l]);
  const auto fast = static_cast<double>(lanes_.state[kTravelSpeed][l]);
  const double share = (tasks_[l].metal_limit - from) / (x - from);
  if (closing_count_[l] == kClosings) keep_lane_closings(l);
  closings_[l][closing_count_[l]++] = {lanes_.time[l],
                                       std::sqrt(slow * slow + share * (fast * fast - slow * slow)),
                                       x,
                                       fast,
                                       static_cast<double>(lanes_.rate[kTravelSpeed][l]),
                                       static_cast<double>(lanes_.output[kOutForkForce][l])};
}

template <class S>
void LaneRunner<S>::note_lift_off(std::size_t l) {
  lanes_.touches[l] = 0;
  ++tasks_[l].record->lift_offs;
  airborne_since_[l] = lanes_.time[l];
  if (static_cast<double>(lanes_.ground_highest[l]) < wish_.doubtful_force) {
    *tasks_[l].doubts |= kDoubtLiftOff;
  }
  lanes_.hop_lowest[l] = 0;
}

template <class S>
void LaneRunner<S>::note_landing(std::size_t l) {
  lanes_.touches[l] = 1;
  tasks_[l].record->airborne_time += lanes_.time[l] - airborne_since_[l];
  if (static_cast<double>(lanes_.hop_lowest[l]) > -wish_.doubtful_force) {
    *tasks_[l].doubts |= kDoubtLiftOff;
  }
  lanes_.ground_highest[l] = 0;
  lanes_.stale[l] = 1;
}

template <class S>
void LaneRunner<S>::step() {
  LaneNews<S> news;
  try_step(rider_, limits_, lanes_, *this, news);
  for (std::uint32_t bits = news.goes_on & ~news.noted; bits != 0; bits &= bits - 1) {
    next_piece(news, static_cast<std::size_t>(std::countr_zero(bits)));
  }
  for (std::uint32_t bits = news.noted; bits != 0; bits &= bits - 1) {
    note(news, static_cast<std::size_t>(std::countr_zero(bits)));
  }
}

}  // namespace plunge
