// Random ground of a given displacement spectrum.
//
//   G_d(n) = G_d(n0) (n/n0)^-2,  n0 = 0.1 1/m,  for 1/longest <= n <= 1/shortest, otherwise 0
//
// n: spatial frequency [1/m]. G_d: one-sided power spectral density of the height [m3], so that
// the mean square of the height in the band is the integral of G_d over n,
// G_d(n0) n0^2 (longest - shortest).
//
// Heights are a sum of cosines of fixed amplitude and random phase on an even comb of frequencies:
// each carries the mean square of its tooth of the comb exactly. The comb repeats after a period
// that is longer than the ground and than eight of the longest waves. Slope and curvature are the
// exact derivatives of the same sum, so a quintic through two nodes is off by less than 1e-5 of the
// amplitude of the shortest wave (kNodesPerWave of them to that wave, or to the fade if it is
// shorter).
//
// Over `fade` at both ends the height is multiplied by 10 t^3 - 15 t^4 + 6 t^5, so that the ground
// leaves its level and returns to it with slope and curvature 0. Without fade it begins and ends
// where the sum happens to be.
//
// One seed always gives the same ground: the generator and its use are fixed here, not left to a
// library's distributions.
// Source: ISO 8608:2016.
#pragma once

#include <cstdint>
#include <vector>

#include "models/setup/judge.hpp"
#include "sim/ground/wheel_path.hpp"

namespace plunge {

// Reference spatial frequency of ISO 8608 [1/m].
inline constexpr double kReferenceFrequency = 0.1;

// Nodes per shortest wave and per fade, at least.
inline constexpr double kNodesPerWave = 8.0;

struct Roughness {
  double density = 0.0;   // G_d(n0) [m3]
  double longest = 0.0;   // longest wavelength [m]
  double shortest = 0.0;  // shortest wavelength [m]
  double fade = 0.0;      // [m], 0 or at least kShortestFade, at most half of the length
  std::uint64_t seed = 0;
};

// Height, slope and curvature at evenly spaced nodes; the first at 0, the last at the length.
struct RoughGround {
  double step = 0.0;  // between nodes [m]
  std::vector<PathPoint<double>> nodes;
};

RoughGround rough_ground(const Roughness& roughness, double length);

}  // namespace plunge
