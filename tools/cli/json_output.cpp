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

Json ride_object(const Result& ride) {
  Json object = {{"label", ride.label},
                 {"set", by_name(ride.set)},
                 {"held", by_name(ride.held)},
                 {"metrics", by_name(ride.metrics)},
                 {"energy", by_name(ride.energy)},
                 {"solver", by_name(ride.solver)},
                 {"located", located_json(ride.located)}};
  if (!ride.failure.empty()) object["failure"] = ride.failure;
  return object;
}

Json reading_object(const DamperReading& reading) {
  return {{"slope_at_rest", json_number(reading.slope_at_rest)},
          {"knee", json_number(reading.knee)},
          {"knee_force", json_number(reading.knee_force)},
          {"read_force", numbers({reading.force.begin(), reading.force.end()})}};
}

Json mode_list(const std::vector<Mode>& modes) {
  Json list = Json::array();
  for (const Mode& mode : modes) {
    list.push_back({{"frequency", mode.frequency},
                    {"damping_ratio", mode.damping},
                    {"real", mode.real},
                    {"imaginary", mode.imaginary},
                    {"moves", mode.moves}});
  }
  return list;
}

Json adjuster_object(const ClickReadings& readings) {
  Json clicks = Json::array();
  for (const ClickReading& one : readings.clicks) {
    Json object = {{"clicks", one.clicks}};
    object.update(reading_object(one.reading));
    object["force"] = numbers(one.force);
    clicks.push_back(object);
  }
  return {{"adjusts", to_string(readings.adjuster.adjusts)},
          {"as_set", readings.as_set},
          {"by_click", clicks}};
}

}  // namespace

void put_rides_json(const std::vector<Result>& rides, const RideBands& bands,
                    const std::function<void(const std::string&)>& put) {
  put("{\n  \"rides\": [");
  for (std::size_t i = 0; i < rides.size(); ++i) {
    Json object = ride_object(rides[i]);
    if (!bands.empty()) object["bands"] = bands_json(bands, bands.rides[i]);
    std::string text = "\n" + json_text(object);
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
                    {"fork", curve.fork},
                    {"set", by_name(curve.set)},
                    {"held", by_name(curve.held)},
                    {"settings", by_name(curve.settings)},
                    {"load", json_number(curve.load)},
                    {"metrics", by_name(curve.metrics)},
                    {"travel", numbers(curve.travel)},
                    {"slow_force", numbers(curve.slow)},
                    {"fast_force", numbers(curve.fast)}});
    if (curve.bands.empty()) continue;
    list.back()["bands"] = bands_json(curve.bands, curve.bands.rides.front());
  }
  return json_text({{"curves", list}});
}

std::string dampers_json(const std::vector<DamperCurves>& dampers) {
  const std::vector<double> read_at(kReadSpeeds.begin(), kReadSpeeds.end());
  Json list = Json::array();
  for (const DamperCurves& damper : dampers) {
    Json object = {{"label", damper.label}, {"set", by_name(damper.set)}};
    for (const DirectionCurve& curve : damper.directions) {
      Json adjusters = Json::object();
      for (const ClickReadings& readings : curve.adjusters) {
        adjusters[std::string(readings.adjuster.key)] = adjuster_object(readings);
      }
      object[curve.name] = reading_object(curve.reading);
      object[curve.name].update({{"speed", numbers(curve.speed)},
                                 {"force", numbers(curve.force)},
                                 {"adjusters", adjusters}});
    }
    list.push_back(object);
  }
  return json_text({{"read_at", numbers(read_at)}, {"dampers", list}});
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
  Json rows = Json::array();
  for (const Transmissibility& row : report.transmissibility) {
    rows.push_back({{"frequency", row.frequency},
                    {"frame", json_number(row.frame)},
                    {"body", json_number(row.body)},
                    {"travel", json_number(row.travel)},
                    {"ground_force", json_number(row.ground_force)}});
  }
  return json_text({{"travel", json_number(report.travel)},
                    {"modes", mode_list(report.modes)},
                    {"compression",
                     {{"slope_at_rest", json_number(report.compression_slope)},
                      {"modes", mode_list(report.compression)}}},
                    {"rebound",
                     {{"slope_at_rest", json_number(report.rebound_slope)},
                      {"modes", mode_list(report.rebound)}}},
                    {"transmissibility", rows}});
}

std::string page_json(const std::string& file, std::size_t bytes) {
  return json_text({{"page", {{"file", file}, {"bytes", bytes}}}});
}

}  // namespace plunge
