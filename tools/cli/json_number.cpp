#include "tools/cli/json_number.hpp"

#include <algorithm>
#include <string_view>

namespace plunge {
namespace {

using Json = nlohmann::ordered_json;

std::string valid(const std::string& text) {
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t length = character_length(text, at);
    if (length == 0) return shown(text);
    at += length;
  }
  return text;
}

Json with_valid_strings(const Json& value) {
  if (value.is_string()) return valid(value.get_ref<const std::string&>());
  if (value.is_array()) {
    Json list = Json::array();
    for (const Json& item : value) list.push_back(with_valid_strings(item));
    return list;
  }
  if (value.is_object()) {
    Json object = Json::object();
    for (const auto& [key, item] : value.items()) object[valid(key)] = with_valid_strings(item);
    return object;
  }
  return value;
}

}  // namespace

Json faults_json(const Faults& faults) {
  Json list = Json::array();
  for (const Fault& fault : faults) {
    list.push_back({{"file", fault.place.file},
                    {"line", fault.place.line},
                    {"column", fault.place.column},
                    {"key", fault.key},
                    {"value", fault.value},
                    {"rule", fault.rule}});
  }
  return list;
}

Json located_json(const std::vector<Located>& events) {
  Json list = Json::array();
  for (const Located& event : events) {
    list.push_back(
        {{"time", event.time}, {"distance", json_number(event.distance)}, {"what", event.what}});
  }
  return list;
}

Json bands_json(const RideBands& bands, const OpenRide& open) {
  Json numbers = Json::object();
  for (const OpenNumber& number : open.numbers) {
    if (!number.band.known()) continue;
    Json causes = Json::array();
    for (const BandCause& cause : number.causes) {
      causes.push_back({{"cause", cause.words}, {"share", json_number(cause.share)}});
    }
    numbers[number.name] = {{"low", json_number(number.band.low)},
                            {"high", json_number(number.band.high)},
                            {"applies", json_number(number.applies)},
                            {"from", causes}};
    if (!number.change.known()) continue;
    numbers[number.name]["change"] = {{"low", json_number(number.change.low)},
                                      {"high", json_number(number.change.high)}};
  }
  return {{"draws", bands.draws}, {"failed", open.failed}, {"numbers", numbers}};
}

std::string json_text(const Json& value) { return shown_json(with_valid_strings(value).dump(2)); }

std::string json_line(const Json& value) { return shown_json(with_valid_strings(value).dump()); }

}  // namespace plunge
