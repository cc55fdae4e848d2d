#include "tools/cli/json_output.hpp"

#include <nlohmann/json.hpp>

#include "tools/cli/json_number.hpp"

namespace plunge {
namespace {

// Keys stay in the order in which they are put in.
using Json = nlohmann::ordered_json;

Json numbers(const std::vector<double>& values) {
  Json list = Json::array();
  for (const double value : values) list.push_back(json_number(value));
  return list;
}

template <class Named>
Json by_name(const std::vector<Named>& list) {
  Json object = Json::object();
  for (const Named& item : list) object[item.name] = json_number(item.value);
  return object;
}

Json ride_object(const Result& ride) {
  Json located = Json::array();
  for (const Located& event : ride.located) {
    located.push_back({{"time", event.time}, {"what", event.what}});
  }
  Json object = {{"label", ride.label},
                 {"set", by_name(ride.set)},
                 {"held", by_name(ride.held)},
                 {"metrics", by_name(ride.metrics)},
                 {"energy", by_name(ride.energy)},
                 {"solver", by_name(ride.solver)},
                 {"located", located}};
  if (!ride.failure.empty()) object["failure"] = ride.failure;
  return object;
}

}  // namespace

void put_rides_json(const std::vector<Result>& rides,
                    const std::function<void(const std::string&)>& put) {
  put("{\n  \"rides\": [");
  for (std::size_t i = 0; i < rides.size(); ++i) {
    std::string text = "\n" + json_text(ride_object(rides[i]));
    for (std::size_t line = 0; (line = text.find('\n', line)) != std::string::npos; line += 5) {
      text.insert(line + 1, "    ");
    }
    put(i == 0 ? text : "," + text);
  }
  put(rides.empty() ? "]\n}" : "\n  ]\n}");
}

std::string curves_json(const std::vector<CurveTable>& curves) {
  Json list = Json::array();
  for (const CurveTable& curve : curves) {
    list.push_back({{"label", curve.label},
                    {"set", by_name(curve.set)},
                    {"held", by_name(curve.held)},
                    {"metrics", by_name(curve.metrics)},
                    {"travel", numbers(curve.travel)},
                    {"slow_force", numbers(curve.slow)},
                    {"fast_force", numbers(curve.fast)}});
  }
  return json_text({{"curves", list}});
}

std::string comparison_json(const std::vector<FileRide>& rides) {
  Json list = Json::array();
  for (const FileRide& item : rides) {
    Json object = {{"file", item.file}, {"scene", item.scene}};
    object.update(ride_object(item.ride));
    list.push_back(object);
  }
  return json_text({{"rides", list}});
}

std::string modes_json(const ModeReport& report) {
  Json modes = Json::array();
  for (const Mode& mode : report.modes) {
    modes.push_back({{"frequency", mode.frequency},
                     {"damping_ratio", mode.damping},
                     {"real", mode.real},
                     {"imaginary", mode.imaginary},
                     {"moves", mode.moves}});
  }
  Json rows = Json::array();
  for (const Transmissibility& row : report.transmissibility) {
    rows.push_back({{"frequency", row.frequency},
                    {"frame", json_number(row.frame)},
                    {"body", json_number(row.body)},
                    {"travel", json_number(row.travel)},
                    {"ground_force", json_number(row.ground_force)}});
  }
  return json_text({{"modes", modes}, {"transmissibility", rows}});
}

}  // namespace plunge
