#include "sim/ride/ready.hpp"

#include <fmt/format.h>

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

// What an option says.
struct Asked {
  std::string option;
  std::string text;
};

// Every variation that is asked for.
std::vector<Asked> asked_variations(const Wishes& wishes) {
  std::vector<Asked> asked;
  if (!wishes.spacers.empty()) asked.push_back({"--spacers", "fork.spacers=" + wishes.spacers});
  for (const std::string& text : wishes.vary) asked.push_back({wishes.vary_option, text});
  return asked;
}

// The option that asks for a sag itself; an empty one: none does.
Asked asked_sag(const Wishes& wishes) {
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
  const Asked sag = asked_sag(wishes);
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
  const Asked other = asked_sag(others);
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

// A variation, and the option that asks for it.
struct AskedVariation : Variation {
  std::string option;
};

AskedVariation parse_asked(const Asked& asked, const Setup& setup) {
  try {
    return {parse_variation(asked.text, setup), asked.option};
  } catch (const InputError& error) {
    Faults faults = error.faults();
    for (Fault& fault : faults) fault.place.file = asked.option;
    throw InputError(std::move(faults));
  }
}

std::vector<AskedVariation> variations_of(const Setup& setup, const Wishes& wishes) {
  std::vector<AskedVariation> variations;
  std::size_t total = 1;
  for (const Asked& asked : asked_variations(wishes)) {
    const auto refuse = [&](std::string value, std::string rule) {
      throw InputError(Fault{"", std::move(value), std::move(rule), {asked.option, 0, 0}});
    };
    variations.push_back(parse_asked(asked, setup));
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
  // Of two adjusters which one.
  for (const auto& [side, damper] : {std::pair("compression", &setup.fork.compression),
                                     std::pair("rebound", &setup.fork.rebound)}) {
    const std::vector<Adjuster> adjusters = adjusters_of(*damper);
    if (adjusters.size() < 2) continue;
    for (const Adjuster& adjuster : adjusters) {
      if (knob.name != fmt::format("fork.{}.{}", side, adjuster.key)) continue;
      return fmt::format("{} {} {}", side, speed_of(adjuster.adjusts), value);
    }
  }
  return label_words(knob.name) + " " + say(value, said);
}

// The k-th combination of the variations, the last one fastest; not settled.
ReadyRide combination(const Setup& setup, std::span<const AskedVariation> variations, std::size_t k,
                      bool bar) {
  ReadyRide ride;
  ride.setup = setup;
  for (std::size_t v = variations.size(); v-- > 0;) {
    const Knob& knob = variations[v].knob;
    const std::vector<double>& values = variations[v].values;
    const double value = values[k % values.size()];
    k /= values.size();
    knob.put(ride.setup, value);
    ride.set.insert(ride.set.begin(), {knob.name, knob.unit, value});
    const std::string label = value_label(setup, knob, value, bar);
    ride.label = ride.label.empty() ? label : label + ", " + ride.label;
  }
  // What a variation brings into use has its defaults.
  fill_defaults(ride.setup);
  return ride;
}

// All of them; their labels begin with a name where there is one.
std::vector<ReadyRide> combinations(const Setup& setup, std::span<const AskedVariation> variations,
                                    bool bar, const std::string& name = {}) {
  std::size_t total = 1;
  for (const Variation& variation : variations) total *= variation.values.size();
  std::vector<ReadyRide> rides;
  for (std::size_t k = 0; k < total; ++k) {
    rides.push_back(combination(setup, variations, k, bar));
    std::string& label = rides.back().label;
    if (!name.empty()) {
      label = label.empty() ? name : name + ", " + label;
    } else if (label.empty()) {
      label = setup.name;
    }
  }
  return rides;
}

// Why none of the rides reads what sets or varies a number; empty: one does.
std::string rule_if_unread(Purpose purpose, std::string_view name,
                           std::span<const ReadyRide> rides) {
  const bool read = std::ranges::any_of(
      rides, [&](const ReadyRide& ride) { return unread_rule(ride.setup, name).empty(); });
  return read ? foreign_rule(purpose, name) : unread_rule(rides.front().setup, name);
}

// What was set or varied and is read by none of the rides.
Faults unread_wishes(const Wishes& wishes, std::span<const ReadyRide> rides) {
  Faults faults;
  const auto refuse_unread = [&](const std::string& option, const Assignment& wish) {
    const std::string rule = rule_if_unread(wishes.purpose, wish.name, rides);
    if (!rule.empty()) faults.push_back({wish.name, wish.value, rule, {option, 0, 0}});
  };
  for (const std::string& text : wishes.set) refuse_unread("--set", split_setting(text));
  for (const Asked& asked : asked_variations(wishes)) {
    refuse_unread(asked.option, split_variation(asked.text));
  }
  return faults;
}

// Makes every combination and settles it.
class Preparation {
 public:
  // `name`: what labels begin with; empty: nothing.
  Preparation(const Scene& scene, const Wishes& wishes, const std::string& name)
      : scene_(scene),
        wishes_(wishes),
        variations_(variations_of(scene.setup, wishes)),
        name_(name) {
    // The loader has judged the scene's own ground.
    grounds_.emplace(ground_key(scene.setup.terrain, scene.setup.bike), Faults());
  }

  // Where a ride leaves what the model is trusted for; empty: none does.
  const std::string& past_trust() const { return past_trust_; }

  std::vector<ReadyRide> rides() {
    std::vector<ReadyRide> rides = combinations(scene_.setup, variations_, wishes_.bar, name_);
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
      const auto varied = std::ranges::find_if(
          variations_, [&](const Variation& v) { return v.knob.name == fault.key; });
      fault.place.file = varied == variations_.end() ? scene_.path : varied->option;
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
  std::vector<AskedVariation> variations_;
  std::string name_;
  std::string past_trust_;
  std::map<Key, Faults> grounds_;
  Key grade_key_;
  std::optional<GradeLine> grade_;
  Faults faults_;
};

ReadyRides ready_scene(Scene scene, const Wishes& wishes, const std::string& name = {}) {
  ReadyRides all;
  all.name = scene.setup.name;
  const std::string given = given_spring(wishes);
  if (wishes.hold == "pressure") scene.setup.hold = {};
  if (!given.empty() && holds(scene.setup.hold)) {
    all.notes.push_back(fmt::format("{} is given, so the scene's sag of {} is not held", given,
                                    say_sag(scene.setup.hold)));
    scene.setup.hold = {};
  }
  Preparation preparation(scene, wishes, name);
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

// A fork of several, with all that is set and varied laid over it.
struct ForkBeside {
  Scene scene;
  std::vector<ReadyRide> rides;  // not settled

  bool reads(Purpose purpose, const std::string& name) const {
    return rule_if_unread(purpose, name, rides).empty();
  }
};

// Takes out of the wishes what this fork does not read and another one does; a note that says so,
// empty where nothing is taken out.
std::string take_out_unread(const std::vector<ForkBeside>& forks, const ForkBeside& fork,
                            Wishes& wishes) {
  std::vector<std::string> names;
  const auto take_out = [&](const std::string& name) {
    const auto reads = [&](const ForkBeside& any) { return any.reads(wishes.purpose, name); };
    if (reads(fork) || std::ranges::none_of(forks, reads)) return false;
    names.push_back(name);
    return true;
  };
  std::erase_if(wishes.set,
                [&](const std::string& text) { return take_out(split_setting(text).name); });
  if (!wishes.spacers.empty() && take_out("fork.spacers")) wishes.spacers.clear();
  std::erase_if(wishes.vary,
                [&](const std::string& text) { return take_out(split_variation(text).name); });
  if (names.empty()) return {};
  const bool one = names.size() == 1;
  return fmt::format("{} {} left out for {}, which does not read {}", fmt::join(names, " and "),
                     one ? "is" : "are", fork.scene.setup.name, one ? "it" : "them");
}

// What tells forks apart: their names, or their files where names come twice.
std::vector<std::string> names_of(const std::vector<ForkBeside>& forks) {
  std::vector<std::string> names;
  for (const ForkBeside& fork : forks) {
    const std::string& name = fork.scene.setup.name;
    const bool once = std::ranges::count_if(forks, [&](const ForkBeside& other) {
                        return other.scene.setup.name == name;
                      }) == 1;
    names.push_back(once && !name.empty() ? name : fork.scene.path);
  }
  return names;
}

}  // namespace

ReadyRides ready(const TextFiles& files, const std::string& path, const Wishes& wishes) {
  refuse_conflicts(wishes);
  return ready_scene(load_scene(files, path, overrides_of(wishes)), wishes);
}

ReadyRides ready_text(const TextFiles& files, std::string_view text, const std::string& name,
                      const Wishes& wishes, const std::string& folder) {
  refuse_conflicts(wishes);
  return ready_scene(parse_scene(files, text, name, folder, overrides_of(wishes)), wishes);
}

ReadyRides ready_fork(const TextFiles& files, const std::string& fork, const std::string& rider,
                      const Wishes& wishes) {
  return ready_forks(files, {fork}, rider, wishes).front();
}

std::vector<ReadyRides> ready_forks(const TextFiles& files, const std::vector<std::string>& forks,
                                    const std::string& rider, const Wishes& wishes) {
  refuse_conflicts(wishes);
  Wishes at_rest = wishes;
  if (wishes.purpose != Purpose::damper) {
    at_rest.purpose = rider.empty() ? Purpose::bare_curve : Purpose::curve;
  }
  if (const Asked sag = asked_sag(wishes); rider.empty() && !sag.option.empty()) {
    throw InputError(Fault{sag.option, sag.text, "needs a rider: give --rider FILE", {}});
  }
  std::vector<ForkBeside> beside;
  for (const std::string& fork : forks) {
    Scene scene = load_fork_scene(files, fork, rider, overrides_of(wishes));
    if (forks.size() == 1) return {ready_scene(std::move(scene), at_rest)};
    std::vector<ReadyRide> rides =
        combinations(scene.setup, variations_of(scene.setup, wishes), wishes.bar);
    beside.push_back({std::move(scene), std::move(rides)});
  }
  const std::vector<std::string> names = names_of(beside);
  std::vector<ReadyRides> all;
  for (std::size_t i = 0; i < beside.size(); ++i) {
    Wishes own = at_rest;
    const std::string note = take_out_unread(beside, beside[i], own);
    all.push_back(ready_scene(beside[i].scene, own, names[i]));
    all.back().name = names[i];
    if (!note.empty()) all.back().notes.push_back(note);
  }
  return all;
}

std::string label_words(std::string_view name) {
  // The part as well where another one has the same: where it is ridden, where it was pumped.
  const bool has_twin = name.starts_with("ambient.") || name.starts_with("pumped.");
  std::string words(has_twin ? name : name.substr(name.find('.') + 1));
  std::ranges::replace(words, '.', ' ');
  std::ranges::replace(words, '_', ' ');
  return words;
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
