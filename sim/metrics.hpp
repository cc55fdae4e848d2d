// The numbers that sum up a ride and a fork, each defined once, here and in its long_name.
//
// Maxima come from the integrator's own looks at every step, between samples too. Means, shares,
// percentiles and weighted values come from the samples.
//
//   dive             travel in a braking (or cornering) event less the mean travel over the 0.5 s
//                    before it; steady: mean over the second half of the time at full effort;
//                    settle: time from full effort until the travel stays within 10 % of the steady
//                    dive, at least 1 mm. Given for the event with the largest dive.
//   packing          mean travel over the last pitch of a bump train less that over the first
//   metal energy     m_x v^2/2, m_x = m_u (m_s + m_u cos^2)/(m_s + m_u): kinetic energy of the
//                    closing fork as metal meets metal
//   hand, body       ISO 5349-1:2001 W_h rms and ISO 2631-1:1997 W_k vibration dose of the vertical
//                    acceleration of the sprung mass, at the bar (weighting.hpp)
//   tyre variation   rms about the mean over mean of the vertical tyre force
// Sources are named where each building block is defined (statistics.hpp, weighting.hpp,
// statics.hpp); the choice of windows is ours.
#pragma once

#include <vector>

#include "sim/run.hpp"

namespace plunge {

// Largest values found by the integrator's looks.
struct Peaks {
  double travel = 0.0;
  double fork_force = 0.0;
  double axle_force = 0.0;
  double hand_force = 0.0;           // size
  double sprung_acceleration = 0.0;  // size
  double damper_force = 0.0;         // size
};

struct Closing {
  double time = 0.0;
  double speed = 0.0;
};

// What a ride recorded besides its samples.
struct Record {
  Peaks peaks;
  std::vector<Closing> metal;  // closing of metal on metal
  int bumper_contacts = 0;
  int lift_offs = 0;
  int rim_strikes = 0;
  int top_outs = 0;
  double airborne_time = 0.0;  // [s]
  double end_time = 0.0;       // [s]
  double damper_work = 0.0;    // [J]
};

std::vector<Metric> ride_metrics(const Prepared& prepared, const Result& result,
                                 const Record& record);

// Sag, breakaway, stiffness, progression, gauge reading.
std::vector<Metric> static_metrics(const Rider& rider, const Setup& setup);

// The values of one channel. Throws std::out_of_range for a name that is not there.
const std::vector<double>& channel(const Result& result, const std::string& name);

}  // namespace plunge
