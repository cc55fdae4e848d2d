// JSON as the verbs print it.
#pragma once

#include <cmath>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "models/setup/fault.hpp"
#include "models/setup/shown.hpp"
#include "sim/measure/result.hpp"
#include "sim/report/ride_bands.hpp"

namespace plunge {

// A number; what is not a number becomes null.
inline nlohmann::ordered_json json_number(double value) {
  return std::isfinite(value) ? nlohmann::ordered_json(value) : nlohmann::ordered_json(nullptr);
}

// The values of a list under their names.
template <class Named>
nlohmann::ordered_json by_name(const std::vector<Named>& list) {
  auto object = nlohmann::ordered_json::object();
  for (const Named& item : list) object[item.name] = json_number(item.value);
  return object;
}

nlohmann::ordered_json faults_json(const Faults& faults);
nlohmann::ordered_json located_json(const std::vector<Located>& events);
// What is left open of each number of a variant that enough draws have.
nlohmann::ordered_json bands_json(const RideBands& bands, const OpenRide& open);

// The text of a value, valid whatever its strings are: one that is not UTF-8, such as the name of a
// file may be, is shown (models/setup/shown.hpp).
std::string json_text(const nlohmann::ordered_json& value);
std::string json_line(const nlohmann::ordered_json& value);  // the same without line breaks

}  // namespace plunge
