// Ambient pressure by altitude in the standard atmosphere.
//
//   p(H) = p0 (1 - L H/T0)^(g/(R L))          [Pa],  H: geopotential altitude [m]
//
// Valid from -2000 m to 11 000 m (the troposphere). The trail's own weather is not in it.
// Source: ISO 2533:1975, equation for a layer of constant lapse rate.
#pragma once

#include <cmath>

#include "models/laws/constants.hpp"

namespace plunge {

inline double ambient_pressure(double altitude) {
  const double exponent = kGravity / (kAirConstant * kLapseRate);
  return kSeaLevelPressure * std::pow(1.0 - kLapseRate * altitude / kSeaLevelTemperature, exponent);
}

}  // namespace plunge
