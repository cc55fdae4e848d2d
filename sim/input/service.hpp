// What a fork's file says of working on it, and how much it may say (service_reader.hpp).
#pragma once

#include <cmath>
#include <cstddef>
#include <string>
#include <vector>

#include "models/laws/constants.hpp"

namespace plunge {

inline constexpr std::size_t kLongestServiceText = 80;  // letters of a tool, a step, ...: chosen
inline constexpr std::size_t kMostServiceTools = 6;     // chosen
inline constexpr std::size_t kMostServiceSteps = 8;     // chosen
inline constexpr double kLeastTorque = 0.5;             // [N m], chosen
inline constexpr double kMostTorque = 100.0;            // [N m], chosen

struct Service {
  std::string cap;            // what turns it: "28 mm socket without chamfer"
  double torque = kUnset;     // of the cap [N m]
  std::string torque_source;  // where that comes from, in words
  std::vector<std::string> tools;
  std::vector<std::string> steps;  // in their order

  // Whether it says nothing.
  bool empty() const { return cap.empty() && std::isnan(torque) && tools.empty() && steps.empty(); }
};

}  // namespace plunge
