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

#include "models/setup/judge.hpp"
#include "models/setup/parameters.hpp"
#include "models/setup/statics.hpp"
#include "sim/ground/terrain.hpp"
#include "sim/input/scene_text.hpp"
#include "sim/ride/run.hpp"
#include "sim/text/toml_file.hpp"
#include "tests/builders.hpp"
#include "tests/random_setup.hpp"
#include "tests/scene_files.hpp"
#include "tests/support.hpp"

namespace plunge::property_test {
namespace {

constexpr std::uint64_t kRides = 600;

// Energy audit at the default tolerance: every ride closes to 1e-4 of what was turned over.
constexpr double kClosing = 1e-4;

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
    EXPECT_GE(least, -0.015);
    // Past the travel the chassis gives as much as the force on it, and the contact little.
    EXPECT_LE(most,
              setup.fork.travel + 1e-3 +
                  value_of(ride.metrics, "fork_force_max") / setup.fork.stops.chassis_stiffness);
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
  return largest_difference(one, other);
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
    Feature f = height == 0.0 ? flat(2.5) : bump(BumpShape::cosine, 2.5, height);
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
}  // namespace plunge::property_test
