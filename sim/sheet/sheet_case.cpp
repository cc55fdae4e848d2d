#include "sim/sheet/sheet_case.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "models/setup/parameters.hpp"
#include "sim/input/scene_reader.hpp"
#include "sim/input/settle.hpp"
#include "sim/input/toml_values.hpp"
#include "sim/log/workshop_log.hpp"
#include "sim/search/settings.hpp"

namespace plunge {
namespace {

// A number that a request gives, and where it goes.
struct RequestKey {
  std::string_view knob;
  const char* option;
  std::string SheetRequest::*text;
};

constexpr RequestKey kSettingKeys[] = {
    {"fork.spacers", "--spacers", &SheetRequest::spacers},
    {"fork.pressure", "--pressure", &SheetRequest::pressure},
    {"fork.compression.clicks", "--compression", &SheetRequest::compression},
    {"fork.rebound.clicks", "--rebound", &SheetRequest::rebound},
};

constexpr RequestKey kAirKeys[] = {
    {"pumped.temperature", "--temperature", &SheetRequest::temperature},
    {"pumped.altitude", "--altitude", &SheetRequest::altitude},
    {"ambient.temperature", "--ride-temperature", &SheetRequest::ride_temperature},
    {"ambient.altitude", "--ride-altitude", &SheetRequest::ride_altitude},
};

// Puts what is given into a Setup; its own faults and those that a judge finds bear its option.
class Given {
 public:
  explicit Given(const SheetRequest& request) : request_(request) {}

  template <class Keys>
  bool put(const Keys& keys, Setup& setup) {
    bool any = false;
    for (const RequestKey& key : keys) {
      const std::string& text = request_.*key.text;
      if (text.empty()) continue;
      any = true;
      const Parameter& parameter = *find_parameter(key.knob);
      try {
        parameter.set(setup, number_from_text(text, {parameter.unit, parameter.whole}));
      } catch (const InputError& error) {
        faults_.push_back({key.option, text, error.faults().front().rule, {}});
      }
    }
    return any;
  }

  bool put_sag(Setup& setup) {
    if (request_.sag.empty()) return false;
    try {
      setup.hold = sag_from_text(request_.sag);
    } catch (const InputError& error) {
      faults_.push_back({"--sag", request_.sag, error.faults().front().rule, {}});
    }
    if (!request_.pressure.empty()) {
      faults_.push_back({"--sag", request_.sag, rule_beside("the pressure"), {}});
    }
    return true;
  }

  void refuse_clicks_of_no_adjuster(const ForkSetup& fork) {
    const auto refuse = [this](const char* option, const std::string& text,
                               const DamperSetup& damper) {
      if (text.empty() || has_clicks(damper)) return;
      faults_.push_back({option, text, "nothing reads it: this fork has no such adjuster", {}});
    };
    refuse("--compression", request_.compression, fork.compression);
    refuse("--rebound", request_.rebound, fork.rebound);
  }

  // Settles a Setup that all of it was put into.
  void settle_it(Setup& setup, const std::string& file) {
    stop_at_faults();
    for (Fault fault : settle(setup)) {
      if (fault.place.file.empty()) fault.place.file = file;
      for (const auto& keys :
           {std::span<const RequestKey>(kSettingKeys), std::span<const RequestKey>(kAirKeys)}) {
        for (const RequestKey& key : keys) {
          if (fault.key == key.knob && !(request_.*key.text).empty()) {
            fault = {key.option, request_.*key.text, fault.rule, {}};
          }
        }
      }
      if (fault.key.starts_with("hold.") && !request_.sag.empty()) {
        fault = {"--sag", request_.sag, fault.rule, {}};
      }
      faults_.push_back(std::move(fault));
    }
    stop_at_faults();
  }

 private:
  void stop_at_faults() {
    if (!faults_.empty()) throw InputError(std::move(faults_));
  }

  const SheetRequest& request_;
  Faults faults_;
};

void demand_air(const ForkSetup& fork, const std::string& file) {
  if (fork.spring == Spring::air) return;
  throw InputError(Fault{
      "fork.spring", "", "must be \"air\": a sheet tells of spacers and pressure", {file, 0, 0}});
}

// Nothing of the ground is on a sheet, and a Setup needs one.
void put_level_ground(Setup& setup) {
  Feature flat;
  flat.length = 1.0;
  setup.terrain = {flat};
  setup.ride.speed = 5.0;
  fill_defaults(setup);
}

// Pumped in the air of the defaults, and ridden where it is pumped, unless something else is said.
void put_air(Given& given, Setup& setup) {
  const AirState usual = setup.ambient;
  setup.ambient = {};
  given.put(kAirKeys, setup);
  const auto complete = [](double& pumped, double& ridden, double otherwise) {
    if (std::isnan(pumped)) pumped = otherwise;
    if (std::isnan(ridden)) ridden = pumped;
  };
  complete(setup.pumped.temperature, setup.ambient.temperature, usual.temperature);
  complete(setup.pumped.altitude, setup.ambient.altitude, usual.altitude);
}

// A number that is set anew is no longer what its mark in the file is of.
void keep_known(Knowledge& knowledge, const Setup& file, const Setup& set) {
  for (std::size_t i = knowledge.size(); i-- > 0;) {
    const Parameter& parameter = *find_parameter(knowledge.numbers()[i].name);
    if (parameter.get(file) != parameter.get(set)) knowledge.remove(i);
  }
}

// The scenes of a request with a fork's settings, ridden under the same rider.
std::vector<SheetScene> scenes_of(const TextFiles& files, const SheetRequest& request,
                                  const SheetCase& sheet) {
  Overlay overlay;
  overlay.files["fork"] = request.fork;
  overlay.files["rider"] = request.rider;
  if (!request.bike.empty()) overlay.files["bike"] = request.bike;
  // Without an air of the request each scene has its own.
  const bool air = std::ranges::any_of(
      kAirKeys, [&](const RequestKey& key) { return !(request.*key.text).empty(); });
  std::vector<SheetScene> scenes;
  for (const std::string& path : request.scenes) {
    const OverlaidScene loaded = load_scene(files, path, overlay);
    const auto with = [&](const Setup& settings) {
      Setup scene = loaded.scene.setup;
      scene.hold = {};
      if (air) {
        scene.ambient = settings.ambient;
        scene.pumped = settings.pumped;
      }
      put_settings(scene.fork, settings_of(settings.fork));
      if (Faults faults = settle(scene); !faults.empty()) {
        for (Fault& fault : faults) loaded.locate(fault);
        throw InputError(std::move(faults));
      }
      return scene;
    };
    scenes.push_back({sheet.before ? with(*sheet.before) : Setup{}, with(sheet.after)});
  }
  return scenes;
}

Setup setup_of_logged(const LogContent& log, std::string_view name, const LoggedSetting& setting) {
  const auto refuse = [&](const std::string& rule) {
    throw InputError(Fault{std::string(name), setting.name, rule, {}});
  };
  if (log.find(setting.fork) == nullptr) refuse("must name a fork to be on a sheet");
  if (log.find(setting.rider) == nullptr) refuse("must name a rider to be on a sheet");
  Setup setup = setting.setup;
  put_level_ground(setup);
  demand_air(setup.fork, {});
  if (Faults faults = settle(setup); !faults.empty()) {
    for (Fault& fault : faults) {
      if (fault.place.file.empty()) fault.place.file = fmt::format("setting of {}", name);
    }
    throw InputError(std::move(faults));
  }
  return setup;
}

}  // namespace

SheetCase sheet_of_fork(const TextFiles& files, const SheetRequest& request) {
  Overrides overrides;
  // A pressure that is still to be set is not guessed.
  if (!request.sag.empty() || !request.pressure.empty()) overrides.held = Held::sag;
  const Scene scene = load_fork_scene(files, request.fork, request.rider, overrides);
  demand_air(scene.setup.fork, request.fork);
  SheetCase sheet;
  sheet.knowledge = scene.knowledge;
  sheet.service = scene.service;
  Setup file = scene.setup;
  if (!request.bike.empty()) file.bike = load_part(files, request.bike, "bike").bike;
  Given given(request);
  put_air(given, file);
  sheet.after = file;
  const bool settings = given.put(kSettingKeys, sheet.after);
  const bool sag = given.put_sag(sheet.after);
  given.refuse_clicks_of_no_adjuster(file.fork);
  given.settle_it(sheet.after, request.fork);
  const std::size_t mark = sheet.knowledge.find("fork.pressure");
  const bool guessed = mark < sheet.knowledge.size() &&
                       sheet.knowledge.numbers()[mark].evidence == Evidence::guessed;
  if ((settings || sag) && !guessed && !std::isnan(file.fork.pressure)) {
    given.settle_it(file, request.fork);
    sheet.before = std::move(file);
  }
  keep_known(sheet.knowledge, scene.setup, sheet.after);
  sheet.scenes = scenes_of(files, request, sheet);
  return sheet;
}

SheetCase sheet_of_brief(const Brief& brief, const Suggestion& found) {
  SheetCase sheet;
  sheet.knowledge = brief.knowledge;
  sheet.service = brief.service;
  const bool steps = found.next.effort > 0;
  const ForkSettings& next = steps ? found.next.candidate.settings : brief.today;
  for (const Setup& today : brief.scenes) {
    SheetScene scene{today, today};
    put_settings(scene.after.fork, next);
    sheet.scenes.push_back(std::move(scene));
  }
  sheet.scenes[found.look.scene].ring_low = found.look.ring_low;
  sheet.scenes[found.look.scene].ring_high = found.look.ring_high;
  sheet.after = sheet.scenes.front().after;
  if (steps) sheet.before = sheet.scenes.front().before;
  return sheet;
}

SheetCase sheet_of_log(const LogContent& log, std::string_view from, std::string_view to) {
  const LoggedSetting before = logged_setting(log, from);
  const LoggedSetting after = logged_setting(log, to);
  if (before.fork != after.fork) {
    throw InputError(Fault{"--to", std::string(to), "must be a setting of the same fork", {}});
  }
  SheetCase sheet;
  sheet.before = setup_of_logged(log, from, before);
  sheet.after = setup_of_logged(log, to, after);
  const LoggedFork fork = logged_fork(log, std::to_string(after.fork));
  if (!fork.file.empty()) {
    MemoryFiles files;
    const std::string name = "file of " + fork.name;
    files.put(name, fork.file);
    const Scene scene = load_fork_file(files, name);
    sheet.knowledge = scene.knowledge;
    sheet.service = scene.service;
    keep_known(sheet.knowledge, scene.setup, sheet.after);
  }
  return sheet;
}

}  // namespace plunge
