// The polynomial pieces that lanes read: of the wheel's path and of a damper's law.
#pragma once

#include <cstddef>
#include <cstdint>

namespace plunge {

// The wheel path for the lanes: overlapping polynomial pieces. A piece stays valid past the start
// of the next, so a step may cross it and the lane changes piece afterwards. No piece reaches over
// a kink; steps end there, and, of a wheel that rolls back, at the start of each piece.
struct WheelPiece {
  double start = 0.0;       // [m]
  double height = 0.0;      // at its start [m]
  float slope[5] = {};      // coefficients of u, u^2, ... u^5
  float length = 0.0F;      // to the start of the next [m]
  float reach = 0.0F;       // to the end of what it stands for [m]
  bool kink = false;        // the slope jumps at its start
  bool kink_after = false;  // and where its reach ends
};

inline constexpr double kLanePast = 2e-4;  // a step may begin or end so far outside [m]

// A piece of a damper's law: F = force + u (slope + u (c2 + u c3)), u = v - start.
struct LawPiece {
  float start = 0.0F;  // [m/s]
  float force = 0.0F;
  float slope = 0.0F;
  float c2 = 0.0F;
  float c3 = 0.0F;
};

// The first piece that a speed can lie in is found by the leading bits of the speed, an eighth of
// an octave each; bucket 0 holds all that is slower than the first octave.
inline constexpr int kLaneFirstOctave = -12;  // 2^-12 m/s
inline constexpr int kLaneOctaves = 20;
inline constexpr std::size_t kLaneBuckets = 8 * kLaneOctaves + 1;

// A damper's law as the step reads it; LaneLaw (lanes.hpp) keeps the arrays.
struct LawView {
  const LawPiece* pieces = nullptr;  // ended by one that starts at NaN; null: slopes
  const std::uint16_t* first = nullptr;
};

}  // namespace plunge
