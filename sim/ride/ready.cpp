#include "sim/ride/ready.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <span>
#include <string_view>
#include <utility>

#include "models/setup/damper_readings.hpp"
#include "models/setup/keys.hpp"
#include "models/setup/knob.hpp"
#include "models/setup/parameters.hpp"
#include "sim/ground/terrain.hpp"
#include "sim/input/balance.hpp"
#include "sim/input/overrides.hpp"
#include "sim/input/scene_text.hpp"
#include "sim/input/settle.hpp"

namespace plunge {
namespace {

// All that the laws of a damper follow from, by how the names begin.
constexpr std::string_view kOfDamper[] = {"fork.compression.", "fork.rebound.", "fork.oil."};

// Numbers that another purpose does not read, by how their names begin.
std::vector<std::string_view> unread_by(Purpose purpose) {
  constexpr std::string_view kStill[] = {"terrain[",
                                         "event[",
                                         "ride.",
                                         "fork.wheel_share",
                                         "fork.air.port_area",
                                         "fork.air.main_time",
                                         "fork.air.negative_time",
                                         "fork.air.leg_time",
                                         "fork.compression.",
                                         "fork.rebound.",
                                         "fork.oil.",
                                         "fork.hydraulic_stop.",
                                         "fork.friction.stribeck_speed",
                                         "fork.friction.presliding_",
                                         "fork.friction.viscous",
                                         "fork.stops.bumper_loss",
                                         "fork.stops.metal_loss",
                                         "fork.stops.top_out_loss",
                                         "bike.wheelbase",
                                         "bike.cg_height",
                                         "bike.line_length",
                                         "bike.rolling_resistance",
                                         "bike.drag_area",
                                         "bike.wheel_inertia",
                                         "bike.wheel_radius",
                                         "bike.contact_length",
                                         "bike.tyre_",
                                         "bike.rim_stiffness",
                                         "rider.body_share",
                                         "rider.body_stiffness",
                                         "rider.body_damping",
                                         "rider.arm_part",
                                         "rider.hand_share"};
  constexpr std::string_view kMoving[] = {"terrain[",
                                          "event[",
                                          "ride.duration",
                                          "ride.sample_rate",
                                          "ride.tolerance",
                                          "fork.wheel_share",
                                          "fork.air.port_area",
                                          "fork.air.hose_volume",
                                          "fork.friction.",
                                          "fork.stops.metal_loss",
                                          "fork.stops.top_out_loss",
                                          "bike.line_length",
                                          "bike.contact_length",
                                          "bike.tyre_height",
                                          "bike.rim_stiffness",
                                          "rider.arm_part",
                                          "rider.hand_share"};
  std::vector<std::string_view> names;
  if (purpose == Purpose::modes) names.assign(std::begin(kMoving), std::end(kMoving));
  if (purpose == Purpose::curve || purpose == Purpose::bare_curve) {
    names.assign(std::begin(kStill), std::end(kStill));
  }
  if (purpose == Purpose::bare_curve) {
    names.insert(names.end(), {"bike.", "rider.", "fork.unsprung_mass", "fork.friction.bushing"});
  }
  return names;
}

std::string_view to_string(Purpose purpose) {
  switch (purpose) {
    case Purpose::ride:
      return "a ride";
    case Purpose::modes:
      return "small motions about the sag on level ground";
    case Purpose::curve:
      return "a fork at rest under its rider";
    case Purpose::bare_curve:
      return "a fork at rest without a rider";
    case Purpose::damper:
      return "the force of a damper over speed";
  }
  return "";
}

// Empty: the purpose reads a number of that name.
std::string foreign_rule(Purpose purpose, std::string_view name) {
  const auto begins_so = [&](std::string_view start) { return name.starts_with(start); };
  const bool unread = purpose == Purpose::damper
                          ? std::ranges::none_of(kOfDamper, begins_so)
                          : std::ranges::any_of(unread_by(purpose), begins_so);
  return unread ? fmt::format("nothing reads it: this is about {}", to_string(purpose))
                : std::string();
}

// What is asked for in place of a sag to hold: "fork.pressure", as `set` or `vary` names it.
std::string given_spring(const Wishes& wishes) {
  for (const std::string& text : wishes.set) {
    if (const std::string name = split_setting(text).name; sets_spring(name)) return name;
  }
  for (const std::string& text : wishes.vary) {
    if (const std::string name = split_variation(text).name; sets_spring(name)) return name;
  }
  return {};
}

// The option that asks for a sag itself, with what it says; an empty one: none does.
struct SagOption {
  std::string option;
  std::string text;
};

SagOption asked_sag(const Wishes& wishes) {
  if (!wishes.hold.empty() && wishes.hold != "pressure") return {"--hold", wishes.hold};
  for (const std::string& text : wishes.vary) {
    if (split_variation(text).name == sag_knob().name) return {wishes.vary_option, text};
  }
  for (const std::string& text : wishes.set) {
    if (split_setting(text).name == sag_knob().name) return {"--set", text};
  }
  return {};
}

// Refuses a sag that is asked for beside what it would solve for, or twice over.
void refuse_conflicts(const Wishes& wishes) {
  const SagOption sag = asked_sag(wishes);
  if (sag.option.empty()) return;
  const std::string given = given_spring(wishes);
  if (!given.empty()) {
    throw InputError(Fault{"", sag.text, rule_beside(given), {sag.option, 0, 0}});
  }
  if (wishes.hold == "pressure") {
    throw InputError(Fault{
        "", sag.text, "is not held beside --hold pressure: leave one out", {sag.option, 0, 0}});
  }
  Wishes others = wishes;
  if (sag.option == "--hold") others.hold.clear();
  if (sag.option == wishes.vary_option) std::erase(others.vary, sag.text);
  if (sag.option == "--set") return;
  const SagOption other = asked_sag(others);
  if (other.option.empty()) return;
  throw InputError(
      Fault{"",
            other.text,
            fmt::format("is not held beside {} {}: leave one out", sag.option, sag.text),
            {other.option, 0, 0}});
}

// What the loader lays over the files.
Overrides overrides_of(const Wishes& wishes) {
  Overrides overrides;
  overrides.set = wishes.set;
  if (wishes.hold != "pressure") overrides.hold = wishes.hold;
  if (asked_sag(wishes).option == wishes.vary_option) overrides.held = Held::sag;
  return overrides;
}

std::vector<Variation> variations_of(const Setup& setup, const Wishes& wishes) {
  std::vector<Variation> variations;
  std::size_t total = 1;
  const auto refuse = [&](std::string value, std::string rule) {
    throw InputError(Fault{"", std::move(value), std::move(rule), {wishes.vary_option, 0, 0}});
  };
  for (const std::string& text : wishes.vary) {
    variations.push_back(parse_variation(text, setup));
    const Knob& knob = variations.back().knob;
    const auto same = [&](const Variation& other) { return other.knob.name == knob.name; };
    if (std::ranges::count_if(variations, same) > 1) refuse(knob.name, "must be varied once");
    for (const std::string& set : wishes.set) {
      if (split_setting(set).name == knob.name) {
        refuse(knob.name, "is in --set already: leave one out");
      }
    }
    total *= variations.back().values.size();
    if (total > static_cast<std::size_t>(kMostVariants)) {
      refuse(fmt::format("{} rides", total),
             fmt::format("must not ask for more than {} rides", kMostVariants));
    }
  }
  return variations;
}

// "2 spacers", "speed 25.2 km/h": how people tell one variant from another.
std::string value_label(const Setup& setup, const Knob& knob, double value, bool bar) {
  if (knob.name == "fork.spacers") {
    return fmt::format("{} spacer{}", value, value == 1.0 ? "" : "s");
  }
  const std::string_view said = knob.said == "psi" && bar ? "bar" : std::string_view(knob.said);
  // What stands behind the part's name: "speed", "rebound clicks"; of two adjusters which one.
  std::string word = knob.name.substr(knob.name.find('.') + 1);
  for (const auto& [side, damper] : {std::pair("compression", &setup.fork.compression),
                                     std::pair("rebound", &setup.fork.rebound)}) {
    const std::vector<Adjuster> adjusters = adjusters_of(*damper);
    if (adjusters.size() < 2) continue;
    for (const Adjuster& adjuster : adjusters) {
      if (word != fmt::format("{}.{}", side, adjuster.key)) continue;
      return fmt::format("{} {} {}", side, speed_of(adjuster.adjusts), value);
    }
  }
  std::replace(word.begin(), word.end(), '.', ' ');
  std::replace(word.begin(), word.end(), '_', ' ');
  return word + " " + say(value, said);
}

// The k-th combination of the variations, the last one fastest; not settled.
ReadyRide combination(const Setup& setup, std::span<const Variation> variations, std::size_t k,
                      bool bar) {
  ReadyRide ride;
  ride.setup = setup;
  for (std::size_t v = variations.size(); v-- > 0;) {
    const auto& [knob, values] = variations[v];
    const double value = values[k % values.size()];
    k /= values.size();
    knob.put(ride.setup, value);
    ride.set.insert(ride.set.begin(), {knob.name, knob.unit, value});
    const std::string label = value_label(setup, knob, value, bar);
    ride.label = ride.label.empty() ? label : label + ", " + ride.label;
  }
  // What a variation brings into use has its defaults.
  fill_defaults(ride.setup);
  if (ride.label.empty()) ride.label = setup.name;
  return ride;
}

// What was set or varied and is read by none of the rides.
Faults unread_wishes(const Wishes& wishes, std::span<const ReadyRide> rides) {
  Faults faults;
  const auto refuse_unread = [&](const char* option, const Assignment& wish) {
    const bool read = std::ranges::any_of(
        rides, [&](const ReadyRide& ride) { return unread_rule(ride.setup, wish.name).empty(); });
    const std::string rule = read ? foreign_rule(wishes.purpose, wish.name)
                                  : unread_rule(rides.front().setup, wish.name);
    if (!rule.empty()) faults.push_back({wish.name, wish.value, rule, {option, 0, 0}});
  };
  for (const std::string& text : wishes.set) refuse_unread("--set", split_setting(text));
  for (const std::string& text : wishes.vary) refuse_unread("--vary", split_variation(text));
  return faults;
}

// Makes every combination and settles it.
class Preparation {
 public:
  Preparation(const Scene& scene, const Wishes& wishes, std::vector<Variation> variations)
      : scene_(scene), wishes_(wishes), variations_(std::move(variations)) {
    // The loader has judged the scene's own ground.
    grounds_.emplace(ground_key(scene.setup.terrain, scene.setup.bike), Faults());
  }

  // Where a ride leaves what the model is trusted for; empty: none does.
  const std::string& past_trust() const { return past_trust_; }

  std::vector<ReadyRide> rides() {
    std::size_t total = 1;
    for (const Variation& variation : variations_) total *= variation.values.size();
    std::vector<ReadyRide> rides;
    for (std::size_t k = 0; k < total; ++k) {
      rides.push_back(combination(scene_.setup, variations_, k, wishes_.bar));
    }
    faults_ = unread_wishes(wishes_, rides);
    if (faults_.empty()) {
      for (ReadyRide& ride : rides) settle_one(ride);
    }
    if (!faults_.empty()) throw InputError(std::move(faults_));
    return rides;
  }

 private:
  void settle_one(ReadyRide& ride) {
    ride.hold = ride.setup.hold;
    Faults found;
    // Another variation may keep a number from being read here.
    for (const Variation& variation : variations_) {
      const Knob& knob = variation.knob;
      if (knob.is_read(ride.setup)) continue;
      found.push_back(
          {knob.name, say(knob.get(ride.setup), knob.said), knob.unread_rule(ride.setup), {}});
    }
    if (found.empty()) {
      found = settle(
          ride.setup, [this](const Setup& setup) { return judged_ground(setup); },
          [this](const Setup& setup) { return judge_balance_on(grade_of(setup), setup); });
    }
    if (found.empty() && past_trust_.empty()) past_trust_ = past_trust(ride.setup);
    if (found.empty() && holds(ride.hold)) ride.held.push_back(solved_by_hold(ride.setup));
    for (Fault& fault : found) {
      if (!variations_.empty()) fault.rule += " (with " + ride.label + ")";
      const bool varied = std::ranges::any_of(
          variations_, [&](const Variation& v) { return v.knob.name == fault.key; });
      fault.place.file = varied ? wishes_.vary_option : scene_.path;
      faults_.push_back(std::move(fault));
    }
  }

  // Grounds are judged once each.
  Faults judged_ground(const Setup& setup) {
    const Key key = ground_key(setup.terrain, setup.bike);
    const auto found = grounds_.find(key);
    if (found != grounds_.end()) return found->second;
    return grounds_.emplace(key, judge_ground_of(setup)).first->second;
  }

  // The grade line of a ride's ground; the last one is kept.
  const GradeLine& grade_of(const Setup& setup) {
    Key key = ground_key(setup.terrain, setup.bike);
    if (!grade_ || key != grade_key_) {
      grade_.emplace(build_grade(setup.terrain, setup.bike));
      grade_key_ = std::move(key);
    }
    return *grade_;
  }

  std::string past_trust(const Setup& setup) {
    const RideLine line(setup.ride, setup.events, terrain_length(setup.terrain));
    const std::optional<double> place = first_past_trust(grade_of(setup), line);
    if (!place) return {};
    return fmt::format(
        "at {:.1f} m the ground is steeper than {}: past what the model is trusted for", *place,
        say(kTrustedGrade, "deg"));
  }

  const Scene& scene_;
  const Wishes& wishes_;
  std::vector<Variation> variations_;
  std::string past_trust_;
  std::map<Key, Faults> grounds_;
  Key grade_key_;
  std::optional<GradeLine> grade_;
  Faults faults_;
};

ReadyRides ready_scene(Scene scene, const Wishes& wishes) {
  ReadyRides all;
  all.name = scene.setup.name;
  const std::string given = given_spring(wishes);
  if (wishes.hold == "pressure") scene.setup.hold = {};
  if (!given.empty() && holds(scene.setup.hold)) {
    all.notes.push_back(fmt::format("{} is given, so the scene's sag of {} is not held", given,
                                    say_sag(scene.setup.hold)));
    scene.setup.hold = {};
  }
  Preparation preparation(scene, wishes, variations_of(scene.setup, wishes));
  all.rides = preparation.rides();
  if (wishes.purpose == Purpose::ride && !preparation.past_trust().empty()) {
    all.notes.push_back(preparation.past_trust());
  }
  if (asked_sag(wishes).option != wishes.vary_option) all.hold = scene.setup.hold;
  const std::string guesses = guesses_note(scene.knowledge);
  if (!guesses.empty()) all.notes.push_back(guesses);
  all.knowledge = std::move(scene.knowledge);
  return all;
}

// Faults of the variations name the option that asked for them.
template <class Make>
ReadyRides with_own_option(const Wishes& wishes, const Make& make) {
  try {
    refuse_conflicts(wishes);
    return make();
  } catch (const InputError& error) {
    Faults faults = error.faults();
    for (Fault& fault : faults) {
      if (fault.place.file == "--vary") fault.place.file = wishes.vary_option;
    }
    throw InputError(faults);
  }
}

}  // namespace

ReadyRides ready(const TextFiles& files, const std::string& path, const Wishes& wishes) {
  return with_own_option(
      wishes, [&] { return ready_scene(load_scene(files, path, overrides_of(wishes)), wishes); });
}

ReadyRides ready_text(const TextFiles& files, std::string_view text, const std::string& name,
                      const Wishes& wishes, const std::string& folder) {
  return with_own_option(wishes, [&] {
    return ready_scene(parse_scene(files, text, name, folder, overrides_of(wishes)), wishes);
  });
}

ReadyRides ready_fork(const TextFiles& files, const std::string& fork, const std::string& rider,
                      const Wishes& wishes) {
  return with_own_option(wishes, [&] {
    Wishes at_rest = wishes;
    if (wishes.purpose != Purpose::damper) {
      at_rest.purpose = rider.empty() ? Purpose::bare_curve : Purpose::curve;
    }
    if (const SagOption sag = asked_sag(wishes); rider.empty() && !sag.option.empty()) {
      throw InputError(Fault{sag.option, sag.text, "needs a rider: give --rider FILE", {}});
    }
    return ready_scene(load_fork_scene(files, fork, rider, overrides_of(wishes)), at_rest);
  });
}

std::string say_sag(const HoldSetup& hold) {
  if (!std::isnan(hold.sag)) return fmt::format("{:.1f} %", 100.0 * hold.sag);
  if (!std::isnan(hold.sag_length)) return fmt::format("{:.1f} mm", 1e3 * hold.sag_length);
  return {};
}

Faults unread_variations(const Result& ride) {
  Faults faults;
  if (ride.set.empty()) return faults;
  const Setup setup = parse_scene(MemoryFiles(), ride.scene_text, ride.label, "", {}, false).setup;
  for (const NamedValue& value : ride.set) {
    const std::optional<Knob> knob = knob_or_none(setup, value.name);
    if (!knob || knob->is_read(setup)) continue;
    faults.push_back({value.name,
                      say(value.value, knob->said),
                      fmt::format("{} (with {})", knob->unread_rule(setup), ride.label),
                      {}});
  }
  return faults;
}

Result ride_one(const ReadyRide& ride, const TraceSink& sink) {
  Result result = run_ride(ride.setup, prepare(ride.setup), sink);
  result.label = ride.label;
  result.set = ride.set;
  result.held = ride.held;
  result.scene_text = to_scene_text(ride.setup);
  return result;
}

}  // namespace plunge
