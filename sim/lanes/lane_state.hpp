// The state of rides in lanes, and one try at a step of them.
//
// A row holds one number of every lane. There is nothing here but numbers: no container, nothing
// that points. So the same state serves the lanes of a register (Pack) and one ride on its own
// (Single), and a copy of its bytes is a copy of the rides.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <iterator>
#include <type_traits>
#include <utility>

#include "models/laws/quarter_rider.hpp"
#include "sim/lanes/lane_curve.hpp"

namespace plunge {

// Calls f(i) for i from 0 to N - 1, i a constant: a loop that leaves no variable index behind.
template <std::size_t N, class F>
void each_of(const F& f) {
  [&]<std::size_t... I>(std::index_sequence<I...>) {
    (f(std::integral_constant<std::size_t, I>{}), ...);
  }
  (std::make_index_sequence<N>{});
}

// The bristle is no state of a lane: it follows from the stroke.
inline constexpr std::size_t kLaneStates = kBristle;

// What an evaluation of the equations puts out besides the rates.
enum LaneOutput : std::size_t {
  kOutForkForce,
  kOutTyreForce,
  kOutAxleForce,
  kOutHandForce,
  kOutSprungAcceleration,
  kOutDamperForce,
  kOutFreeTyreForce,  // as if the tyre could pull
  kOutDeflection,
  kOutDeflectionRate,
  kOutSlipLevel,
  kOutCoulombLevel,
  kOutBristle,
  kOutFriction,
  kOutBrakeExcess,  // what the front brake is asked past its grip
  kLaneOutputs
};

template <class S>
using Outputs = std::array<S, kLaneOutputs>;

// The largest values of a ride.
enum LanePeak : std::size_t {
  kPeakTravel,
  kPeakForkForce,
  kPeakTyreForce,
  kPeakAxleForce,
  kPeakHandForce,
  kPeakSprungAcceleration,
  kPeakDamperForce,
  kLanePeaks
};

// How the peak of an output is found; the travel's is that of the ends of steps alone.
struct PeakRule {
  LanePeak peak;
  LaneOutput output;
  bool of_size;  // the largest size, whatever the sign
  bool refines;  // a step over which it bulges is halved
};
inline constexpr PeakRule kPeakRules[] = {
    {kPeakForkForce, kOutForkForce, false, true},
    {kPeakTyreForce, kOutTyreForce, false, true},
    {kPeakAxleForce, kOutAxleForce, false, false},
    {kPeakHandForce, kOutHandForce, true, false},
    {kPeakSprungAcceleration, kOutSprungAcceleration, true, true},
    {kPeakDamperForce, kOutDamperForce, true, true},
};

// Calls f(i) for every rule, i a constant.
template <class F>
void each_peak(const F& f) {
  each_of<std::size(kPeakRules)>(f);
}

// What the arithmetic of a step holds itself to.
struct StepLimits {
  double tolerance = 0.0;        // largest error of a step, in the usual size of each state
  double step_factor = 1.0;      // as in LaneWish
  double doubtful_force = 0.0;   // [N]
  double doubtful_travel = 0.0;  // [m]
  double creep_step = 0.0;       // longest step of a fork that creeps [s]
};

template <class S>
struct LaneState {
  using Real = typename S::Real;
  static constexpr std::size_t kLanes = S::kSize;
  using Row = Real[kLanes];

  // Time and place, in doubles.
  alignas(64) double time[kLanes] = {};
  alignas(64) double stop[kLanes] = {};  // end of the phase or of the ride
  alignas(64) double phase_start[kLanes] = {};
  alignas(64) double phase_distance[kLanes] = {};
  alignas(64) double phase_speed[kLanes] = {};
  alignas(64) double phase_acceleration[kLanes] = {};
  alignas(64) double phase_jerk[kLanes] = {};
  alignas(64) double piece_start[kLanes] = {};

  alignas(64) Row state[kLaneStates] = {};
  alignas(64) Row rest[kLaneStates] = {};  // what rounding has left out of the state
  alignas(64) Row rate[kLaneStates] = {};
  alignas(64) Row output[kLaneOutputs] = {};
  alignas(64) Row cosine = {};       // of the head angle less the grade
  alignas(64) Row wheel_speed = {};  // along the horizontal
  alignas(64) Row path[6] = {};
  alignas(64) Row length = {};  // up to the next piece
  alignas(64) Row reach = {};   // up to where the piece holds
  alignas(64) Row smooth = {};  // 1: no kink at either end
  alignas(64) Row brake_share = {};
  alignas(64) Row gravity[3] = {};   // at the begin, the middle and the end of the step
  alignas(64) Row grade[4] = {};     // coefficients of the grade's piece
  alignas(64) Row grade_start = {};  // where it starts on the wheel's piece [m]
  alignas(64) Row grade_from = {};   // where it stands for the grade, and up to where
  alignas(64) Row grade_to = {};
  alignas(64) Row step = {};        // that the error control asks for
  alignas(64) Row event_step = {};  // up to an event that was overshot
  alignas(64) Row touches = {};     // 1: on the ground
  alignas(64) Row compresses = {};
  alignas(64) Row stale = {};  // 1: the rates are those before a jump
  alignas(64) Row alive = {};
  alignas(64) Row in_bumper = {};
  alignas(64) Row in_metal = {};
  alignas(64) Row in_top_out = {};
  alignas(64) Row on_rim = {};
  alignas(64) Row hop_lowest = {};      // tyre's law since lift-off [N]
  alignas(64) Row ground_highest = {};  // tyre force since touch-down [N]
  alignas(64) Row damper_work = {};
  alignas(64) Row brakes = {};      // 1: an event brakes
  alignas(64) Row brake_grip = {};  // time of that past the grip of the front wheel [s]
  alignas(64) Row brake_air = {};   // and with that wheel off the ground [s]
  alignas(64) Row peak[kLanePeaks] = {};
  alignas(64) Row steps = {};  // counted as floats: exact up to 16 million
  alignas(64) Row tries = {};
  alignas(64) Row waits = {};      // tries since time passed
  alignas(64) Row doubt = {};      // 1: a graze of the tyre
  alignas(64) Row rim_doubt = {};  // 1: a graze of the rim
};

template <class S>
Mask<S> load_mask(const typename S::Real* row) {
  return S::load(row) > S(0.5);
}

template <class S>
S one_if(const Mask<S>& mask) {
  return select(mask, S(1.0), S(0.0));
}

// Calls f(i) for every state, i a constant.
template <class F>
void each_state(const F& f) {
  each_of<kLaneStates>(f);
}

template <class F>
void each_output(const F& f) {
  each_of<kLaneOutputs>(f);
}

// Rates at the begin of a step and of its four evaluations. Apart from Trial: a compiler keeps what
// is indexed by a variable in memory, and all that stands beside it.
template <class S>
using Rates = S[5][kLaneStates];

// One try at a step, on its way through the parts of lane_step.hpp and lane_events.hpp.
template <class S>
struct Trial {
  using M = Mask<S>;

  // locate(): where each lane begins.
  S place;         // of the frame on the wheel's piece [m]
  S speed;         // of the frame [m/s]
  S acceleration;  // [m/s2]
  S jerk;          // [m/s3]
  S brake_share;   // [1]
  S time_left;     // up to the end of the phase or of the ride [s]
  M stale;
  M alive;
  M touches;
  M compresses;
  S way;  // 1: compresses, -1: extends
  State<S> y0;
  Outputs<S> begin;

  // choose_step()
  S ahead;    // of the wheel on its piece [m]
  M forward;  // the wheel rolls so
  S pace;     // of the wheel [m/s]
  S gap;      // to the end of the piece that way [m]
  S wanted;   // step without an event or an end ahead [s]
  S h;
  M stops;  // at the end of the phase

  // evaluate(): the state at the end, and what rounding left out of it.
  S y1[kLaneStates];
  S rest[kLaneStates];
  Outputs<S> middle;
  Outputs<S> end;
  S wheel_at_end;  // on its piece [m]
  S cosine_at_end;
  S wheel_speed_at_end;

  // estimate()
  S error;
  M sound;  // no number was lost
  M good;

  // find_events(): as shares of the step, and which.
  M moving;
  S event;
  M turned;
  M turned_before;    // at the begin already
  Extreme<S> valley;  // of the tyre's law
  M lifts;
  M lifted_before;
  M meets;
  M met_before;
  S near_kink;  // nearer to the end of a piece than this a kink is met [m]
  S over;       // past the end ahead [m]
  M ran_past;
  M ran_back;

  // judge_step()
  M overshot;
  M flips;  // an event at the begin: nothing passes but the mode
  M coarse;
  M accepted;
  M counted;  // accepted, and time passes
};

// What the bookkeeping hears of a try: a bit a lane, the first lowest.
template <class S>
struct LaneNews {
  using Row = typename S::Real[S::kSize];

  std::uint32_t goes_on;  // past the end of its piece,
  std::uint32_t onward;   // forward
  std::uint32_t noted;    // more than that: only then what follows is set
  std::uint32_t evaluated;
  std::uint32_t gives_up;
  std::uint32_t turns;
  std::uint32_t bumps;
  std::uint32_t tops;
  std::uint32_t strikes;
  std::uint32_t knocks;
  std::uint32_t leaves;
  std::uint32_t lands;
  std::uint32_t stops;
  alignas(64) Row wheel;      // on its piece, at the end [m]
  alignas(64) Row near_kink;  // [m]
  alignas(64) Row travel;     // at the begin; set with the rest of `noted`
  alignas(64) Row travel_speed;
};

}  // namespace plunge
