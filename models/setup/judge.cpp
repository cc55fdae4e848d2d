#include "models/setup/judge.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <string_view>

#include "models/setup/damper.hpp"
#include "models/setup/masses.hpp"
#include "models/setup/parameters.hpp"
#include "models/setup/ride_line.hpp"

namespace plunge {
namespace {

// Legs and arms must carry the upper body within this deflection [m]: chosen, about an arm's
// length.
constexpr double kBodyReach = 1.0;

// Shortest ground that the grade is smoothed over [m]: chosen, well under a wheelbase.
constexpr double kShortestLine = 0.5;

// Largest height in a profile [m]: chosen.
constexpr double kHighestProfile = 1e4;

// Faults past which a long list is judged no further: chosen.
constexpr std::size_t kMostFaults = 200;

// The range of a number in forks of 100 to 200 mm travel, in SI: engineering estimates. It is no
// rule by itself; where numbers contradict each other it shows which of them is the unlikely one.
struct Usual {
  std::string_view name;
  double low;
  double high;
};
constexpr Usual kUsualTravel{"fork.travel", 0.1, 0.2};
constexpr Usual kUsualVolume{"fork.air.main_volume", 130e-6, 220e-6};
constexpr Usual kUsualArea{"fork.air.main_area", 7e-4, 10e-4};
constexpr Usual kUsualCarried{"", 24.0, 42.0};  // sprung mass and upper body [kg]

// Usual shares of forks [1]: main chamber over its stroke volume, negative over main chamber, and
// the area of the negative over that of the main piston. Engineering estimates.
constexpr double kUsualChamber[] = {1.2, 2.5};
constexpr double kUsualNegative[] = {0.06, 0.3};
constexpr double kUsualNegativeArea[] = {0.85, 0.95};

// A value against the limit of a relation, within the rounding of a limit that was printed.
bool at_most(double value, double limit) { return in_range(value, -HUGE_VAL, limit); }
bool at_least(double value, double limit) { return in_range(value, limit, HUGE_VAL); }

// How far a value lies outside what forks have, as a logarithm; 0: inside.
double unlikeliness(double value, const Usual& usual) {
  return std::log(std::max({1.0, usual.low / value, value / usual.high}));
}

class Judge {
 public:
  explicit Judge(Held held = Held::nothing) : held_(held) {}

  Faults take() { return std::move(faults_); }
  bool clean() const { return faults_.empty(); }

  bool sound(std::string_view key) const {
    return std::ranges::none_of(faults_, [&](const Fault& f) { return f.key == key; });
  }

  void blame(std::string key, std::string value, std::string rule) {
    faults_.push_back({std::move(key), std::move(value), std::move(rule), {}});
  }

  // Adds the faults that another judge found, less those on keys that are already faulty.
  void add(const Faults& faults) {
    Faults news;
    for (const Fault& fault : faults) {
      if (sound(fault.key)) news.push_back(fault);
    }
    faults_.insert(faults_.end(), news.begin(), news.end());
  }

  // Judges a relation on the parameter `name`; `others` are what it is compared with. No fault is
  // added where one of them is already at fault or where the condition holds.
  void demand(bool holds, std::string_view name, std::initializer_list<std::string_view> others,
              const Setup& setup, const std::string& rule) {
    if (holds || !sound(name)) return;
    for (const std::string_view other : others) {
      if (!sound(other)) return;
    }
    const Parameter* parameter = find_parameter(name);
    const double value = parameter->get(setup);
    blame(std::string(name), std::isnan(value) ? "" : say(value, *parameter), rule);
  }

  // Judges one number by its line in a table. `owner_kind`: the kind of a feature or event, for the
  // message that a field does not belong there; else empty.
  template <class Owner>
  void number(const Field<Owner>& field, const Owner& owner, const std::string& key,
              std::string_view owner_kind = {}) {
    const double value = field.get(owner);
    const bool needed = field.needed != nullptr && field.needed(owner);
    if (std::isnan(value)) {
      if (needed && !may_be_unset(key)) {
        blame(key, "",
              fmt::format("must be given, {}", say_range(field.low, field.high, field.said)));
      }
      return;
    }
    if (!owner_kind.empty() && !needed) {
      blame(key, say(value, field), fmt::format("does not belong to the kind \"{}\"", owner_kind));
    } else if (!in_range(value, field.low, field.high)) {
      blame(key, say(value, field),
            fmt::format("must be {}", say_range(field.low, field.high, field.said)));
    } else if (field.whole && !(value == std::floor(value))) {
      blame(key, say(value, field), "must be a whole number");
    }
  }

  void numbers(const Setup& setup, std::string_view prefix) {
    for (const Parameter& parameter : parameters()) {
      if (parameter.name.starts_with(prefix)) {
        number(parameter, setup, std::string(parameter.name));
      }
    }
  }

  template <class Row>
  void rows(std::span<const Field<Row>> fields, const std::vector<Row>& list,
            const std::string& key) {
    if (list.size() > kMostRows) {
      blame(key, fmt::format("{} rows", list.size()),
            fmt::format("must have at most {} rows", kMostRows));
      return;
    }
    for (std::size_t k = 0; k < list.size() && faults_.size() < kMostFaults; ++k) {
      for (const auto& field : fields) {
        number(field, list[k], fmt::format("{}[{}].{}", key, k, field.name));
      }
    }
  }

  void damper(const DamperSetup& damper, const OilSetup& oil, const std::string& prefix) {
    for_each_table(damper, [&](const char* name, const char*, bool, const auto& list, auto fields) {
      rows(fields, list, prefix + "." + name);
    });
    if (damper.kind == DamperKind::slopes) slopes_given_once(damper, prefix);
    add(judge(damper, oil, prefix));
  }

  // A slope comes from one place: a number, its own table or the click table.
  void slopes_given_once(const DamperSetup& damper, const std::string& prefix) {
    const bool click_table = !damper.click_table.empty();
    const auto once = [&](const char* name, double given, const std::vector<SlopeRow>& table) {
      const std::string own_table = std::string(name) + "_table";
      if (click_table && !table.empty()) {
        blame(prefix + "." + own_table, counted(table.size(), "row"),
              "must not be given beside click_table");
      }
      if ((click_table || !table.empty()) && !std::isnan(given)) {
        blame(prefix + "." + name, say(given, "N.s/m"),
              "must not be given beside " + (click_table ? "click_table" : own_table));
      }
    };
    once("low_speed", damper.low_speed, damper.low_speed_table);
    once("high_speed", damper.high_speed, damper.high_speed_table);
  }

  // A position of an adjuster that is not there, and an end of one that has no clicks.
  void adjusters(const Setup& setup, const DamperSetup& damper, const std::string& prefix) {
    const Parameter& position = *find_parameter(prefix + ".high_speed_clicks");
    if (!std::isnan(damper.high_speed_clicks) && !is_read(position, setup)) {
      demand(false, position.name, {}, setup,
             fmt::format("nothing reads it: it belongs to {}", reader_of(position)));
    }
    const bool shims = damper.kind == DamperKind::hydraulic && damper.shim_area > 0.0;
    if (shims && std::isnan(damper.shim_clicks)) {
      demand(std::isnan(damper.shim_preload_closed), prefix + ".shim_preload_closed", {}, setup,
             "must not be given without shim_clicks");
    }
  }

  void fork(const Setup& setup) {
    numbers(setup, "fork.");
    const ForkSetup& fork = setup.fork;
    const double travel = fork.travel;
    if (fork.spring == Spring::air) air(setup);
    if (fork.spring == Spring::air && fork.negative == NegativeSpring::coil) {
      demand(fork.negative_coil.length < travel, "fork.negative_coil.length", {"fork.travel"},
             setup, "must be shorter than fork.travel");
    }
    if (fork.air.leg_area > 0.0) {
      const double shut = fork.air.leg_volume - fork.air.leg_area * (travel + kMetalReserve);
      demand(shut * kHighestCompression >= fork.air.leg_volume, "fork.air.leg_volume",
             {"fork.air.leg_area", "fork.travel"}, setup,
             fmt::format("leaves {} at full travel; must leave at least 1/{:.0f} of it",
                         say(shut, "cm3"), kHighestCompression));
    }
    demand(fork.hydraulic_stop.length < travel, "fork.hydraulic_stop.length", {"fork.travel"},
           setup, "must be shorter than fork.travel");
    demand(fork.stops.bumper_length < travel, "fork.stops.bumper_length", {"fork.travel"}, setup,
           "must be shorter than fork.travel");
    demand(fork.friction.seal > 0.0 || fork.friction.bushing == 0.0, "fork.friction.seal",
           {"fork.friction.bushing"}, setup,
           "must be above 0 where bushings rub: with no side load no friction would be left");
    damper(fork.compression, fork.oil, "fork.compression");
    damper(fork.rebound, fork.oil, "fork.rebound");
    adjusters(setup, fork.compression, "fork.compression");
    adjusters(setup, fork.rebound, "fork.rebound");
    const bool hydraulic = fork.compression.kind == DamperKind::hydraulic ||
                           fork.rebound.kind == DamperKind::hydraulic;
    if (hydraulic) add(judge(fork.oil, "fork.oil"));
  }

  void air(const Setup& setup) {
    const ForkSetup& fork = setup.fork;
    demand(fork.spacers <= fork.spacer_limit, "fork.spacers", {"fork.spacer_limit"}, setup,
           fmt::format("must be 0 to {:.0f} (fork.spacer_limit)", fork.spacer_limit));
    if (!std::isnan(fork.pressure)) {
      demand(at_most(fork.pressure, fork.pressure_limit), "fork.pressure", {"fork.pressure_limit"},
             setup,
             fmt::format("must be at most {} (fork.pressure_limit)",
                         say_at_most(fork.pressure_limit, "psi")));
    }
    main_chamber(setup);
    if (fork.negative == NegativeSpring::air) negative_chamber(setup);
  }

  // The one of travel, volume and area of the main chamber that forks are least likely to have.
  static const Usual& unlikeliest(const ForkSetup& fork) {
    const Usual* worst = &kUsualVolume;
    double most = unlikeliness(fork.air.main_volume, kUsualVolume);
    for (const Usual* other : {&kUsualArea, &kUsualTravel}) {
      const double value = other == &kUsualArea ? fork.air.main_area : fork.travel;
      if (unlikeliness(value, *other) > most) {
        most = unlikeliness(value, *other);
        worst = other;
      }
    }
    return *worst;
  }

  void main_chamber(const Setup& setup) {
    const ForkSetup& fork = setup.fork;
    const AirSetup& air = fork.air;
    const auto demand_of_chamber = [&](bool holds, const Usual& blamed, const std::string& rule) {
      demand(holds, blamed.name,
             {"fork.spacers", "fork.air.spacer_volume", "fork.air.oil_volume",
              "fork.air.main_volume", "fork.air.main_area", "fork.travel"},
             setup, rule);
    };
    const Usual& blamed = unlikeliest(fork);
    const double open = air.main_volume - fork.spacers * air.spacer_volume - air.oil_volume;
    const double shut = open - air.main_area * (fork.travel + kMetalReserve);
    const bool usual = unlikeliness(find_parameter(blamed.name)->get(setup), blamed) == 0.0;
    demand_of_chamber(
        open > 0.0 && shut * kHighestCompression >= open, blamed,
        fmt::format("{}less spacers and oil is {}, of which {} is left at full travel; must leave "
                    "at least 1/{:.0f}{}",
                    &blamed == &kUsualVolume ? "" : "is unlikely: fork.air.main_volume ",
                    say(open, "cm3"), say(shut, "cm3"), kHighestCompression,
                    usual ? "" : usual_of(blamed, fork)));

    const double swept = air.main_area * fork.travel;
    std::string rule;
    if (&blamed == &kUsualVolume) {
      rule = fmt::format(
          "must be at most {}, {:g} times the {} that fork.air.main_area sweeps over "
          "fork.travel",
          say_at_most(kMostChamber * swept, "cm3"), kMostChamber, say(swept, "cm3"));
    } else if (&blamed == &kUsualArea) {
      rule = fmt::format(
          "must be at least {}, so that fork.air.main_volume is at most {:g} times "
          "what it sweeps over fork.travel",
          say_at_least(air.main_volume / (kMostChamber * fork.travel), "cm2"), kMostChamber);
    } else {
      rule = fmt::format(
          "must be at least {}, so that fork.air.main_volume is at most {:g} times "
          "what fork.air.main_area sweeps over it",
          say_at_least(air.main_volume / (kMostChamber * air.main_area), "mm"), kMostChamber);
    }
    demand_of_chamber(at_most(air.main_volume, kMostChamber * swept), blamed,
                      rule + usual_of(blamed, fork));
  }

  // "; forks of 150 mm travel have 7 cm2 to 10 cm2", of the number that is blamed.
  static std::string usual_of(const Usual& blamed, const ForkSetup& fork) {
    if (&blamed == &kUsualTravel) {
      return "; forks have " + say_range(blamed.low, blamed.high, "mm");
    }
    const double swept = fork.air.main_area * fork.travel;
    return fmt::format("; forks of {} travel have {}", say(fork.travel, "mm"),
                       &blamed == &kUsualArea
                           ? say_range(blamed.low, blamed.high, "cm2")
                           : say_range(kUsualChamber[0] * swept, kUsualChamber[1] * swept, "cm3"));
  }

  // Judges a number of the negative chamber as a share of that of the main one.
  void share_of_main(const Setup& setup, const char* name, const char* main_name, double value,
                     double main, const char* said, const double (&allowed)[2],
                     const double (&usual)[2]) {
    demand(in_range(value, allowed[0] * main, allowed[1] * main), name, {main_name, "fork.travel"},
           setup,
           fmt::format("must be {} to {}, {:g} to {:g} of {}; forks of {} travel have {:g} to {:g} "
                       "of it, {:.3g} to {}",
                       say_at_least(allowed[0] * main, said), say_at_most(allowed[1] * main, said),
                       allowed[0], allowed[1], main_name, say(setup.fork.travel, "mm"), usual[0],
                       usual[1], find_common_unit(said)->from_si(usual[0] * main),
                       say(usual[1] * main, said)));
  }

  void negative_chamber(const Setup& setup) {
    const ForkSetup& fork = setup.fork;
    const AirSetup& air = fork.air;
    share_of_main(setup, "fork.air.negative_volume", "fork.air.main_volume", air.negative_volume,
                  air.main_volume, "cm3", kNegativeShare, kUsualNegative);
    share_of_main(setup, "fork.air.negative_area", "fork.air.main_area", air.negative_area,
                  air.main_area, "cm2", kNegativeAreaShare, kUsualNegativeArea);
    demand(air.port_position < fork.travel / 2.0, "fork.air.port_position", {"fork.travel"}, setup,
           "must be less than half of fork.travel");
    demand(at_most(air.port_length, air.port_position), "fork.air.port_length",
           {"fork.air.port_position"}, setup,
           fmt::format("must be at most {} (fork.air.port_position)",
                       say_at_most(air.port_position, "mm")));
  }

  void bike(const Setup& setup) {
    numbers(setup, "bike.");
    demand(
        setup.bike.tyre_onset < setup.bike.tyre_height, "bike.tyre_onset", {"bike.tyre_height"},
        setup,
        fmt::format("must be less than {} (bike.tyre_height)", say(setup.bike.tyre_height, "mm")));
    demand(setup.bike.line_length == 0.0 || at_least(setup.bike.line_length, kShortestLine),
           "bike.line_length", {}, setup,
           fmt::format("must be 0 or at least {}", say(kShortestLine, "m")));
  }

  void masses(const Setup& setup) {
    const double sprung = sprung_mass(setup);
    demand(sprung >= kLeastSprungMass, "rider.mass",
           {"bike.mass", "rider.front_share", "rider.body_share", "fork.unsprung_mass",
            "rider.sprung_mass"},
           setup,
           fmt::format("with bike.mass, rider.front_share, rider.body_share and "
                       "fork.unsprung_mass must leave at least {} on the fork; it leaves {}",
                       say(kLeastSprungMass, "kg"), say(sprung, "kg")));
    const double body = body_mass(setup);
    demand(at_least(setup.rider.body_stiffness, body * kGravity / kBodyReach),
           "rider.body_stiffness",
           {"rider.mass", "rider.front_share", "rider.body_share", "rider.body_mass"}, setup,
           fmt::format("must be at least {} to carry {}",
                       say_at_least(body * kGravity / kBodyReach, "kN/m"), say(body, "kg")));
  }

  // Judges the load on the fork by the pressure that it asks of the main piston alone.
  void carried(const Setup& setup) {
    if (setup.fork.spring != Spring::air) return;
    const RiderSetup& rider = setup.rider;
    const double area = setup.fork.air.main_area;
    const double mass = sprung_mass(setup) + body_mass(setup);
    const double load = mass * kGravity * std::sin(setup.bike.head_angle);
    const double pressure = load / area;
    const bool piston = unlikeliness(area, kUsualArea) > unlikeliness(mass, kUsualCarried);
    std::string_view name = "rider.mass";
    if (!std::isnan(rider.body_mass)) name = "rider.body_mass";
    if (!std::isnan(rider.sprung_mass)) name = "rider.sprung_mass";
    if (piston) name = kUsualArea.name;
    const std::string usual =
        piston ? usual_of(kUsualArea, setup.fork)
               : "; forks carry " + say_range(kUsualCarried.low, kUsualCarried.high, "kg");
    demand(pressure >= kLeastCarrying && pressure <= kMostCarrying, name,
           {"fork.air.main_area", "fork.unsprung_mass", "fork.travel", "bike.mass",
            "bike.head_angle", "rider.mass", "rider.front_share", "rider.body_share",
            "rider.body_mass", "rider.sprung_mass", "rider.body_stiffness"},
           setup,
           fmt::format("{} {}, which takes {} on {}; must be {}{}",
                       piston ? "carries" : "puts on the fork", say(mass, "kg"),
                       say(pressure, "bar"), piston ? "it alone" : "fork.air.main_area alone",
                       say_range(kLeastCarrying, kMostCarrying, "bar"), usual));
  }

  void feature(const Feature& f, const std::string& key) {
    for (const FeatureField& field : feature_fields()) {
      number(field, f, fmt::format("{}.{}", key, field.name), to_string(f.kind));
    }
    const auto relation = [&](bool holds, const char* name, const char* other,
                              const std::string& rule) {
      const std::string own = fmt::format("{}.{}", key, name);
      if (holds || !sound(own) || !sound(fmt::format("{}.{}", key, other))) return;
      const auto field =
          std::ranges::find(feature_fields(), std::string_view(name), &FeatureField::name);
      blame(own, say(field->get(f), *field), rule);
    };
    switch (f.kind) {
      case FeatureKind::flat:
        break;
      case FeatureKind::bumps:
        relation(at_least(f.spacing, f.length), "spacing", "length",
                 fmt::format("must be at least {} (length)", say_at_least(f.length, "m")));
        [[fallthrough]];
      case FeatureKind::bump:
        if (f.shape == BumpShape::root) {
          relation(at_most(std::abs(f.height), f.length / 2.0), "height", "length",
                   fmt::format("of a root must be at most {} (half its length)",
                               say_at_most(f.length / 2.0, "mm")));
        }
        break;
      case FeatureKind::drop:
        relation(f.height >= 0.0, "height", "height", "of a drop must be 0 or more");
        if (f.landing_angle > 0.0) {
          relation(f.landing_length > 0.0, "landing_length", "landing_angle",
                   "must be above 0 where landing_angle is");
          relation(f.run_out > 0.0, "run_out", "landing_angle",
                   "must be above 0 where landing_angle is");
        }
        break;
      case FeatureKind::rough:
        relation(f.longest > f.shortest, "longest", "shortest",
                 fmt::format("must be above {} (shortest)", say(f.shortest, "m")));
        relation(f.fade == 0.0 || at_least(f.fade, kShortestFade), "fade", "fade",
                 fmt::format("must be 0 or at least {}", say(kShortestFade, "mm")));
        relation(
            at_most(f.fade, f.length / 2.0), "fade", "length",
            fmt::format("must be at most {} (half of length)", say_at_most(f.length / 2.0, "m")));
        break;
      case FeatureKind::profile:
        profile(f, key);
        return;
    }
    if (!f.distance.empty() || !f.elevation.empty()) {
      blame(key + ".distance", "",
            fmt::format("does not belong to the kind \"{}\"", to_string(f.kind)));
    }
  }

  void profile(const Feature& f, const std::string& key) {
    const std::string distance = key + ".distance";
    const std::string elevation = key + ".elevation";
    const std::size_t size = f.distance.size();
    if (size < 2) {
      blame(distance, fmt::format("{} points", size), "must have at least 2 points");
      return;
    }
    if (f.elevation.size() != size) {
      blame(elevation, fmt::format("{} values", f.elevation.size()),
            fmt::format("must have {} values, as many as distance", size));
      return;
    }
    for (std::size_t i = 0; i < size; ++i) {
      const double d = f.distance[i];
      const double h = f.elevation[i];
      if (!(std::abs(d) <= kLongestGround)) {
        blame(fmt::format("{}[{}]", distance, i), say(d, "m"),
              fmt::format("must be {}", say_range(-kLongestGround, kLongestGround, "m")));
        return;
      }
      if (i > 0 && !(d > f.distance[i - 1])) {
        blame(fmt::format("{}[{}]", distance, i), say(d, "m"),
              fmt::format("must be above the distance before it, {}", say(f.distance[i - 1], "m")));
        return;
      }
      if (!(std::abs(h) <= kHighestProfile)) {
        blame(fmt::format("{}[{}]", elevation, i), say(h, "m"),
              fmt::format("must be {}", say_range(-kHighestProfile, kHighestProfile, "m")));
        return;
      }
    }
  }

  void terrain(const std::vector<Feature>& features) {
    if (features.empty()) {
      blame("terrain", "", "must have at least one feature");
      return;
    }
    if (features.size() > kMostFeatures) {
      blame("terrain", fmt::format("{} features", features.size()),
            fmt::format("must have at most {} features", kMostFeatures));
      return;
    }
    for (std::size_t i = 0; i < features.size() && faults_.size() < kMostFaults; ++i) {
      feature(features[i], fmt::format("terrain[{}]", i));
    }
    if (!clean()) return;
    const double length = terrain_length(features);
    double points = 0.0;
    for (const Feature& f : features) points += ground_points(f);
    if (!(length > 0.0 && length <= kLongestGround)) {
      blame("terrain", say(length, "m"),
            fmt::format("must be above 0 and at most {} long", say(kLongestGround, "m")));
    }
    if (!(points <= static_cast<double>(kMostGroundPoints))) {
      blame(
          "terrain", fmt::format("about {:.0f} points", points),
          fmt::format("must need at most {} points: shorten it or coarsen it", kMostGroundPoints));
    }
  }

  void contact(const Setup& setup) {
    if (setup.bike.contact != WheelContact::point) return;
    for (std::size_t i = 0; i < setup.terrain.size(); ++i) {
      const Feature& f = setup.terrain[i];
      const bool bump = f.kind == FeatureKind::bump || f.kind == FeatureKind::bumps;
      const bool step = f.kind == FeatureKind::drop ||
                        (bump && (f.shape == BumpShape::square || f.shape == BumpShape::ramp));
      if (step) {
        blame(fmt::format("terrain[{}].kind", i), std::string(to_string(f.kind)),
              "has a step, which a point cannot follow (bike.contact)");
      }
    }
  }

  void line(const Setup& setup) {
    numbers(setup, "ride.");
    if (setup.events.size() > kMostEvents) {
      blame("event", fmt::format("{} events", setup.events.size()),
            fmt::format("must have at most {} events", kMostEvents));
      return;
    }
    const double ground = terrain_length(setup.terrain);
    const bool ground_known = std::ranges::none_of(
        faults_, [](const Fault& fault) { return fault.key.starts_with("terrain"); });
    for (std::size_t i = 0; i < setup.events.size(); ++i) {
      const RideEvent& event = setup.events[i];
      const std::string key = fmt::format("event[{}]", i);
      for (const EventField& field : event_fields()) {
        number(field, event, fmt::format("{}.{}", key, field.name), to_string(event.kind));
      }
      if (ground_known && !at_most(event.at, ground) && sound(key + ".at")) {
        blame(key + ".at", say(event.at, "m"),
              fmt::format("must be on the ground, which ends at {}", say_at_most(ground, "m")));
      }
    }
    if (!clean()) return;
    try {
      const RideLine line(setup.ride, setup.events, ground);
      const double samples = line.duration() * setup.ride.sample_rate;
      demand(samples <= kMostSamples, "ride.sample_rate", {}, setup,
             fmt::format("over {} makes {:.3g} samples; at most {:.3g} are kept",
                         say(line.duration(), "s"), samples, kMostSamples));
    } catch (const InputError& error) {
      for (Fault fault : error.faults()) {
        if (fault.value.empty()) fault.value = event_value(setup, fault.key);
        add({fault});
      }
    }
  }

 private:
  // The value under a key such as "event[2].at", as people read it.
  static std::string event_value(const Setup& setup, const std::string& key) {
    for (std::size_t i = 0; i < setup.events.size(); ++i) {
      for (const EventField& field : event_fields()) {
        if (key == fmt::format("event[{}].{}", i, field.name)) {
          return say(field.get(setup.events[i]), field);
        }
      }
    }
    return {};
  }

  bool may_be_unset(std::string_view key) const {
    return held_ == Held::sag && key == "fork.pressure";
  }

  // Number of points, roughly, that the ground of a feature takes.
  static double ground_points(const Feature& f) {
    constexpr double kPointsPerObstacle = 8.0;
    constexpr double kPointsPerWave = 4.0;
    switch (f.kind) {
      case FeatureKind::bumps:
        return f.count * kPointsPerObstacle;
      case FeatureKind::rough:
        return f.length / f.shortest * kPointsPerWave;
      case FeatureKind::profile:
        return static_cast<double>(f.distance.size());
      default:
        return kPointsPerObstacle;
    }
  }

  Held held_;
  Faults faults_;
};

}  // namespace

Faults judge(const Setup& setup, Held held) {
  Judge judge(held);
  judge.fork(setup);
  judge.bike(setup);
  judge.numbers(setup, "rider.");
  judge.masses(setup);
  judge.carried(setup);
  judge.numbers(setup, "ambient.");
  judge.numbers(setup, "pumped.");
  Judge ground;
  ground.terrain(setup.terrain);
  judge.add(ground.take());
  judge.contact(setup);
  judge.line(setup);
  return judge.take();
}

Faults judge(const ForkSetup& fork) {
  Setup setup;
  setup.fork = fork;
  Judge judge(Held::sag);
  judge.fork(setup);
  return judge.take();
}

Faults judge(const BikeSetup& bike) {
  Setup setup;
  setup.bike = bike;
  Judge judge;
  judge.bike(setup);
  return judge.take();
}

Faults judge(const RiderSetup& rider) {
  Setup setup;
  setup.rider = rider;
  Judge judge;
  judge.numbers(setup, "rider.");
  return judge.take();
}

Faults judge(const std::vector<Feature>& terrain) {
  Judge judge;
  judge.terrain(terrain);
  return judge.take();
}

Faults judge_hold(double sag) {
  if (in_range(sag, kLeastSag, kMostSag)) return {};
  return {{"hold.sag",
           std::isnan(sag) ? "" : say(sag, "%"),
           fmt::format("must be {}", say_range(kLeastSag, kMostSag, "%")),
           {}}};
}

double terrain_length(const std::vector<Feature>& terrain) {
  double length = 0.0;
  for (const Feature& feature : terrain) length += feature_length(feature);
  return length;
}

double feature_length(const Feature& feature) {
  switch (feature.kind) {
    case FeatureKind::flat:
    case FeatureKind::bump:
    case FeatureKind::rough:
      return feature.length;
    case FeatureKind::bumps:
      return (feature.count - 1.0) * feature.spacing + feature.length;
    case FeatureKind::drop:
      return feature.landing_angle > 0.0 ? feature.landing_length + feature.run_out : 0.0;
    case FeatureKind::profile:
      return feature.distance.empty() ? 0.0 : feature.distance.back() - feature.distance.front();
  }
  return 0.0;
}

}  // namespace plunge
