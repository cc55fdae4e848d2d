// What the model of a fork says that each instrument would read.
//
//   pump_on      (p + p_amb) (V + V_h)/(V + V_h - A+ x) - p_amb        slow: isothermal
//   pump_again   p_x V(x)/(V(x) + V_h),  p_x: gauge pressure in the main chamber at x
//   sag          x of  F_slow(x) = w g sin(angle) -/+ F_C(w g cos(angle)),  - came down, + came up
//   push         (F_spring(x) +/- F_C)/g,                                   + goes in, - comes back
//   spacers      count v_spacer        bore  sqrt(4 A+/pi)        wheel  share m_u
//   ring         largest travel of the scene, ridden by the adaptive integrator
//   return       return_time.hpp
//
// p is what the gauge showed at full extension times its gain, which is common to all readings of a
// pressure; what it shows later is divided by the same gain. V: main chamber with its spacers, V_h:
// hose. F_spring is the spring's alone: a push goes no further than to where the bumper is met, or
// is made without it.
// Not here: the search for numbers that agree with the readings (fork_fit.hpp).
#pragma once

#include <vector>

#include "models/setup/setup.hpp"
#include "sim/fit/readings.hpp"

namespace plunge {

// A reading with the scene that a ring was read in, its fork left aside.
struct BenchReading {
  Reading reading;
  Setup scene;
};

// NaN where the fork cannot be read so, or its ride fails.
double predicted(const Setup& fork, double gauge_gain, const BenchReading& bench);

// Spread of a reading with what setting and travel leave open, through the model at that fork.
double whole_spread(const Setup& fork, double gauge_gain, const Instruments& instruments,
                    const BenchReading& bench);

}  // namespace plunge
