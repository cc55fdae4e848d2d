#include "models/setup/families.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "models/setup/judge.hpp"
#include "models/setup/parameters.hpp"
#include "tests/support.hpp"

namespace plunge::families_test {
namespace {

Family family(double stanchion) {
  Family given;
  given.stanchion = stanchion;
  return given;
}

plunge::Setup filled(double travel, const Family& given, Knowledge& known, bool held = false) {
  plunge::Setup setup;
  setup.fork.travel = travel;
  fill_from_family(given, held, setup, known);
  fill_defaults(setup);
  return setup;
}

TEST(Families, EveryForkOfTheRangeIsAFork) {
  for (double travel = 0.1; travel < 0.201; travel += 0.01) {
    for (double stanchion = 0.03; stanchion < 0.0401; stanchion += 0.001) {
      Knowledge known;
      const plunge::Setup setup = filled(travel, family(stanchion), known);
      const Faults faults = judge(setup.fork);
      EXPECT_TRUE(faults.empty()) << travel << " " << stanchion << ": "
                                  << (faults.empty() ? "" : to_string(faults.front()));
      EXPECT_EQ(known.size(), family_rows().size());
    }
  }
}

// The shipped forks are invented, but within what forks have: each number within 2.6 spreads.
TEST(Families, HoldTheNumbersOfARealisticFork) {
  Knowledge known;
  const plunge::Setup setup = filled(0.15, family(0.0334), known);
  const auto off = [&](const char* name, double value) {
    const std::size_t i = known.find(name);
    const double median = find_parameter(name)->get(setup);
    return std::abs(std::log(value / median)) / known.spread(i);
  };
  // The worked design point of the physics: 150 mm, 7.5 cm2, 198 cm3, 6.7 cm2, 15 cm3.
  EXPECT_LT(off("fork.air.main_area", 7.5e-4), 0.5);
  EXPECT_LT(off("fork.air.main_volume", 198e-6), 1.0);
  EXPECT_LT(off("fork.air.negative_area", 6.7e-4), 0.5);
  EXPECT_LT(off("fork.air.negative_volume", 15e-6), 0.5);
  EXPECT_LT(off("fork.friction.seal", 25.0), 2.0);
  for (const double edge : {6e-6, 12e-6}) EXPECT_LT(off("fork.air.spacer_volume", edge), 2.8);
}

TEST(Families, FillOnlyWhatIsNotGiven) {
  plunge::Setup setup;
  setup.fork.travel = 0.15;
  setup.fork.air.main_volume = 200e-6;
  setup.fork.rebound.low_speed = 650.0;
  Knowledge known;
  fill_from_family(family(0.034), true, setup, known);
  EXPECT_EQ(setup.fork.air.main_volume, 200e-6);
  EXPECT_EQ(setup.fork.rebound.low_speed, 650.0);
  EXPECT_EQ(known.find("fork.air.main_volume"), known.size());
  // The pressure of a sag that is held is solved for.
  EXPECT_TRUE(std::isnan(setup.fork.pressure));
}

TEST(Families, AMeasuredBoreNarrowsThePistonAndWhatFollowsFromIt) {
  Knowledge by_stanchion, by_bore;
  filled(0.15, family(0.034), by_stanchion);
  Family bore;
  bore.bore = 0.0315;
  const plunge::Setup setup = filled(0.15, bore, by_bore);
  EXPECT_NEAR(setup.fork.air.main_area, kPi / 4.0 * square(0.0315), 1e-6);
  for (const char* name :
       {"fork.air.main_area", "fork.air.negative_area", "fork.air.main_volume"}) {
    EXPECT_LT(by_bore.spread(by_bore.find(name)), by_stanchion.spread(by_stanchion.find(name)));
  }
}

TEST(Families, EveryRowGivesItsReasonAndANumberThatThereIs) {
  for (const FamilyRow& row : family_rows()) {
    EXPECT_NE(find_parameter(row.name), nullptr) << row.name;
    EXPECT_GT(row.reason.size(), 10u) << row.name;
    EXPECT_LE(row.spread({}), kLargestSpread);
  }
}

TEST(Families, RefuseWhatTheyDoNotKnow) {
  EXPECT_EQ(judge(Family{}).front().key, "fork.family.stanchion");
  EXPECT_EQ(judge(family(0.06)).front().key, "fork.family.stanchion");
  Family thick = family(0.034);
  thick.bore = 0.035;
  EXPECT_EQ(judge(thick).front().key, "fork.family.bore");
  thick.bore = 0.0315;
  EXPECT_TRUE(judge(thick).empty());
}

TEST(Families, AForkThatSaysNothingIsGuessedWithTheirSpreads) {
  Knowledge known;
  plunge::Setup setup = filled(0.15, family(0.034), known);
  const Knowledge spreads = spreads_of_family(setup);
  EXPECT_EQ(spreads.count(Evidence::guessed), spreads.size());
  for (const std::size_t i : known.uncertain()) {
    const std::size_t place = spreads.find(known.numbers()[i].name);
    ASSERT_LT(place, spreads.size());
    EXPECT_DOUBLE_EQ(spreads.spread(place), known.spread(i));
  }
}

}  // namespace
}  // namespace plunge::families_test
