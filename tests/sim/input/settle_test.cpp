#include "sim/input/settle.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "models/setup/statics.hpp"
#include "tests/support.hpp"

namespace plunge::settle_test {
namespace {

// The worked design point on ten metres of level ground, without a pressure.
Setup unheld() {
  Setup setup = worked_design_point();
  Feature flat;
  flat.length = 10.0;
  setup.terrain = {flat};
  fill_defaults(setup);
  return setup;
}

std::string words(const Faults& faults) {
  std::string text;
  for (const Fault& fault : faults) text += to_string(fault) + "\n";
  return text;
}

// 22 % of 150 mm are 33 mm: one pressure holds both.
TEST(Settle, ALengthOfSagIsItsShareOfTheTravel) {
  plunge::Setup by_share = unheld();
  by_share.hold.sag = 0.22;
  EXPECT_EQ(words(settle(by_share)), "");
  EXPECT_NEAR(sag(assemble(by_share)), 0.033, 1e-9);
  plunge::Setup by_length = unheld();
  by_length.hold.sag_length = 0.033;
  EXPECT_EQ(words(settle(by_length)), "");
  EXPECT_NEAR(by_length.fork.pressure, by_share.fork.pressure, 1e-3);
  EXPECT_TRUE(std::isnan(by_length.hold.sag_length));  // solved
  EXPECT_EQ(solved_by_hold(by_length).name, "fork.pressure");
  EXPECT_EQ(solved_by_hold(by_length).value, by_length.fork.pressure);

  plunge::Setup longer = unheld();
  longer.fork.travel = 0.16;  // the same 33 mm are less of a longer travel
  longer.hold.sag_length = 0.033;
  EXPECT_EQ(words(settle(longer)), "");
  EXPECT_NEAR(sag(assemble(longer)), 0.033, 1e-9);
}

TEST(Settle, WhatCannotBeHeldIsAFault) {
  plunge::Setup setup = unheld();
  EXPECT_NE(words(settle(setup)).find("fork.pressure: must be given"), std::string::npos);
  setup.hold.sag = 0.95;
  EXPECT_EQ(words(settle(setup)), "hold.sag = 95 %: must be 1 % to 90 %\n");
  setup.hold = {kUnset, 0.001};
  EXPECT_EQ(words(settle(setup)),
            "hold.sag = 1 mm: must be 1.5 mm to 135 mm, 1 % to 90 % of the travel\n");
  setup.hold = {kUnset, 0.015};
  setup.fork.pressure_limit = 2e5;  // a third of what this rider asks for
  EXPECT_NE(words(settle(setup)).find("hold.sag = 15 mm: no pressure up to"), std::string::npos);
}

// The ground is judged last, and by whom the caller says.
TEST(Settle, AGroundThatIsKnownIsNotJudgedAgain) {
  plunge::Setup setup = unheld();
  setup.hold.sag = 0.22;
  int asked = 0;
  EXPECT_TRUE(settle(setup, [&](const plunge::Setup& held) {
                ++asked;
                EXPECT_FALSE(std::isnan(held.fork.pressure));
                return Faults();
              }).empty());
  EXPECT_EQ(asked, 1);
  setup.fork.spacers = 99.0;
  EXPECT_FALSE(settle(setup, [&](const plunge::Setup&) {
                 ++asked;
                 return Faults();
               }).empty());
  EXPECT_EQ(asked, 1);
}

}  // namespace
}  // namespace plunge::settle_test
