// What a fork has left between its deepest travel and metal: by how much its hardest hit could
// grow.
//
//   E = integral from x to L of F_fast + F_bumper                                   [J]
//   h = E/(m g) - (L - x) sin(theta),  at least 0,   m = m_s + m_u + m_r            [m]
//
// F_fast: springs without heat from the sag on, the way of a quick stroke (statics.hpp). Damper and
// friction, which take more the faster the hit is, are left out: E is what is left at least. h is
// the height from which the mass that lands could fall on top: its potential energy over h and over
// what the fork then sinks further is E. A landing that falls away takes more than h.
// Source: our own definitions.
#pragma once

#include "models/setup/assemble.hpp"

namespace plunge {

// from: sag [m]; x: deepest travel [m], past L nothing is left.
double energy_to_metal(const Rider& rider, double from, double x);

// energy: E [J].
double drop_to_metal(const Rider& rider, double energy, double x);

}  // namespace plunge
