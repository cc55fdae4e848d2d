#include "models/setup/parameters.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <iterator>
#include <set>
#include <sstream>
#include <string>

#include "tests/builders.hpp"
#include "tests/support.hpp"

namespace plunge::parameters_test {
namespace {

TEST(Parameters, EachNumberOfASetupHasOneLine) {
  // Writing a different number through every line and reading all of them back: two lines that
  // shared a field would disagree.
  plunge::Setup setup;
  double next = 1.0;
  for (const Parameter& p : parameters()) p.set(setup, next++);
  double expected = 1.0;
  std::set<std::string_view> names;
  for (const Parameter& p : parameters()) {
    EXPECT_EQ(p.get(setup), expected++) << p.name;
    EXPECT_TRUE(names.insert(p.name).second) << p.name;
  }
  // By hand from setup.hpp: fork 6, air 15, coils 4, dampers 26, oil 5, hydraulic stop 2, friction
  // 9, stops 9; bike 12, rider 7, ambient and pumped 4, ride 4.
  EXPECT_EQ(names.size(), 104U);
}

TEST(Parameters, LinesAreWellFormed) {
  for (const Parameter& p : parameters()) {
    const CommonUnit* said = find_common_unit(p.said);
    ASSERT_NE(said, nullptr) << p.name;
    EXPECT_EQ(said->unit, p.unit) << p.name;
    EXPECT_LT(p.low, p.high) << p.name;
    EXPECT_FALSE(p.meaning.empty()) << p.name;
    EXPECT_EQ(std::isnan(p.fallback), p.basis == Basis::none) << p.name;
    if (!std::isnan(p.fallback)) {
      EXPECT_GE(p.fallback, p.low) << p.name;
      EXPECT_LE(p.fallback, p.high) << p.name;
      EXPECT_NE(p.needed, nullptr) << p.name;
    }
    EXPECT_EQ(find_parameter(p.name), &p) << p.name;
  }
  EXPECT_EQ(find_parameter("fork.spacer"), nullptr);
}

TEST(Parameters, DefaultsFallInsideTheRealisticRanges) {
  // Ranges: the table "Realistic numbers" of the project's physics notes.
  const plunge::Setup s = defaults();
  const auto inside = [](double value, double low, double high) {
    EXPECT_GE(value, low);
    EXPECT_LE(value, high);
  };
  inside(s.rider.front_share, 0.33, 0.45);
  inside(s.fork.unsprung_mass, 3.0, 5.0);
  inside(s.fork.wheel_share, 0.7, 0.85);
  inside(s.bike.head_angle * 180.0 / kPi, 63.0, 72.0);
  inside(s.bike.tyre_stiffness, 50e3, 130e3);
  inside(s.bike.tyre_damping, 30.0, 150.0);
  inside(s.rider.body_stiffness, 1e3, 10e3);
  inside(s.rider.body_damping, 100.0, 600.0);
  inside(s.fork.friction.static_ratio, 1.1, 1.5);
  inside(s.fork.friction.stribeck_speed, 1e-3, 20e-3);
  inside(s.fork.friction.presliding_stiffness, 1e5, 1e6);
  inside(s.fork.compression.low_speed, 150.0, 900.0);
  inside(s.fork.rebound.low_speed, 400.0, 1500.0);
  inside(s.fork.air.spacer_volume, 6e-6, 12e-6);
  inside(s.fork.air.main_time, 0.5, 9.0);
  inside(s.fork.air.negative_time, 0.5, 9.0);
}

TEST(Parameters, DefaultsAreFilledOnlyWhereTheyAreRead) {
  plunge::Setup coil;
  coil.fork.spring = Spring::coil;
  coil.fork.compression.kind = DamperKind::hydraulic;
  coil.fork.rebound.click_table = {{0.0, 900.0, 500.0}, {10.0, 400.0, 300.0}};
  fill_defaults(coil);
  EXPECT_TRUE(std::isnan(coil.fork.spacers));
  EXPECT_TRUE(std::isnan(coil.fork.compression.low_speed));
  EXPECT_TRUE(std::isnan(coil.fork.rebound.low_speed));
  EXPECT_EQ(coil.fork.oil.density, 860.0);
  EXPECT_EQ(coil.fork.coil.preload, 0.0);

  Feature drop = of_kind(FeatureKind::drop);
  fill_defaults(drop);
  EXPECT_EQ(drop.landing_angle, 0.0);
  EXPECT_TRUE(std::isnan(drop.grade));

  plunge::Setup given = defaults();
  given.bike.mass = 17.0;
  fill_defaults(given);
  EXPECT_EQ(given.bike.mass, 17.0);
}

TEST(Parameters, EveryWordOfAChoiceIsSetAndRead) {
  for (const Choice<plunge::Setup>& choice : choices()) {
    plunge::Setup setup;
    for (int k = 0; k < static_cast<int>(choice.values.size()); ++k) {
      choice.set(setup, k);
      EXPECT_EQ(choice.get(setup), k) << choice.name;
      EXPECT_EQ(find_value(choice.values, choice.values[static_cast<std::size_t>(k)].name), k);
    }
    EXPECT_EQ(find_value(choice.values, "nonsense"), -1);
  }
  EXPECT_EQ(to_string(FeatureKind::rough), "rough");
  EXPECT_EQ(to_string(EventKind::corner), "corner");
}

TEST(Parameters, MisspeltWordsFindTheirNeighbour) {
  const std::string_view words[] = {"spacers", "pressure", "travel", "main_volume"};
  EXPECT_EQ(nearest_name("spacer", words), "spacers");
  EXPECT_EQ(nearest_name("presure", words), "pressure");
  EXPECT_EQ(nearest_name("tarvel", words), "travel");
  EXPECT_EQ(nearest_name("main_vol", words), "main_volume");
  EXPECT_EQ(nearest_name("elephant", words), "");
  EXPECT_EQ(nearest_name("", words), "");
}

TEST(Parameters, QuantitiesAreSaidInWorkshopUnits) {
  EXPECT_EQ(say(72.0 * kPsi, "psi"), "72 psi");
  EXPECT_EQ(say(198e-6, "cm3"), "198 cm3");
  EXPECT_EQ(say(293.15, "degC"), "20 degC");
  EXPECT_EQ(say(0.22, "%"), "22 %");
  EXPECT_EQ(say(2.0, "1"), "2");
  EXPECT_EQ(say_range(0.01, 2.0, "mm"), "10 mm to 2000 mm");
  EXPECT_THROW(say(1.0, "furlong"), std::invalid_argument);
}

TEST(Parameters, TheFormatPageHoldsTheTable) {
  std::ifstream page("scenarios/format.md");
  ASSERT_TRUE(page) << "run from the root of the source tree";
  const std::string text{std::istreambuf_iterator<char>(page), {}};
  const std::string begin = "<!-- from the parameter table: begin -->\n";
  const std::string end = "<!-- from the parameter table: end -->";
  const std::size_t from = text.find(begin);
  const std::size_t to = text.find(end);
  ASSERT_NE(from, std::string::npos);
  ASSERT_NE(to, std::string::npos);
  const std::string found = text.substr(from + begin.size(), to - from - begin.size());
  // Line by line, so that a difference can be read.
  std::istringstream expected(parameter_page());
  std::istringstream actual(found);
  std::string want, have;
  while (std::getline(expected, want)) {
    ASSERT_TRUE(std::getline(actual, have)) << "missing: " << want;
    EXPECT_EQ(have, want);
  }
  EXPECT_FALSE(std::getline(actual, have)) << "too much: " << have;
}

}  // namespace
}  // namespace plunge::parameters_test
