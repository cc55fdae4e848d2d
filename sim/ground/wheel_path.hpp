// The path of the wheel's centre over the ground: height, slope and curvature along the distance.
//
//   h(s)   height of the wheel centre less the wheel radius [m], 0 on the starting flat
//   h'(s)  slope [1], h''(s) curvature of the graph [1/m]
//
// s: distance along the ground [m]. The path is a chain of polynomial pieces of degree five or
// less that join with equal height and slope. Where the ground touches a round wheel at two points
// at once the slope jumps: a *kink*. The run of pieces between two kinks is a *stretch*. Inside a
// stretch the curvature is continuous too, except at the knots where the ground itself changes
// curvature (a straight meets an arc, the wheel begins to pivot about an edge): there it may jump.
// An integrator stops at a kink; at a jump of curvature its error control is enough. A stretch may
// be evaluated a little past its ends (its end polynomials go on), so that a step that overshoots
// a kink still sees a smooth path until the kink is located.
//
// Before the first and after the last knot the path goes on as a straight line.
// Evaluation changes nothing, so several threads may share a path.
// Not here: how ground becomes a path (sim/ground/terrain.hpp).
#pragma once

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "models/laws/motion.hpp"

namespace plunge {

// One polynomial piece: h(s) = sum c[k] (s - start)^k, k = 0..5, on [start, end of piece).
struct PathPiece {
  double start = 0.0;
  std::array<double, 6> c{};
};

// Pieces first to last, both included, between the kinks at begin and end [m]; -inf and +inf at the
// outer ends of the path.
struct Stretch {
  std::size_t first = 0;
  std::size_t last = 0;
  double begin = 0.0;
  double end = 0.0;
};

class WheelPath {
 public:
  static constexpr double kJoinHeight = 1e-6;  // [m]
  static constexpr double kJoinSlope = 1e-5;   // [1]

  // pieces in rising order of start; kinks: the piece numbers (> 0) at whose start the slope
  // jumps. The first piece also serves s < pieces[0].start and must be linear, so must the last.
  // Throws std::invalid_argument where this does not hold, a number is not finite, or neighbours
  // differ in height by more than kJoinHeight or, away from a kink, in slope by more than
  // kJoinSlope.
  WheelPath(std::vector<PathPiece> pieces, const std::vector<std::size_t>& kinks);

  // A level path.
  static WheelPath level();

  const std::vector<PathPiece>& pieces() const { return pieces_; }
  const std::vector<Stretch>& stretches() const { return stretches_; }

  // The stretch that holds s; at a kink, the one that follows it.
  std::size_t stretch_at(double s) const;

  // The path at s, always from a piece of the given stretch.
  PathPoint<double> at(double s, const Stretch& stretch) const {
    return evaluate(pieces_[piece_at(s, stretch)], s);
  }
  PathPoint<double> at(double s) const { return at(s, stretches_[stretch_at(s)]); }

  static PathPoint<double> evaluate(const PathPiece& piece, double s) {
    const double u = s - piece.start;
    const auto& c = piece.c;
    return {c[0] + u * (c[1] + u * (c[2] + u * (c[3] + u * (c[4] + u * c[5])))),
            c[1] + u * (2.0 * c[2] + u * (3.0 * c[3] + u * (4.0 * c[4] + u * 5.0 * c[5]))),
            2.0 * c[2] + u * (6.0 * c[3] + u * (12.0 * c[4] + u * 20.0 * c[5]))};
  }

 private:
  // The piece that holds s, held to the pieces of the stretch.
  std::size_t piece_at(double s, const Stretch& stretch) const {
    const double place = (s - bucket_start_) * buckets_per_metre_;
    const std::size_t last_bucket = bucket_.size() - 1;
    std::size_t bucket = 0;
    if (place >= static_cast<double>(last_bucket)) {
      bucket = last_bucket;
    } else if (place > 0.0) {
      bucket = static_cast<std::size_t>(place);
    }
    std::size_t i = std::clamp<std::size_t>(bucket_[bucket], stretch.first, stretch.last);
    while (i < stretch.last && starts_[i + 1] <= s) ++i;
    return i;
  }

  std::vector<PathPiece> pieces_;
  std::vector<double> starts_;  // of the pieces, side by side for the scan
  std::vector<Stretch> stretches_;
  std::vector<std::uint32_t> bucket_;  // first piece that reaches into each bucket of equal width
  double bucket_start_ = 0.0;
  double buckets_per_metre_ = 0.0;
};

// The quintic that takes given height, slope and curvature at both ends of [start, end].
PathPiece quintic_between(double start, const PathPoint<double>& a, double end,
                          const PathPoint<double>& b);

}  // namespace plunge
