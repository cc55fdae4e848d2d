#include "models/setup/keys.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "models/setup/damper.hpp"
#include "models/setup/parameters.hpp"
#include "tests/support.hpp"

namespace plunge::keys_test {
namespace {

// Each list has something in it, so that every number has a place.
Setup full_setup() {
  Setup setup = standard_setup();
  for (DamperSetup* damper : {&setup.fork.compression, &setup.fork.rebound}) {
    damper->click_table = {{0.0, 800.0, 250.0}, {12.0, 150.0, 120.0}};
    damper->low_speed_table = {{0.0, 700.0}, {9.0, 200.0}};
    damper->high_speed_table = {{0.0, 300.0}, {5.0, 100.0}};
    damper->points = {{0.1, 70.0}, {0.5, 320.0}};
  }
  setup.terrain.resize(2);
  for (Feature& feature : setup.terrain) {
    for (const FeatureField& field : feature_fields()) field.set(feature, field.high);
    feature.distance = {0.0, 1.0};
    feature.elevation = {0.0, 0.1};
  }
  setup.bike.contact_length = 0.25;
  return setup;
}

struct Keys {
  Key compression, rebound, ground;
  explicit Keys(const Setup& s)
      : compression(damper_key(s.fork.compression, s.fork.oil)),
        rebound(damper_key(s.fork.rebound, s.fork.oil)),
        ground(ground_key(s.terrain, s.bike)) {}
};

// Another number than the one that is there.
double changed(double number) { return std::isnan(number) ? 0.1234 : 0.97 * number + 1e-7; }

// By name: a number of one direction is in that damper's key, the oil in both, the wheel, the
// wheelbase and the length of the line in that of the ground, every other number in none.
TEST(Keys, EveryNumberOfTheTableIsInTheKeysOfWhatFollowsFromIt) {
  const plunge::Setup setup = full_setup();
  const Keys before(setup);
  int noticed = 0;
  for (const Parameter& parameter : parameters()) {
    plunge::Setup turned = setup;
    parameter.set(turned, changed(parameter.get(setup)));
    const Keys after(turned);
    const bool oil = parameter.name.starts_with("fork.oil.");
    const bool compression = oil || parameter.name.starts_with("fork.compression.");
    const bool rebound = oil || parameter.name.starts_with("fork.rebound.");
    const bool ground = parameter.name == "bike.wheel_radius" ||
                        parameter.name == "bike.contact_length" ||
                        parameter.name == "bike.wheelbase" || parameter.name == "bike.line_length";
    EXPECT_EQ(after.compression != before.compression, compression) << parameter.name;
    EXPECT_EQ(after.rebound != before.rebound, rebound) << parameter.name;
    EXPECT_EQ(after.ground != before.ground, ground) << parameter.name;
    noticed += compression || rebound || ground ? 1 : 0;
  }
  EXPECT_GT(noticed, 25);
}

TEST(Keys, EveryColumnOfADampersTablesIsInItsKey) {
  const plunge::Setup setup = full_setup();
  const Key before = damper_key(setup.fork.rebound, setup.fork.oil);
  for (std::size_t row : {0U, 1U}) {
    for (const ClickField& field : click_fields()) {
      plunge::Setup turned = setup;
      ClickRow& changed_row = turned.fork.rebound.click_table[row];
      field.set(changed_row, changed(field.get(changed_row)));
      EXPECT_NE(damper_key(turned.fork.rebound, turned.fork.oil), before) << field.name;
    }
    for (const SlopeField& field : slope_fields()) {
      for (const auto table : {&DamperSetup::low_speed_table, &DamperSetup::high_speed_table}) {
        plunge::Setup turned = setup;
        SlopeRow& changed_row = (turned.fork.rebound.*table)[row];
        field.set(changed_row, changed(field.get(changed_row)));
        EXPECT_NE(damper_key(turned.fork.rebound, turned.fork.oil), before) << field.name;
      }
    }
    for (const SpeedForceField& field : speed_force_fields()) {
      plunge::Setup turned = setup;
      SpeedForce& point = turned.fork.rebound.points[row];
      field.set(point, changed(field.get(point)));
      EXPECT_NE(damper_key(turned.fork.rebound, turned.fork.oil), before) << field.name;
    }
  }
  // A row more, and one moved from a table to the other.
  DamperSetup longer = setup.fork.rebound;
  longer.points.push_back(longer.points.back());
  EXPECT_NE(damper_key(longer, setup.fork.oil), before);
}

TEST(Keys, EveryNumberWordAndPointOfAFeatureIsInTheKeyOfTheGround) {
  const plunge::Setup setup = full_setup();
  const Key before = ground_key(setup.terrain, setup.bike);
  for (std::size_t i : {0U, 1U}) {
    for (const FeatureField& field : feature_fields()) {
      auto terrain = setup.terrain;
      field.set(terrain[i], changed(field.get(terrain[i])));
      EXPECT_NE(ground_key(terrain, setup.bike), before) << field.name;
    }
    for (const Choice<Feature>& choice : feature_choices()) {
      auto terrain = setup.terrain;
      choice.set(terrain[i], 1);
      EXPECT_NE(ground_key(terrain, setup.bike), before) << choice.name;
    }
    for (std::vector<double> Feature::*list : {&Feature::distance, &Feature::elevation}) {
      auto terrain = setup.terrain;
      (terrain[i].*list)[1] += 0.01;
      EXPECT_NE(ground_key(terrain, setup.bike), before);
      (terrain[i].*list) = {};
      EXPECT_NE(ground_key(terrain, setup.bike), before);
    }
  }
  BikeSetup bike = setup.bike;
  bike.contact = WheelContact::point;
  EXPECT_NE(ground_key(setup.terrain, bike), before);
}

TEST(Keys, WordsOfADamperAreInItsKey) {
  plunge::Setup setup = full_setup();
  const Key before = damper_key(setup.fork.rebound, setup.fork.oil);
  setup.fork.rebound.kind = DamperKind::hydraulic;
  EXPECT_NE(damper_key(setup.fork.rebound, setup.fork.oil), before);
}

// Both directions with the same numbers are one law; what is unset is equal to itself.
TEST(Keys, EqualNumbersHaveEqualKeys) {
  const plunge::Setup setup = standard_setup();
  EXPECT_EQ(damper_key(setup.fork.rebound, setup.fork.oil),
            damper_key(standard_setup().fork.rebound, setup.fork.oil));
  DamperSetup same = setup.fork.rebound;
  EXPECT_EQ(damper_key(same, setup.fork.oil), damper_key(setup.fork.rebound, setup.fork.oil));
  EXPECT_EQ(ground_key(full_setup().terrain, setup.bike),
            ground_key(full_setup().terrain, setup.bike));
}

}  // namespace
}  // namespace plunge::keys_test
