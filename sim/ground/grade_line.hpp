// The grade that a bike rides on: the slope of the ground, smoothed over the length of a bike.
//
//   T(s) = integral of w(u) y'(s + u) du,  w(u) = (1 + cos(2 pi u/l))/l  for |u| < l/2
//
// y': slope of the ground, of which vertical faces of kLeastFace or more are taken out (the jump
// in height is left out): a wheel falls off such a face, it does not ride down it. l: length of the
// window [m]; 0: the bike stays level. T is worked out at nodes l/32 apart and joined by the cubic
// spline whose second derivative is continuous, so that pitch, its rate and its acceleration have
// no jumps; smaller faces, whose T'' would jump half a window before and behind them, are so spread
// over a node or two.
//
// Evaluation changes nothing, so several threads may share a line.
// Not here: how features become curves (terrain.hpp), what the bike does on the line
// (models/laws/course.hpp). Source: our own; the length of the window was chosen by comparison with
// a planar whole bike.
#pragma once

#include <algorithm>
#include <array>
#include <cstddef>
#include <vector>

#include "models/laws/motion.hpp"
#include "sim/ground/ground_curve.hpp"

namespace plunge {

// A vertical face from this height on is no part of the line [m]: engineering estimate.
inline constexpr double kLeastFace = 0.15;

// T = c0 + u (c1 + u (c2 + u c3)), u from the piece's start.
struct GradePiece {
  std::array<double, 4> c{};
};

class GradeLine {
 public:
  // Level everywhere.
  GradeLine() = default;
  // The curves as terrain.cpp lays them: the first from -inf, the last to inf, both straight.
  // middle: how far the middle of the bike is behind its place [m].
  GradeLine(const GroundCurves& curves, double window, double middle);

  bool level() const { return pieces_.empty(); }

  // Under a bike whose front is at s.
  Grade<double> at(double s) const {
    if (pieces_.empty()) return {};
    const std::size_t i = piece_at(s);
    return evaluate(pieces_[i], s - start_of(i));
  }

  // Evenly long pieces; the first and the last go on for ever with an even slope.
  std::size_t piece_at(double s) const {
    const double place = (s - start_) * per_step_;
    if (!(place > 0.0)) return 0;
    return std::min(static_cast<std::size_t>(place), pieces_.size() - 1);
  }
  double start_of(std::size_t piece) const { return start_ + static_cast<double>(piece) * step_; }
  double step() const { return step_; }
  const std::vector<GradePiece>& pieces() const { return pieces_; }

  static Grade<double> evaluate(const GradePiece& p, double u) {
    const auto& c = p.c;
    return {c[0] + u * (c[1] + u * (c[2] + u * c[3])), c[1] + u * (2.0 * c[2] + u * 3.0 * c[3]),
            2.0 * c[2] + u * 6.0 * c[3]};
  }

 private:
  double start_ = 0.0;
  double step_ = 1.0;
  double per_step_ = 1.0;
  std::vector<GradePiece> pieces_;  // none: level
};

}  // namespace plunge
