// A number as JSON has it: what is not a number becomes null.
#pragma once

#include <cmath>
#include <nlohmann/json.hpp>

namespace plunge {

inline nlohmann::ordered_json json_number(double value) {
  return std::isfinite(value) ? nlohmann::ordered_json(value) : nlohmann::ordered_json(nullptr);
}

}  // namespace plunge
