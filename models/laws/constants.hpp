// Physical constants, each with its unit and where it comes from.
#pragma once

#include <limits>

namespace plunge {

inline constexpr double kPi = 3.14159265358979323846;
inline constexpr double kInfinity = std::numeric_limits<double>::infinity();

// Standard acceleration of free fall [m/s2]: defined, ISO 80000-3.
inline constexpr double kGravity = 9.80665;

// Ratio of specific heats of air [1]: diatomic ideal gas, cp/cv = 7/5.
inline constexpr double kGamma = 1.4;

// Specific gas constant of dry air [J/(kg.K)]: ISO 2533:1975.
inline constexpr double kAirConstant = 287.05287;

// Heat capacity of air at constant volume [J/(kg.K)]: derived, R/(gamma - 1).
inline constexpr double kAirHeatCapacity = kAirConstant / (kGamma - 1.0);

// Pressure [Pa], temperature [K] and lapse rate [K/m] at sea level: ISO 2533:1975, table 1.
inline constexpr double kSeaLevelPressure = 101325.0;
inline constexpr double kSeaLevelTemperature = 288.15;
inline constexpr double kLapseRate = 0.0065;

// Density of the air that a rider meets [kg/m3]: of dry air at 20 degC at sea level, ISO 2533.
inline constexpr double kAirDensity = 1.2;

// 0 degC in kelvin: defined, ISO 80000-5.
inline constexpr double kZeroCelsius = 273.15;

// A parameter that nobody has set. NaN, so that every "must hold" condition on it fails.
inline constexpr double kUnset = std::numeric_limits<double>::quiet_NaN();

}  // namespace plunge
