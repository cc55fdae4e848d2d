// What a fork does with its strokes, from samples of its travel joined by straight lines.
//
//   deepest   the first largest sample, time and travel refined by the parabola through its
//             neighbours
//   return    from the deepest travel until the fork is first back at a height; overshoot: how far
//             past another height, towards extension, it goes before it comes in again past the
//             first; at least 0
//   strokes   rises past a line by a fork that was below another, lower one before: one that
//             trembles about the line counts once
//   recovery  of a fork that is let go, such as by a brake: settle time (statistics.hpp) to the
//             mean over the last kSettled of a stretch, which it must have settled before
//
// Sample i is taken at i/rate. Nothing where what is asked for does not come about. Every function
// throws std::invalid_argument for an empty signal. Source: our own definitions, after the settling
// time and the overshoot of control engineering.
#pragma once

#include <optional>
#include <span>

namespace plunge {

// Over which a fork that has settled rests [s]. Chosen: a fork swings at 1 to 3 Hz.
inline constexpr double kSettled = 0.5;

struct Deepest {
  double travel = 0.0;  // [m]
  double time = 0.0;    // [s]
};
Deepest deepest(std::span<const double> travel, double rate);

struct StrokeReturn {
  double time = 0.0;       // [s]
  double overshoot = 0.0;  // [m]
};
// back: travel at which it is back; height: what the overshoot counts from; height <= back.
std::optional<StrokeReturn> stroke_return(std::span<const double> travel, double rate, double back,
                                          double height);

// below < line.
int strokes_past(std::span<const double> travel, double line, double below);

// band: half its width [m]; counted from the first sample [s].
std::optional<double> recovery(std::span<const double> travel, double rate, double band);

}  // namespace plunge
