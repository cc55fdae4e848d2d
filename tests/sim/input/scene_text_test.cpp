#include "sim/input/scene_text.hpp"

#include <gtest/gtest.h>

#include <bit>
#include <cmath>
#include <cstdint>
#include <string>
#include <vector>

#include "models/setup/fault.hpp"
#include "models/setup/judge.hpp"
#include "models/setup/parameters.hpp"
#include "sim/input/toml_values.hpp"
#include "sim/text/toml_file.hpp"
#include "tests/scene_files.hpp"
#include "tests/support.hpp"

namespace plunge::scene_text_test {
namespace {

bool same_bits(double a, double b) {
  return std::bit_cast<std::uint64_t>(a) == std::bit_cast<std::uint64_t>(b) ||
         (std::isnan(a) && std::isnan(b));
}

// The first difference of two Setups; empty: none.
std::string difference(const plunge::Setup& a, const plunge::Setup& b) {
  for (const Parameter& p : parameters()) {
    if (!same_bits(p.get(a), p.get(b))) return std::string(p.name);
  }
  for (const auto& choice : choices()) {
    if (choice.get(a) != choice.get(b)) return std::string(choice.name);
  }
  const auto rows_differ = [](const auto& x, const auto& y, const auto& fields) {
    if (x.size() != y.size()) return true;
    for (std::size_t i = 0; i < x.size(); ++i) {
      for (const auto& field : fields) {
        if (!same_bits(field.get(x[i]), field.get(y[i]))) return true;
      }
    }
    return false;
  };
  for (const auto side : {&ForkSetup::compression, &ForkSetup::rebound}) {
    const DamperSetup& x = a.fork.*side;
    const DamperSetup& y = b.fork.*side;
    if (rows_differ(x.click_table, y.click_table, click_fields())) return "click_table";
    if (rows_differ(x.low_speed_table, y.low_speed_table, slope_fields())) return "low_speed_table";
    if (rows_differ(x.high_speed_table, y.high_speed_table, slope_fields())) {
      return "high_speed_table";
    }
    if (rows_differ(x.points, y.points, speed_force_fields())) return "points";
  }
  if (rows_differ(a.terrain, b.terrain, feature_fields())) return "terrain";
  if (rows_differ(a.events, b.events, event_fields())) return "events";
  for (std::size_t i = 0; i < a.terrain.size(); ++i) {
    for (const auto& choice : feature_choices()) {
      if (choice.get(a.terrain[i]) != choice.get(b.terrain[i])) return "terrain choice";
    }
    if (a.terrain[i].distance != b.terrain[i].distance) return "distance";
    if (a.terrain[i].elevation != b.terrain[i].elevation) return "elevation";
  }
  for (std::size_t i = 0; i < a.events.size(); ++i) {
    if (a.events[i].kind != b.events[i].kind) return "event kind";
  }
  if (a.name != b.name || a.fork.name != b.fork.name || a.bike.name != b.bike.name ||
      a.rider.name != b.rider.name) {
    return "name";
  }
  return "";
}

DamperSetup random_damper(Dice& dice) {
  DamperSetup damper;
  const double kind = dice.between(-1.0, 4.0);
  if (kind < 0.0) {
    damper.knee = dice.between(0.05, 1.0);
    damper.clicks = std::floor(dice.between(0.0, 13.0));
    damper.high_speed_clicks = std::floor(dice.between(0.0, 7.0));
    damper.low_speed_table = {{0.0, dice.between(500.0, 900.0)},
                              {12.0, dice.between(100.0, 400.0)}};
    damper.high_speed_table = {{0.0, dice.between(100.0, 400.0)}, {6.0, dice.between(50.0, 100.0)}};
  } else if (kind < 1.0) {
    damper.low_speed = dice.between(100.0, 900.0);
    damper.high_speed = dice.between(50.0, 500.0);
    damper.knee = dice.between(0.05, 1.0);
  } else if (kind < 2.0) {
    damper.knee = dice.between(0.05, 1.0);
    damper.clicks = std::floor(dice.between(0.0, 13.0));
    damper.click_table = {{0.0, dice.between(500.0, 900.0), dice.between(100.0, 400.0)},
                          {12.0, dice.between(100.0, 400.0), dice.between(50.0, 100.0)}};
  } else if (kind < 3.0) {
    damper.kind = DamperKind::points;
    damper.points = {{dice.between(0.05, 0.1), dice.between(50.0, 90.0)},
                     {dice.between(0.2, 0.6), dice.between(100.0, 500.0)}};
  } else {
    damper.kind = DamperKind::hydraulic;
    damper.clicks = 5.0;
    damper.bleed_clicks = 10.0;
    damper.piston_area = dice.between(0.8e-4, 1.2e-4);
    damper.bleed_area = dice.between(1e-6, 3e-6);
    damper.bleed_length = dice.between(1e-3, 3e-3);
    damper.shim_area = dice.between(10e-6, 30e-6);
    damper.shim_preload = dice.between(1e5, 5e5);
    damper.shim_slope = dice.between(1e-11, 1e-10);
    damper.shim_preload_closed = damper.shim_preload + dice.between(0.0, 5e5);
    damper.shim_clicks = 8.0;
    damper.high_speed_clicks = std::floor(dice.between(0.0, 9.0));
    damper.bleed_closed = dice.between(0.01, 0.1);
  }
  return damper;
}

Feature random_feature(Dice& dice) {
  Feature f;
  f.kind = static_cast<FeatureKind>(static_cast<int>(dice.between(0.0, 6.0)));
  for (const FeatureField& field : feature_fields()) {
    if (field.needed(f)) field.set(f, field.whole ? 3.0 : dice.between(0.1, 0.3));
  }
  f.shape = f.kind == FeatureKind::bump || f.kind == FeatureKind::bumps
                ? static_cast<BumpShape>(static_cast<int>(dice.between(0.0, 4.0)))
                : BumpShape::half_sine;
  if (f.kind != FeatureKind::profile) f.length = std::isnan(f.length) ? kUnset : f.length + 1.0;
  if (f.kind == FeatureKind::flat) f.grade = dice.between(-0.3, 0.3);
  if (f.kind == FeatureKind::bumps) f.spacing = dice.between(2.0, 3.0);
  if (f.kind == FeatureKind::rough) {
    f.roughness = dice.between(1e-6, 1e-3);
    f.longest = dice.between(5.0, 50.0);
    f.seed = std::floor(dice.between(0.0, 4294967295.0));
  }
  if (f.kind == FeatureKind::profile) {
    f.join = dice.coin() ? ProfileJoin::smooth : ProfileJoin::linear;
    f.distance = {-0.0};
    f.elevation = {dice.between(-1.0, 1.0)};
    for (int i = 0; i < 30; ++i) {
      f.distance.push_back(f.distance.back() + dice.between(0.01, 1.0));
      f.elevation.push_back(dice.between(-1.0, 1.0) * std::pow(10.0, dice.between(-9.0, 0.0)));
    }
  }
  return f;
}

Setup random_setup(Dice& dice) {
  Setup setup = standard_setup();
  setup.name = dice.coin() ? "" : "a \"quoted\" name\\\t\u00e9 \x01";
  setup.fork.name = "reed";
  setup.fork.spacers = std::floor(dice.between(0.0, 5.0));
  setup.fork.compression = random_damper(dice);
  setup.fork.rebound = random_damper(dice);
  if (dice.coin()) setup.fork.air.leg_volume = 700e-6, setup.fork.air.leg_area = 2.3e-4;
  if (dice.coin()) setup.pumped.temperature = dice.between(263.15, 313.15);
  if (dice.coin()) setup.rider.sprung_mass = kUnset;
  if (dice.coin()) setup.bike.contact = WheelContact::average, setup.bike.contact_length = 0.25;
  const double spring = dice.between(0.0, 3.0);
  if (spring < 1.0) {
    setup.fork.spring = Spring::coil;
    setup.fork.coil = {dice.between(5e3, 9e3), dice.between(0.0, 100.0)};
  } else if (spring < 2.0) {
    setup.fork.negative = NegativeSpring::coil;
    setup.fork.negative_coil = {dice.between(5e3, 9e3), 0.05};
  }
  // A little off each default, so that no digit is round.
  for (const Parameter& p : parameters()) {
    if (!p.whole && p.fallback > 0.0 && p.name != "fork.unsprung_mass") {
      p.set(setup, p.get(setup) * dice.between(0.99, 1.0));
    }
  }
  setup.terrain.push_back(Feature{});
  setup.terrain[0].length = dice.between(50.0, 60.0);
  const int features = static_cast<int>(dice.between(0.0, 6.0));
  for (int i = 0; i < features; ++i) setup.terrain.push_back(random_feature(dice));
  if (dice.coin()) {
    RideEvent corner;
    corner.kind = EventKind::corner;
    corner.at = dice.between(1.0, 20.0);
    corner.lean = dice.between(0.1, 0.6);
    corner.length = dice.between(1.0, 5.0);
    setup.events.push_back(corner);
  }
  if (dice.coin()) {
    RideEvent brake;
    brake.at = dice.between(1.0, 20.0);
    brake.rate = dice.between(1.0, 6.0);
    brake.to_speed = dice.between(1.0, 4.0);
    setup.events.push_back(brake);
  }
  fill_defaults(setup);
  return setup;
}

TEST(SceneText, RoundTripsBitForBit) {
  // The property itself is the expected value: text and back is the identity.
  Dice dice(20240611);
  int sound = 0;
  for (int i = 0; i < 400; ++i) {
    plunge::Setup setup = random_setup(dice);
    std::string faults;
    for (const Fault& fault : judge(setup)) faults += to_string(fault) + "\n";
    EXPECT_EQ(faults, "") << i;
    if (!faults.empty()) continue;
    ++sound;
    if (dice.coin()) {
      // A share of the travel, or metres of it.
      double& held = dice.coin() ? setup.hold.sag : setup.hold.sag_length;
      held = dice.between(0.01, 0.03);
    }
    const std::string text = to_scene_text(setup);
    // Not every ground is one that a wheel climbs: read as it stands.
    const Scene again = parse_scene(text, "round trip", ".", {}, false);
    EXPECT_EQ(difference(setup, again.setup), "") << text;
    EXPECT_TRUE(same_bits(setup.hold.sag, again.setup.hold.sag));
    EXPECT_TRUE(same_bits(setup.hold.sag_length, again.setup.hold.sag_length));
    EXPECT_EQ(to_scene_text(again.setup), text);
  }
  EXPECT_GT(sound, 350);
}

TEST(SceneText, ADifferenceWouldBeSeen) {
  plunge::Setup a = standard_setup();
  plunge::Setup b = a;
  b.fork.travel = std::nextafter(a.fork.travel, 1.0);
  EXPECT_EQ(difference(a, b), "fork.travel");
}

TEST(SceneText, SaysItsTypeAndFormat) {
  const TomlFile file = parse_toml(to_scene_text(standard_setup()), "text");
  EXPECT_EQ(file.root.find("type")->text, "scene");
  EXPECT_EQ(file.root.find("format")->items.at(0).number, kSceneFormatMajor);
  EXPECT_EQ(file.root.find("format")->items.at(1).number, kSceneFormatMinor);
}

}  // namespace
}  // namespace plunge::scene_text_test
