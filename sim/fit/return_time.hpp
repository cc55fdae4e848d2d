// The time in which a wheel that hangs free comes back after it was held at a travel and let go.
//
//   m_u x'' = -(F(x) - D(-x') - F_C) - m_u g sin(angle),   x(0) = x0, x'(0) = 0
//
// m_u: unsprung mass [kg]; F: spring force, isentropic from x0 [N]; D: rebound damping; F_C:
// friction of the seals, legs unloaded. The frame is held still, the tyre touches nothing, and the
// clock stops well above full extension: a fork that comes back fast rests before it, as its main
// air has lost heat while it was held and its negative air is squeezed. Runge-Kutta's classical
// rule at kReturnStep; where x passes the line, linear between two steps. Not here: bushings, which
// carry no side load then.
#pragma once

#include "models/setup/assemble.hpp"

namespace plunge {

inline constexpr double kReturnStep = 2e-4;     // [s], chosen: 0.01 ms of error in the time
inline constexpr double kLongestReturn = 20.0;  // [s], chosen

// NaN where it does not come back within kLongestReturn.
double return_time(const Rider& rider, double from, double until, double angle);

}  // namespace plunge
