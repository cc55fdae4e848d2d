#include "sim/input/overrides.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "tests/scratch.hpp"
#include "tests/support.hpp"

namespace plunge::overrides_test {
namespace {

// Level ground with a bump; one brake.
Setup setup_with_lists() {
  Setup setup = standard_setup();
  setup.terrain.resize(2);
  setup.terrain[0].length = 5.0;
  setup.terrain[1].kind = FeatureKind::bump;
  setup.events.resize(1);
  return setup;
}

TEST(Overrides, VariationsAreRangesAndLists) {
  const plunge::Setup setup = setup_with_lists();
  const auto values = [&](const std::string& text) { return parse_variation(text, setup).values; };
  EXPECT_EQ(values("fork.spacers=0..4"), (std::vector<double>{0, 1, 2, 3, 4}));
  EXPECT_EQ(values("fork.spacers=0..4:2"), (std::vector<double>{0, 2, 4}));
  EXPECT_EQ(values("fork.spacers=2,3,5"), (std::vector<double>{2, 3, 5}));
  EXPECT_EQ(values("bike.tyre_grip = 0.7..0.9:0.1").size(), 3U);
  const std::vector<double> pressures = values("fork.pressure=60psi..90psi:5psi");
  ASSERT_EQ(pressures.size(), 7U);
  EXPECT_EQ(pressures[1], 65.0 * find_common_unit("psi")->numerator);
  EXPECT_EQ(values("ambient.temperature=0degC..30degC:10degC"),
            (std::vector<double>{273.15, 283.15, 293.15, 303.15}));
  EXPECT_EQ(values("terrain[1].height=0.3 m,600 mm"), (std::vector<double>{0.3, 0.6}));
  const Variation spacers = parse_variation("fork.spacers=0..4", setup);
  plunge::Setup varied = setup;
  spacers.knob.put(varied, spacers.values[3]);
  EXPECT_EQ(varied.fork.spacers, 3.0);
  for (const char* text :
       {"fork.spacers=4..0", "fork.spacers=0..4:0", "fork.spacers=0..4:0.5", "fork.spacers=0..99",
        "fork.spacers=", "fork.spacers=1,,2", "fork.spacers=1..", "fork.spacers=..3",
        "fork.pressure=60psi..90psi", "fork.pressure=60..90:5 psi",
        "fork.pressure=60psi..6bar:5psi", "ride.tolerance=1e-12..1e-3:1e-12",
        "fork.spring=air,coil", "fork.nothing=1", "=", ""}) {
    EXPECT_EQ(complaint([&] { parse_variation(text, setup); }).rfind("--vary: ", 0), 0U) << text;
  }
}

// A sag is varied by what its first value is.
TEST(Overrides, ASagIsAShareOrALength) {
  EXPECT_EQ(parse_hold("sag=22%").sag, 0.22);
  EXPECT_EQ(parse_hold("sag=0.22").sag, 0.22);
  EXPECT_EQ(parse_hold("sag = 35 mm").sag_length, 0.035);
  EXPECT_TRUE(std::isnan(parse_hold("sag=35mm").sag));
  EXPECT_EQ(parse_hold("sag=1.4 in").sag_length, 1.4 * 0.0254);
  for (const char* text : {"sag", "sag=22", "dive=22%", "sag=22 s", "sag=nan", "sag="}) {
    EXPECT_EQ(complaint([&] { parse_hold(text); }).rfind("--hold: ", 0), 0U) << text;
  }
  const plunge::Setup setup = standard_setup();
  const Variation lengths = parse_variation("hold.sag=30mm..40mm:5mm", setup);
  EXPECT_EQ(lengths.knob.unit, "m");
  EXPECT_EQ(lengths.values.size(), 3U);
  EXPECT_EQ(parse_variation("hold.sag=20%,25%", setup).knob.unit, "1");
  EXPECT_NE(complaint([&] { parse_variation("hold.sag=20%,30mm", setup); }), "");
}

TEST(Overrides, WhatNothingReadsIsToldByName) {
  plunge::Setup setup = setup_with_lists();
  EXPECT_EQ(unread_rule(setup, "fork.spacers"), "");
  EXPECT_EQ(unread_rule(setup, "fork.name"), "");
  EXPECT_EQ(unread_rule(setup, "fork.negative"), "");
  EXPECT_EQ(unread_rule(setup, "terrain[1].height"), "");
  EXPECT_EQ(unread_rule(setup, "terrain[0].height"),
            "nothing reads it: it does not belong to the kind \"flat\"");
  setup.fork.spring = Spring::coil;
  for (const char* name : {"fork.spacers", "fork.negative", "pumped.temperature"}) {
    EXPECT_NE(unread_rule(setup, name).find("nothing reads it: it belongs to an air spring"),
              std::string::npos)
        << name;
  }
}

}  // namespace
}  // namespace plunge::overrides_test
