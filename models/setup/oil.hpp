// Viscosity of a damper oil over temperature.
//
//   log10 log10(nu + 0.7) = a - b log10 T            nu: kinematic viscosity [cSt], T [K]
//   mu = rho nu                                      dynamic viscosity [Pa.s]
//
// a and b from the two viscosities of a data sheet, at 40 and 100 degC. In SI nu is in m2/s,
// 1 cSt = 1e-6 m2/s.
// Valid from 2 cSt up: below, the standard adds terms that are left out here (at 2 cSt they are
// 7e-4 cSt). Not here: density over temperature (a few per cent), pressure, shear thinning.
// Source: ASTM D341 (the equation for 2 cSt and above).
#pragma once

#include <cmath>

#include "models/laws/constants.hpp"
#include "models/setup/setup.hpp"

namespace plunge {

// Discharge coefficient of a sharp-edged slot [1]: derived, free-streamline theory (Kirchhoff).
inline constexpr double kSharpEdgeDischarge = kPi / (kPi + 2.0);

// Lowest kinematic viscosity [m2/s] for which the equation holds: ASTM D341.
inline constexpr double kThinnestOil = 2e-6;

// Oil temperatures [K] for which a ride is taken, -50 and 150 degC: engineering estimate, as cold
// as the air may be and hotter than a damper gets; inside the standard's charts (memory).
inline constexpr double kColdestOil = kZeroCelsius - 50.0;
inline constexpr double kHottestOil = kZeroCelsius + 150.0;

// nu at a temperature [K], in m2/s.
inline double kinematic_viscosity(const OilSetup& oil, double temperature) {
  constexpr double kCentistokes = 1e-6;  // [m2/s]
  const auto double_log = [](double viscosity) {
    return std::log10(std::log10(viscosity / kCentistokes + 0.7));
  };
  const double log_40 = std::log10(kZeroCelsius + 40.0);
  const double log_100 = std::log10(kZeroCelsius + 100.0);
  const double at_40 = double_log(oil.viscosity_40);
  const double b = (at_40 - double_log(oil.viscosity_100)) / (log_100 - log_40);
  const double a = at_40 + b * log_40;
  const double at_temperature = std::pow(10.0, a - b * std::log10(temperature));
  return kCentistokes * (std::pow(10.0, at_temperature) - 0.7);
}

// mu of the oil at its own temperature [Pa.s].
inline double dynamic_viscosity(const OilSetup& oil) {
  return oil.density * kinematic_viscosity(oil, oil.temperature);
}

}  // namespace plunge
