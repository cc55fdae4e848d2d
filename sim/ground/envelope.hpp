// Rolling a wheel over ground: from curves to the path of its centre.
//
// A round wheel of radius R touches the ground where its centre is lowest without cutting into it,
//   h(s) = max over u of  y(s + u) + f(u),   f(u) = sqrt(R^2 - u^2) - R   while |f'(u)| <= m_max
// and f continues beyond as a straight line of slope -m_max or m_max. f is concave, so the place of
// contact c(s) never goes back while s goes on, and any two parts of the ground take over from one
// another at most once. That is what the method rests on: the ground is cut into parts that a wheel
// can touch one point after another (nowhere steeper than m_max, nowhere hollow tighter than R) and
// single edges; each part alone has a smooth path; the upper envelope of these paths, part by part
// from the left, is h. On a part, with contact at c and theta the angle of the ground there,
//   s = c - R sin(theta),  h' = y'(c),  h'' = y''(c)/(1 - R y''(c) cos^3(theta));
// about an edge the path is f itself. Places where one part takes over from another are found to
// rounding; between them the path is fitted by polynomials.
//
// A point follows y itself. A moving average of length b follows
//   h(s) = 1/b  integral of y from s - b/2 to s + b/2
// which has a kink where a vertical face enters or leaves the window.
//
// Fit: off by at most kFitHeight in height and kFitSlope in slope. Straight parts are exact, and so
// are the parabolas of a moving average over straight ground.
// Not here: which ground a wheel cannot follow (terrain.hpp).
// Source: dilation by a concave structuring function, common mathematical morphology.
#pragma once

#include "sim/ground/ground_curve.hpp"
#include "sim/ground/wheel_path.hpp"

namespace plunge {

inline constexpr double kFitHeight = 1e-8;  // [m]
inline constexpr double kFitSlope = 1e-6;   // [1]

// Smallest jump of slope that is a kink of the path [1]. What is less is rounding.
inline constexpr double kLeastKink = 1e-9;

// The ground: curves from -inf to +inf, the first and the last of them lines.
WheelPath circle_path(const GroundCurves& ground, double radius, double steepest);

// Heights must agree where curves join.
WheelPath point_path(const GroundCurves& ground);

WheelPath average_path(const GroundCurves& ground, double length);

}  // namespace plunge
