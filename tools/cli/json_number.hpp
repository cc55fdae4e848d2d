// JSON as the verbs print it.
#pragma once

#include <cmath>
#include <nlohmann/json.hpp>
#include <string>

#include "models/setup/shown.hpp"

namespace plunge {

// A number; what is not a number becomes null.
inline nlohmann::ordered_json json_number(double value) {
  return std::isfinite(value) ? nlohmann::ordered_json(value) : nlohmann::ordered_json(nullptr);
}

// The text of a value, valid whatever its strings are: one that is not UTF-8, such as the name of a
// file may be, is shown (models/setup/shown.hpp).
std::string json_text(const nlohmann::ordered_json& value);
std::string json_line(const nlohmann::ordered_json& value);  // the same without line breaks

}  // namespace plunge
