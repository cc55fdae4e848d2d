// From scripted ground to the path of the wheel's centre.
//
// The ground y(s) is a chain of features, each starting where the one before it ends:
//   flat      straight, at an angle; the next feature starts at the height reached
//   bump      one obstacle on the level of its start, of length l and height H (H < 0: a hollow):
//             half_sine  y = H sin(pi s/l)
//             cosine     y = H/2 (1 - cos(2 pi s/l))                     smooth at both ends
//             square     straight up, level for l, straight down
//             ramp       straight line up over l, then straight down
//             root       circular arc of chord l and height H <= l/2
//   bumps     `count` such bumps, start to start `spacing` >= length, level between; ends where the
//             last one ends
//   drop      straight down by `height`, then a landing that falls at `landing_angle` for
//             `landing_length`, then a circular arc of horizontal length `run_out` back to level
//             (landing_angle 0: flat at once)
//   rough     random ground of displacement spectrum G_d(n) = G_d(n0) (n/n0)^-2, n0 = 0.1 1/m
//             (ISO 8608), between two wavelengths, with random phases from `seed`; rises from its
//             level and returns to it over `fade` (rough.hpp)
//   profile   measured distance and height, each counted from its first, heights times `scale`;
//             joined by straight lines or by a smooth curve (natural cubic spline, C2)
// Before s = 0 the ground is level, or as steep as a flat that comes first; after the end it goes
// on level, or as steep as a flat that comes last.
//
// A wheel is a circle of radius R. Its centre path is the upper envelope (dilation)
//   h(s) = max over u of  y(s + u) + f(u),   f(u) = sqrt(R^2 - u^2) - R
// so a square edge or a drop's lip becomes a finite arc. Beyond kSteepestContact the circle is
// continued by its tangents, so a vertical drop leaves a path of slope -kSteepestContact.
// A wheel may instead read the ground as a point (h = y; only where y has no step) or as the
// moving average of y over a length (the enveloping of the Golden Car).
//
// Not here: how the path is found (envelope.hpp), rolling the wheel in time
// (models/laws/quarter_rider.hpp), reading CSV (sim/profile_file).
// Sources: ISO 8608:2016 (spectrum); dilation by a disc: common mathematical morphology.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "models/setup/fault.hpp"
#include "models/setup/setup.hpp"
#include "sim/ground/grade_line.hpp"
#include "sim/ground/wheel_path.hpp"

namespace plunge {

// Steepest slope of the ground that the round wheel touches as a circle, and that a point follows
// [1].
inline constexpr double kSteepestContact = 4.0;

struct Ground {
  WheelPath path;                 // of the wheel's centre
  GradeLine grade;                // that the bike rides on
  double length = 0.0;            // where the last feature ends [m]
  std::vector<double> distance;   // for drawing: the ground itself
  std::vector<double> elevation;  // vertical faces appear as two points of one distance
};

// The tallest vertical step that a wheel of this radius climbs [m]: the height of its round part,
// R (1 - cos(atan(kSteepestContact))).
double tallest_step(double wheel_radius);

// Builds the path. The features must have passed judge(). Throws InputError, naming the feature by
// its place in the list counted from 0 ("terrain[3].height"), where
//   - a number that the feature needs is not given;
//   - the fade of rough ground is neither 0 nor from kShortestFade to half of its length;
//   - a round wheel meets a step up, or a rise steeper than kSteepestContact, taller than
//     tallest_step();
//   - a point meets a step, or ground steeper than kSteepestContact.
Ground build_ground(const std::vector<Feature>& features, const BikeSetup& bike);

// What build_ground() would refuse, without the work of finding the path.
Faults judge_ground(const std::vector<Feature>& features, const BikeSetup& bike);

// The grade that the bike rides on alone, as build_ground() makes it, of a ground without faults.
GradeLine build_grade(const std::vector<Feature>& features, const BikeSetup& bike);

// The feature that rises (or falls) most between two places, weighted as the grade weights them,
// and the number of it that says how steep it is; none: nothing rises there.
struct Steepest {
  std::size_t feature = 0;
  std::string field;
};
std::optional<Steepest> steepest_feature(const std::vector<Feature>& features, double from,
                                         double to, bool rising);

}  // namespace plunge
