// The prescribed part of a ride at one instant: the rider's line along the ground and the path
// under the wheel.
//
//   s, v = s', a = v'   distance, speed and acceleration of the frame along the ground
//   B_wanted            braking force that the rider wants at the front wheel
//   g                   load along the plane of the bike, g0/cos(lean)
//   h(s), h'(s), h''(s) height of the wheel centre less the wheel radius, its slope and curvature
//
// How they come about: models/setup/ride_line.hpp, sim/ground/wheel_path.hpp.
#pragma once

namespace plunge {

template <class S>
struct Motion {
  S distance{};      // s [m]
  S speed{};         // v [m/s]
  S acceleration{};  // a [m/s2]
  S brake_wanted{};  // [N]
  S gravity{};       // g [m/s2]
};

template <class S>
struct PathPoint {
  S height{};     // h [m]
  S slope{};      // h' [1]
  S curvature{};  // h'' [1/m]
};

}  // namespace plunge
