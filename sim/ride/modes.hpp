// Small motions about the sag: natural frequencies, damping ratios, transmissibility.
//
//   y' = A y + b_h h + b_s h'       about a steady ride on a grade; h, h': what ground
//                                   adds to height and slope of the path
//   det(A - lambda I) = 0           f_n = |lambda|/2 pi [Hz], damping ratio = -Re(lambda)/|lambda|
//   Y/H(j w) = (j w I - A)^-1 (b_h + j w/v b_s),  h' = (dh/dt)/v at forward speed v
//
// A and b are central differences of the equations of motion (quarter_rider.hpp), so the gas brings
// its own stiffening and loss. Friction is left out: small motions slide no bristle, large ones are
// not linear. A damper's slope at rest differs by direction: the modes are given for the slope of
// compression both ways, for that of rebound both ways, and for the mean of both, which the
// transmissibility takes.
// Real eigenvalues (heat, overdamped motions) have a damping ratio of 1 or more by convention:
// each is given as |lambda|/2 pi and ratio 1.
// Source: linear vibration theory, e.g. Meirovitch, Fundamentals of Vibrations, ch. 7.
#pragma once

#include <string>
#include <vector>

#include "models/setup/setup.hpp"

namespace plunge {

struct Mode {
  double real = 0.0;       // of the eigenvalue [1/s]
  double imaginary = 0.0;  // >= 0 [1/s]
  double frequency = 0.0;  // undamped natural frequency [Hz]
  double damping = 0.0;    // ratio [1]
  std::string moves;       // what moves most: "wheel", "frame", "upper body", "gas heat"
};

struct Transmissibility {
  double frequency = 0.0;     // [Hz]
  double frame = 0.0;         // |Z_s/H| [1]
  double body = 0.0;          // |Z_r/H| [1]
  double travel = 0.0;        // |X/H| [1]
  double ground_force = 0.0;  // |N/H| [N/m]
};

struct ModeReport {
  std::vector<Mode> modes;         // by rising frequency, with the mean slope
  std::vector<Mode> compression;   // with that of compression
  std::vector<Mode> rebound;       // with that of rebound
  double compression_slope = 0.0;  // at rest [N.s/m]
  double rebound_slope = 0.0;
  double travel = 0.0;  // about which the fork moves [m]
  std::vector<Transmissibility> transmissibility;
};

// At the speed at which the ride begins, on an even grade [rad], negative downhill; brakes and
// drive hold the speed. The Setup must have passed judge(). Throws InputError where a wheel would
// lift.
ModeReport find_modes(const Setup& setup, const std::vector<double>& frequencies,
                      double grade = 0.0);

}  // namespace plunge
