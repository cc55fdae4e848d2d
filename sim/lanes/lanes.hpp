// Rides side by side in the lanes of a SIMD register.
//
// Each lane is a ride of its own, with its own time, step, modes and place on its path; when it
// ends the next ride takes its lane. The equations are QuarterRider's, on Pack (lane_pack.hpp).
//
//   Classical Runge-Kutta of fourth order; the fifth look, at the end of the step, is the first of
//   the next and gives the error h (k4 - k5)/10 of an embedded third-order rule.
//   Steps end on the kinks of the path, on changes of direction of the fork, and where the tyre
//   leaves or meets the ground: a step that overshoots one is taken again up to it. All other
//   switches follow from the state at each look; the error control sees their kinks.
//   The bristle of the friction follows the closed form of Friction::slid_evenly().
// Not here: energy audit; what is doubtful is said, not repaired (many_rides.cpp).
// Source: embedded weights 1/6, 1/3, 1/3, 1/15, 1/10: order conditions worked out by hand.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "sim/measure/metrics.hpp"
#include "sim/ride/run.hpp"

namespace plunge {

// A wheel's path as lanes read it: pieces that overlap where they can. Each holds past the start of
// the next, so that a step need not end where one piece ends: a lane goes on with the next piece
// after the step that has passed its start. No piece reaches over a kink; steps end there, and, of
// a wheel that rolls back, at the start of each piece.
struct LanePiece {
  double start = 0.0;       // [m]
  double height = 0.0;      // at its start [m]
  float slope[5] = {};      // coefficients of u, u^2, ... u^5
  float length = 0.0F;      // to the start of the next [m]
  float reach = 0.0F;       // to the end of what it stands for [m]
  bool kink = false;        // the slope jumps at its start
  bool kink_after = false;  // and where its reach ends
};

inline constexpr double kLanePast = 2e-4;       // a step may begin or end so far outside [m]
inline constexpr double kLaneFitHeight = 1e-6;  // how far a lane's path may be off [m]
inline constexpr double kLaneFitSlope = 1e-4;   // [1]

std::vector<LanePiece> lane_pieces(const WheelPath& path);

// A damper's law as lanes read it: the pieces of its table, or of its slopes, and the first piece
// that a speed can lie in, by the leading bits of the speed (an eighth of an octave each).
struct LanePieceOfLaw {
  float start = 0.0F;  // [m/s]
  float force = 0.0F;
  float slope = 0.0F;
  float c2 = 0.0F;
  float c3 = 0.0F;
};
inline constexpr int kLaneFirstOctave = -12;  // 2^-12 m/s
inline constexpr int kLaneOctaves = 20;
inline constexpr std::size_t kLaneBuckets = 8 * kLaneOctaves + 1;
struct LaneLaw {
  // Ended by one that starts at NaN, which no speed reaches: an infinite one neither, as a trial
  // step that is thrown away may bring.
  std::vector<LanePieceOfLaw> pieces;
  std::vector<std::uint16_t> first;  // kLaneBuckets of them
};
LaneLaw lane_law(const DamperLaw<double>& law);

// What rides in a lane.
struct LaneRide {
  const Rider* rider = nullptr;
  const RideLine* line = nullptr;
  const State<double>* start = nullptr;
  const std::vector<LanePiece>* path = nullptr;
  const LaneLaw* compression = nullptr;  // null, both: slopes
  const LaneLaw* rebound = nullptr;
};

// Samples of a ride at k/sample_rate, as far as they are wanted.
enum LaneChannel : std::size_t {
  kLaneTravel,
  kLaneTravelSpeed,
  kLaneSprungSpeed,
  kLaneSprungAcceleration,
  kLaneHandForce,
  kLaneGroundForce,
  kLaneForkForce,
  kLaneChannels
};

struct LaneWish {
  double sample_rate = 0.0;  // 0: no samples
  bool channels[kLaneChannels] = {};
  double stretch = 1.0;           // of the steps of a creeping fork and inside a stop [1]
  double tolerance = 1e-4;        // largest error of a step, in the usual size of each state
  double doubtful_force = 1.0;    // a tyre force nearer to lift-off than this is in doubt [N]
  double doubtful_travel = 1e-5;  // a travel nearer to a stop than this is in doubt [m]
};

struct LaneOutcome {
  Record record;
  std::vector<float> samples[kLaneChannels];
  std::uint64_t steps = 0;
  std::uint64_t tries = 0;
  std::uint32_t doubts = 0;  // of Doubt; 0: holds
};

enum Doubt : std::uint32_t {
  kDoubtLiftOff = 1,  // a tyre that nearly left the ground, or hardly
  kDoubtContact = 2,  // a fork that nearly reached a stop, or hardly
  kDoubtStuck = 4,    // the step shrank to nothing, or a number was lost
  kDoubtRim = 8,      // a rim that was nearly struck, or hardly
};

// Rides of one kind (same parts present, both or none with tables) and one wish, one outcome each.
void ride_lanes_portable(std::span<const LaneRide> rides, const LaneWish& wish,
                         std::span<LaneOutcome> outcomes);
void ride_lanes_avx2(std::span<const LaneRide> rides, const LaneWish& wish,
                     std::span<LaneOutcome> outcomes);
void ride_lanes_avx512(std::span<const LaneRide> rides, const LaneWish& wish,
                       std::span<LaneOutcome> outcomes);

}  // namespace plunge
