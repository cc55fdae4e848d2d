// What must hold of every ride that the judge lets through, tried on set-ups drawn at random from
// ranges that reach well past real forks, riders and trails.
#include <gtest/gtest.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <set>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "models/judge.hpp"
#include "models/parameters.hpp"
#include "models/statics.hpp"
#include "sim/run.hpp"
#include "sim/scene_file.hpp"
#include "sim/terrain.hpp"
#include "sim/toml_file.hpp"
#include "tests/support.hpp"

namespace plunge {
namespace {

constexpr std::uint64_t kRides = 600;

// Energy audit at the default tolerance: every ride closes to 1e-4 of what was turned over.
constexpr double kClosing = 1e-4;

constexpr double kDegree = kPi / 180.0;

// A number drawn evenly from a range in the logarithm: as often between 1 and 10 as between 10 and
// 100.
double spread(Dice& dice, double low, double high) {
  return std::exp(dice.between(std::log(low), std::log(high)));
}

double whole(Dice& dice, double low, double high) {
  return std::floor(dice.between(low, high + 1.0));
}

template <class Kind>
Kind pick(Dice& dice, std::initializer_list<Kind> kinds) {
  return *(kinds.begin() +
           static_cast<int>(whole(dice, 0.0, static_cast<double>(kinds.size() - 1))));
}

void draw_damper(Dice& dice, DamperSetup& damper) {
  damper.kind = pick(dice, {DamperKind::slopes, DamperKind::points, DamperKind::hydraulic});
  if (damper.kind == DamperKind::points) {
    SpeedForce point{0.0, 0.0};
    const double count = whole(dice, 2.0, 8.0);
    for (double k = 0.0; k < count; ++k) {
      point = {point.speed + spread(dice, 0.02, 1.0), point.force + spread(dice, 5.0, 500.0)};
      damper.points.push_back(point);
    }
  } else if (damper.kind == DamperKind::hydraulic) {
    damper.piston_area = spread(dice, 2e-4, 1e-3);
    damper.bleed_area = spread(dice, 1e-6, 2e-5);
    damper.bleed_length = spread(dice, 1e-3, 2e-2);
    damper.bleed_clicks = whole(dice, 5.0, 30.0);
    damper.clicks = whole(dice, 1.0, damper.bleed_clicks);
    if (dice.coin()) {
      damper.shim_area = spread(dice, 1e-5, 1e-4);
      damper.shim_preload = spread(dice, 1e4, 1e6);
      damper.shim_slope = spread(dice, 1e-12, 1e-10);
    }
    if (dice.coin()) {
      damper.blow_off_pressure = spread(dice, 1e6, 3e6);
      damper.blow_off_slope = spread(dice, 1e-12, 1e-10);
    }
  } else if (dice.coin()) {
    damper.low_speed = spread(dice, 50.0, 3000.0);
    damper.high_speed = spread(dice, 20.0, 1500.0);
    damper.knee = spread(dice, 0.05, 1.0);
  } else {
    damper.knee = spread(dice, 0.05, 1.0);
    ClickRow row{0.0, spread(dice, 500.0, 3000.0), spread(dice, 200.0, 1500.0)};
    const double rows = whole(dice, 2.0, 5.0);
    for (double k = 0.0; k < rows; ++k) {
      damper.click_table.push_back(row);
      row = {row.clicks + whole(dice, 1.0, 8.0), row.low_speed * dice.between(0.5, 1.0),
             row.high_speed * dice.between(0.5, 1.0)};
    }
    damper.clicks = whole(dice, 0.0, damper.click_table.back().clicks);
  }
}

void draw_fork(Dice& dice, ForkSetup& fork) {
  fork.travel = dice.between(0.08, 0.22);
  fork.unsprung_mass = dice.between(2.5, 6.0);
  fork.spring = dice.between(0.0, 1.0) < 0.85 ? Spring::air : Spring::coil;
  fork.negative = pick(
      dice, {NegativeSpring::air, NegativeSpring::air, NegativeSpring::coil, NegativeSpring::none});
  fork.spacer_limit = whole(dice, 0.0, 6.0);
  fork.spacers = whole(dice, 0.0, fork.spacer_limit);
  fork.pressure_limit = 15e5;
  fork.pressure = spread(dice, 1.5e5, 12e5);
  AirSetup& air = fork.air;
  air.main_area = dice.between(5e-4, 11e-4);
  air.negative_area = air.main_area * dice.between(0.7, 1.0);
  air.spacer_volume = dice.between(2e-6, 12e-6);
  air.oil_volume = dice.between(0.0, 8e-6);
  air.main_volume = air.main_area * fork.travel * dice.between(1.1, 2.5) + air.oil_volume +
                    fork.spacers * air.spacer_volume;
  air.negative_volume = spread(dice, 5e-6, 80e-6);
  air.port_position = dice.between(2e-3, 12e-3);
  air.port_length = air.port_position * dice.between(0.1, 1.0);
  air.port_area = spread(dice, 0.1e-6, 10e-6);
  air.main_time = spread(dice, 0.1, 20.0);
  air.negative_time = spread(dice, 0.1, 20.0);
  if (dice.between(0.0, 1.0) < 0.3) {
    air.leg_area = spread(dice, 1e-5, 8e-4);
    air.leg_volume = air.leg_area * fork.travel * dice.between(1.1, 4.0);
  }
  fork.coil = {dice.between(2e3, 20e3), dice.between(0.0, 100.0)};
  fork.negative_coil = {dice.between(1e3, 20e3), fork.travel * dice.between(0.05, 0.4)};
  draw_damper(dice, fork.compression);
  draw_damper(dice, fork.rebound);
  fork.oil.temperature = 273.15 + dice.between(-20.0, 60.0);
  if (dice.coin()) {
    fork.hydraulic_stop = {fork.travel * dice.between(0.05, 0.4), spread(dice, 50.0, 5000.0)};
  }
  FrictionSetup& friction = fork.friction;
  friction.seal = dice.coin() ? spread(dice, 1.0, 100.0) : 0.0;
  friction.bushing = dice.coin() ? dice.between(0.0, 0.03) : 0.0;
  friction.static_ratio = dice.between(1.0, 2.0);
  friction.stribeck_speed = spread(dice, 5e-4, 5e-2);
  friction.presliding_stiffness = spread(dice, 2e4, 2e6);
  friction.viscous = dice.between(0.0, 100.0);
  StopSetup& stops = fork.stops;
  stops.bumper_length = dice.between(2e-3, 20e-3);
  stops.bumper_stiffness = dice.between(0.0, 1e5);
  stops.bumper_cubic = spread(dice, 1e7, 1e10);
  stops.metal_stiffness = spread(dice, 1e8, 1e9);
  stops.top_out_stiffness = spread(dice, 2e5, 1e6);
}

Feature draw_feature(Dice& dice, double wheel_radius) {
  Feature f;
  f.kind = pick(dice, {FeatureKind::flat, FeatureKind::bump, FeatureKind::bumps, FeatureKind::drop,
                       FeatureKind::rough, FeatureKind::profile});
  f.shape = pick(dice, {BumpShape::half_sine, BumpShape::cosine, BumpShape::square, BumpShape::ramp,
                        BumpShape::root});
  const double size = spread(dice, 5e-3, 0.12);
  switch (f.kind) {
    case FeatureKind::flat:
      f.length = spread(dice, 0.2, 8.0);
      f.grade = dice.coin() ? dice.between(-20.0, 20.0) * kDegree : 0.0;
      break;
    case FeatureKind::bumps:
    case FeatureKind::bump:
      f.length = std::max(2.0 * size, spread(dice, 0.05, 3.0));
      f.height = dice.between(0.0, 1.0) < 0.8 ? size : -size;
      if (f.kind == FeatureKind::bumps) {
        f.spacing = f.length * dice.between(1.0, 4.0);
        f.count = whole(dice, 1.0, 8.0);
      }
      break;
    case FeatureKind::drop:
      f.height = spread(dice, 0.02, 1.2);
      if (dice.coin()) {
        f.landing_angle = dice.between(2.0, 35.0) * kDegree;
        f.landing_length = dice.between(1.0, 6.0);
        f.run_out = dice.between(1.0, 6.0);
      }
      break;
    case FeatureKind::rough:
      f.length = dice.between(4.5, 12.0);
      f.roughness = spread(dice, 4e-6, 4e-3);
      f.seed = whole(dice, 0.0, 1e6);
      f.longest = dice.between(5.0, 50.0);
      f.shortest = dice.between(0.05, 0.5);
      break;
    case FeatureKind::profile: {
      f.join = pick(dice, {ProfileJoin::linear, ProfileJoin::smooth});
      f.scale = dice.between(-1.0, 1.5);
      double along = dice.between(-1.0, 1.0);
      for (double k = whole(dice, 2.0, 30.0); k > 0.0; --k) {
        f.distance.push_back(along);
        f.elevation.push_back(dice.between(-0.03, 0.03));
        along += spread(dice, 0.03, 0.5);
      }
      break;
    }
  }
  if (f.kind == FeatureKind::bump || f.kind == FeatureKind::bumps) {
    const bool steep = f.shape == BumpShape::square || f.shape == BumpShape::ramp;
    if (steep) f.height = std::min(f.height, 0.7 * tallest_step(wheel_radius));
  }
  return f;
}

void draw_events(Dice& dice, Setup& setup, double length) {
  double at = dice.between(0.0, 0.4 * length);
  for (double k = whole(dice, 0.0, 2.0); k > 0.0; --k) {
    RideEvent event;
    event.kind = pick(dice, {EventKind::brake, EventKind::accelerate, EventKind::corner});
    event.at = at;
    event.rise = dice.between(0.05, 0.5);
    if (event.kind == EventKind::corner) {
      event.lean = dice.between(0.0, 55.0) * kDegree;
      event.length = dice.between(0.5, 6.0);
    } else {
      const bool brake = event.kind == EventKind::brake;
      event.rate = brake ? dice.between(0.5, 9.0) : dice.between(0.2, 3.0);
      event.to_speed = setup.ride.speed * (brake ? dice.between(0.4, 0.9) : dice.between(1.1, 1.5));
      if (brake) event.front_share = dice.between(0.0, 1.0);
    }
    setup.events.push_back(event);
    at += dice.between(3.0, 12.0);
  }
}

// A set-up as it falls, judged or not.
Setup any_setup(Dice& dice) {
  Setup setup;
  setup.name = "drawn at random";
  draw_fork(dice, setup.fork);
  BikeSetup& bike = setup.bike;
  bike.mass = dice.between(8.0, 25.0);
  bike.head_angle = dice.between(60.0, 90.0) * kDegree;
  bike.wheel_radius = dice.between(0.25, 0.4);
  bike.tyre_stiffness = spread(dice, 4e4, 3e5);
  bike.tyre_damping = spread(dice, 10.0, 300.0);
  bike.tyre_onset = dice.between(0.0, 1.0) < 0.3 ? dice.between(0.0, 5e-3) : 0.0;
  bike.tyre_height = dice.between(0.02, 0.07);
  bike.rim_stiffness = spread(dice, 3e5, 5e6);
  bike.tyre_grip = dice.between(0.3, 1.2);
  if (dice.between(0.0, 1.0) < 0.1) {
    bike.contact = WheelContact::average;
    bike.contact_length = dice.between(0.05, 0.3);
  }
  RiderSetup& rider = setup.rider;
  rider.mass = dice.between(35.0, 140.0);
  rider.front_share = dice.between(0.25, 0.55);
  rider.arm_share = dice.between(0.0, 1.0) < 0.1 ? 0.0 : dice.between(0.2, 0.9);
  rider.arm_stiffness = spread(dice, 1e3, 2e4);
  rider.arm_damping = spread(dice, 50.0, 1000.0);
  setup.ambient = {dice.between(0.0, 3000.0), 273.15 + dice.between(-15.0, 40.0)};
  if (dice.coin()) setup.pumped = {dice.between(0.0, 3000.0), 273.15 + dice.between(-15.0, 40.0)};
  setup.ride.speed = spread(dice, 1.5, 16.0);
  setup.ride.sample_rate = dice.coin() ? 1000.0 : dice.between(100.0, 1000.0);
  setup.ride.duration = dice.between(2.0, 5.0);
  double length = 0.0;
  while (length < 2.0 * setup.ride.speed) {
    setup.terrain.push_back(draw_feature(dice, bike.wheel_radius));
    fill_defaults(setup.terrain.back());
    length += feature_length(setup.terrain.back());
  }
  Feature end;
  end.length = 2.0;
  fill_defaults(end);
  setup.terrain.push_back(end);
  draw_events(dice, setup, length);
  for (RideEvent& event : setup.events) fill_defaults(event);
  fill_defaults(setup);
  return setup;
}

// The set-up of that number that the judge lets through.
Setup good_setup(std::uint64_t number) {
  Dice dice(number * 1'000'003);
  for (int tries = 0; tries < 100; ++tries) {
    Setup setup = any_setup(dice);
    const bool held = dice.coin();
    if (!judge(setup, held ? Held::sag : Held::nothing).empty()) continue;
    if (!judge_ground(setup.terrain, setup.bike).empty()) continue;
    try {
      if (held) hold_sag(setup, dice.between(0.1, 0.4));
    } catch (const InputError&) {
      continue;
    }
    if (judge(setup).empty()) return setup;
  }
  ADD_FAILURE() << "no good set-up in 100 of number " << number;
  return {};
}

// PLUNGE_PROPERTY=17 tries set-up 17 alone and prints its scene.
std::vector<std::uint64_t> numbers(std::uint64_t first, std::uint64_t count) {
  if (const char* one = std::getenv("PLUNGE_PROPERTY")) return {std::stoull(one)};
  std::vector<std::uint64_t> list(count);
  for (std::uint64_t k = 0; k < count; ++k) list[k] = first + k;
  return list;
}

double value_of(const std::vector<Metric>& metrics, std::string_view name) {
  const auto found = std::ranges::find(metrics, name, &Metric::name);
  return found == metrics.end() ? kUnset : found->value;
}

const std::vector<double>& trace(const Result& ride, std::string_view name) {
  return std::ranges::find(ride.channels, name, &Channel::name)->values;
}

double count_of(const Result& ride, std::string_view what) {
  return static_cast<double>(std::ranges::count(ride.located, what, &Located::what));
}

// Metrics that some rides do not have: no event, or none that settles.
bool may_be_missing(std::string_view name) {
  return name.starts_with("brake_dive") || name.starts_with("corner_dive");
}

// The sequence of switches on and off, in time.
void expect_turns(const Result& ride, std::string_view off, std::string_view on) {
  bool is_on = true;
  double last = 0.0;
  for (const Located& one : ride.located) {
    EXPECT_GE(one.time, last);
    last = one.time;
    if (one.what != off && one.what != on) continue;
    EXPECT_EQ(one.what, is_on ? off : on) << "at " << one.time << " s";
    is_on = one.what == on;
  }
}

TEST(Property, EveryGoodSetupRidesSoundly) {
  int airborne = 0;
  int bottomed = 0;
  int braked = 0;
  for (const std::uint64_t number : numbers(0, kRides)) {
    SCOPED_TRACE("set-up " + std::to_string(number));
    const plunge::Setup setup = good_setup(number);
    if (std::getenv("PLUNGE_PROPERTY") != nullptr) std::puts(to_scene_text(setup).c_str());
    const Result ride = run_ride(setup);
    EXPECT_EQ(ride.failure, "");
    ASSERT_FALSE(ride.time.empty());
    EXPECT_NEAR(ride.time.back(), setup.ride.duration, 1.0 / setup.ride.sample_rate);
    for (const Channel& channel : ride.channels) {
      EXPECT_EQ(channel.values.size(), ride.time.size()) << channel.name;
      EXPECT_TRUE(std::ranges::all_of(channel.values, [](double v) { return std::isfinite(v); }))
          << channel.name;
    }
    for (const auto* list : {&ride.metrics, &ride.energy, &ride.solver}) {
      for (const Metric& metric : *list) {
        EXPECT_TRUE(std::isfinite(metric.value) || may_be_missing(metric.name)) << metric.name;
      }
    }
    const double error = std::abs(value_of(ride.energy, "closing_error"));
    EXPECT_LT(error, kClosing);
    const auto [least, most] = std::ranges::minmax(trace(ride, "travel"));
    EXPECT_GE(least, -0.01);
    EXPECT_LE(most, setup.fork.travel + 0.01);
    EXPECT_GE(value_of(ride.metrics, "travel_max"), most - 1e-9);
    expect_turns(ride, "lift_off", "touch_down");
    EXPECT_EQ(value_of(ride.metrics, "lift_offs"), count_of(ride, "lift_off"));
    EXPECT_EQ(value_of(ride.metrics, "bumper_contacts"), count_of(ride, "bumper_contact"));
    EXPECT_EQ(value_of(ride.metrics, "metal_contacts"), count_of(ride, "metal_contact"));
    EXPECT_EQ(value_of(ride.metrics, "rim_strikes"), count_of(ride, "rim_strike"));
    // What is taken out is never given back.
    for (const char* loss : {"damper_out", "tyre_out", "arms_out"}) {
      EXPECT_GE(value_of(ride.energy, loss), -1e-6) << loss;
    }
    airborne += count_of(ride, "lift_off") > 0.0;
    bottomed += count_of(ride, "metal_contact") > 0.0;
    braked += std::isfinite(value_of(ride.metrics, "brake_dive_max"));
  }
  if (std::getenv("PLUNGE_PROPERTY") != nullptr) return;
  // The draw reaches what is hard.
  EXPECT_GT(airborne, static_cast<int>(kRides / 4));
  EXPECT_GT(bottomed, static_cast<int>(kRides / 20));
  EXPECT_GT(braked, static_cast<int>(kRides / 10));
}

// Every number of a Setup, bit for bit.
template <class Owner>
void expect_same(std::span<const Field<Owner>> fields, const Owner& a, const Owner& b) {
  for (const auto& field : fields) {
    const bool both_unset = std::isnan(field.get(a)) && std::isnan(field.get(b));
    EXPECT_TRUE(both_unset || std::bit_cast<std::uint64_t>(field.get(a)) ==
                                  std::bit_cast<std::uint64_t>(field.get(b)))
        << field.name << " " << field.get(a) << " " << field.get(b);
  }
}

TEST(Property, SceneTextGivesBackTheSameBits) {
  for (const std::uint64_t number : numbers(1000, 80)) {
    SCOPED_TRACE("set-up " + std::to_string(number));
    const plunge::Setup setup = good_setup(number);
    const std::string text = to_scene_text(setup);
    const plunge::Setup again = parse_scene(text, "text").setup;
    EXPECT_EQ(to_scene_text(again), text);
    expect_same(parameters(), setup, again);
    ASSERT_EQ(again.terrain.size(), setup.terrain.size());
    for (std::size_t i = 0; i < setup.terrain.size(); ++i) {
      expect_same(feature_fields(), setup.terrain[i], again.terrain[i]);
      EXPECT_EQ(setup.terrain[i].distance, again.terrain[i].distance);
      EXPECT_EQ(setup.terrain[i].elevation, again.terrain[i].elevation);
    }
    ASSERT_EQ(again.events.size(), setup.events.size());
    for (std::size_t i = 0; i < setup.events.size(); ++i) {
      expect_same(event_fields(), setup.events[i], again.events[i]);
    }
    EXPECT_EQ(trace(run_ride(setup), "travel"), trace(run_ride(again), "travel"));
  }
}

// How the unit of a canonical number is said in a workshop, and the SI value of one of it. By hand
// from the inch, 25.4 mm, the pound, 0.45359237 kg, and g, 9.80665 m/s2, all exact.
struct Imperial {
  std::string_view si;
  std::string_view said;
  double one;
};

constexpr double kInch = 0.0254;
constexpr double kPound = 0.45359237;
constexpr double kPoundForce = kPound * 9.80665;
constexpr double kMph = 1609.344 / 3600.0;
constexpr Imperial kImperial[] = {
    {"m", "in", kInch},
    {"m2", "in2", kInch* kInch},
    {"m3", "in3", kInch* kInch* kInch},
    {"m s-1", "mph", kMph},
    {"m s-2", "ft/s2", 12.0 * kInch},
    {"kg", "lbs", kPound},
    {"kg m-3", "lb/ft3", kPound / (12.0 * kInch * 12.0 * kInch * 12.0 * kInch)},
    {"N", "lbf", kPoundForce},
    {"N m-1", "lbf/in", kPoundForce / kInch},
    {"N s m-1", "lbf.s/in", kPoundForce / kInch},
    {"N m-3", "lbf/in3", kPoundForce / (kInch * kInch * kInch)},
    {"Pa", "psi", kPoundForce / (kInch * kInch)},
    {"m2 Pa-1", "in2/psi", kInch* kInch* kInch* kInch / kPoundForce},
    {"rad", "deg", kDegree},
    {"s", "ms", 1e-3},
    {"Hz", "kHz", 1e3},
    {"m2 s-1", "cSt", 1e-6},
    {"s m-1", "s/ft", 1.0 / (12.0 * kInch)},
};

// The scene's text with every unit of the list changed.
std::string imperial(const std::string& text, std::set<std::string_view>& changed) {
  std::string said;
  std::size_t at = 0;
  while (at < text.size()) {
    const std::size_t open = std::min(text.find('"', at), text.size());
    said += text.substr(at, open - at);
    if (open == text.size()) break;
    const std::size_t shut = text.find('"', open + 1);
    std::string inner = text.substr(open + 1, shut - open - 1);
    const std::size_t blank = inner.find(' ');
    const std::string_view unit =
        blank == std::string::npos ? std::string_view{} : std::string_view(inner).substr(blank + 1);
    const auto found = std::ranges::find(kImperial, unit, &Imperial::si);
    if (found != std::end(kImperial)) {
      changed.insert(found->si);
      const std::string number = toml_number(std::stod(inner) / found->one);
      inner = number + (found->said == "in" ? "" : " ") + std::string(found->said);
    } else if (unit == "K") {
      changed.insert("K");
      inner = toml_number(std::stod(inner) * 1.8 - 459.67) + " degF";
    }
    said += "\"" + inner + "\"";
    at = shut + 1;
  }
  return said;
}

// Largest difference of the travel between two rides [m].
double apart(const plunge::Setup& a, const plunge::Setup& b) {
  const std::vector<double> one = trace(run_ride(a), "travel");
  const std::vector<double> other = trace(run_ride(b), "travel");
  EXPECT_EQ(one.size(), other.size());
  double worst = 0.0;
  for (std::size_t i = 0; i < std::min(one.size(), other.size()); ++i) {
    worst = std::max(worst, std::abs(one[i] - other[i]));
  }
  return worst;
}

TEST(Property, ImperialUnitsGiveTheSameSetup) {
  std::set<std::string_view> changed;
  std::vector<double> differences;
  for (const std::uint64_t number : numbers(2000, 80)) {
    SCOPED_TRACE("set-up " + std::to_string(number));
    plunge::Setup setup = good_setup(number);
    setup.ride.tolerance = 1e-10;
    const plunge::Setup again = parse_scene(imperial(to_scene_text(setup), changed), "text").setup;
    for (const Parameter& parameter : parameters()) {
      const double value = parameter.get(setup);
      if (std::isnan(value)) continue;
      EXPECT_NEAR(parameter.get(again), value, 4e-15 * std::abs(value)) << parameter.name;
    }
    differences.push_back(apart(setup, again));
  }
  EXPECT_EQ(changed.size(), std::size(kImperial) + 1);
  // A wheel that hops and a seal that sticks grow the last bit of a number towards the integrator's
  // own error (baseline: 7e-10 m in the middle, 1e-7 m at worst).
  std::ranges::sort(differences);
  EXPECT_LT(differences.back(), 1e-6);
  EXPECT_LT(differences[differences.size() / 2], 1e-8);
}

TEST(Property, ImperialUnitsGiveTheSameSmoothRide) {
  plunge::Setup setup = standard_setup();
  setup.fork.friction.seal = 0.0;
  setup.fork.friction.bushing = 0.0;
  setup.ride.tolerance = 1e-12;
  setup.ride.duration = 3.0;
  for (const double height : {0.0, 0.03, 0.0, -0.02, 0.0}) {
    Feature f;
    f.kind = height == 0.0 ? FeatureKind::flat : FeatureKind::bump;
    f.length = 2.5;
    if (height != 0.0) {
      f.shape = BumpShape::cosine;
      f.height = height;
    }
    fill_defaults(f);
    setup.terrain.push_back(f);
  }
  ASSERT_TRUE(judge(setup).empty());
  std::set<std::string_view> changed;
  const plunge::Setup again = parse_scene(imperial(to_scene_text(setup), changed), "text").setup;
  EXPECT_NE(to_scene_text(again), to_scene_text(setup));  // a last bit differs somewhere
  EXPECT_LT(apart(setup, again), 1e-9);
}

}  // namespace
}  // namespace plunge
