// The prescribed part of a ride at one instant: the rider's line along the ground, the grade that
// the bike rides on and the path under the wheel.
//
//   s, v = s', a = v'   distance, speed and acceleration of the frame, horizontal
//   brake share         part of the braking force that the rider asks of the front wheel
//   g                   load along the plane of the bike, g0/cos(lean)
//   T = tan(beta)       slope of the line that the bike's two wheels ride on, beta > 0 uphill;
//   T', T''             its first and second derivative by s
//   h(s), h'(s), h''(s) height of the wheel centre less the wheel radius, its slope and curvature
//
// How they come about: models/setup/ride_line.hpp, sim/ground/grade_line.hpp,
// sim/ground/wheel_path.hpp. What follows from them: course.hpp.
#pragma once

namespace plunge {

template <class S>
struct Grade {
  S slope{};  // T [1]
  S rate{};   // T' [1/m]
  S bend{};   // T'' [1/m2]
};

template <class S>
struct Motion {
  S distance{};      // s [m]
  S speed{};         // v [m/s]
  S acceleration{};  // a [m/s2]
  S brake_share{};   // [1]
  S gravity{};       // g [m/s2]
  Grade<S> grade{};
};

template <class S>
struct PathPoint {
  S height{};     // h [m]
  S slope{};      // h' [1]
  S curvature{};  // h'' [1/m]
};

}  // namespace plunge
