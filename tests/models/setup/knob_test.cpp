#include "models/setup/knob.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "models/setup/fault.hpp"
#include "models/setup/keys.hpp"
#include "models/setup/parameters.hpp"
#include "tests/support.hpp"

namespace plunge::knob_test {
namespace {

// A bump, then a flat; a corner.
Setup setup_with_lists() {
  Setup setup = standard_setup();
  setup.terrain.resize(2);
  setup.terrain[0].kind = FeatureKind::bump;
  setup.events.resize(1);
  setup.events[0].kind = EventKind::corner;
  return setup;
}

std::string refusal(const Setup& setup, const std::string& name) {
  try {
    find_knob(setup, name);
  } catch (const InputError& error) {
    return to_string(error.faults().front());
  }
  return "";
}

TEST(Knob, EveryNumberOfTheTableIsFoundReadAndTurned) {
  plunge::Setup setup = standard_setup();
  for (const Parameter& parameter : parameters()) {
    const Knob knob = find_knob(setup, parameter.name);
    EXPECT_EQ(knob.name, parameter.name);
    EXPECT_EQ(knob.unit, parameter.unit);
    EXPECT_EQ(knob.low, parameter.low);
    EXPECT_EQ(knob.high, parameter.high);
    EXPECT_EQ(knob.whole, parameter.whole);
    knob.put(setup, parameter.low);
    EXPECT_EQ(parameter.get(setup), parameter.low) << parameter.name;
    EXPECT_EQ(knob.get(setup), parameter.low);
  }
}

TEST(Knob, NumbersOfFeaturesAndEventsAreCountedFromNought) {
  plunge::Setup setup = setup_with_lists();
  const Knob length = find_knob(setup, "terrain[1].length");
  length.put(setup, 7.0);
  EXPECT_EQ(setup.terrain[1].length, 7.0);
  EXPECT_TRUE(std::isnan(setup.terrain[0].length));
  EXPECT_TRUE(length.shapes_ground());
  const Knob lean = find_knob(setup, "event[0].lean");
  lean.put(setup, 0.5);
  EXPECT_EQ(lean.get(setup), 0.5);
  EXPECT_FALSE(lean.shapes_ground());
  EXPECT_EQ(refusal(setup, "terrain[2].length"),
            "terrain[2].length: is not there: terrain[0] to terrain[1] are");
  EXPECT_EQ(refusal(setup, "event[0].leen"), "event[0].leen: is no known name");
  EXPECT_EQ(refusal(standard_setup(), "event[0].lean"),
            "event[0].lean: is not there: no event is given");
  EXPECT_EQ(refusal(setup, "fork.spacer"),
            "fork.spacer: is no known name; did you mean \"fork.spacers\"?");
  for (const char* name : {"terrain[-1].length", "terrain[].length", "terrain.length", ""}) {
    EXPECT_NE(refusal(setup, name).find("is no known name"), std::string::npos) << name;
  }
}

// What a damper, a spring or a kind of feature does not have, it does not read.
TEST(Knob, ANumberIsReadWhereThePartThatItBelongsToIsThere) {
  plunge::Setup setup = setup_with_lists();
  const auto read = [&](const char* name) { return find_knob(setup, name).is_read(setup); };
  const auto rule = [&](const char* name) { return find_knob(setup, name).unread_rule(setup); };
  EXPECT_TRUE(read("fork.spacers"));
  EXPECT_TRUE(read("pumped.altitude"));  // optional
  EXPECT_TRUE(read("rider.body_mass"));  // optional
  EXPECT_FALSE(read("fork.compression.clicks"));
  EXPECT_NE(rule("fork.compression.clicks")
                .find("a click table, a low-speed table or a hydraulic damper"),
            std::string::npos);
  setup.fork.compression.click_table.resize(2);
  EXPECT_TRUE(read("fork.compression.clicks"));
  EXPECT_FALSE(read("fork.compression.low_speed"));
  // Each slope with an adjuster of its own.
  DamperSetup& rebound = setup.fork.rebound;
  EXPECT_FALSE(read("fork.rebound.high_speed_clicks"));
  EXPECT_NE(rule("fork.rebound.high_speed_clicks").find("a high-speed adjuster"),
            std::string::npos);
  rebound.high_speed_table.resize(2);
  EXPECT_TRUE(read("fork.rebound.high_speed_clicks"));
  EXPECT_FALSE(read("fork.rebound.high_speed"));
  EXPECT_TRUE(read("fork.rebound.low_speed"));
  EXPECT_FALSE(read("fork.rebound.clicks"));
  rebound.low_speed_table.resize(2);
  EXPECT_FALSE(read("fork.rebound.low_speed"));
  EXPECT_TRUE(read("fork.rebound.clicks"));
  // Shims, with an adjuster and without.
  rebound.kind = DamperKind::hydraulic;
  rebound.shim_area = 3e-5;
  EXPECT_TRUE(read("fork.rebound.bleed_closed"));
  EXPECT_FALSE(read("fork.rebound.high_speed_clicks"));
  EXPECT_FALSE(read("fork.rebound.shim_preload_closed"));
  rebound.shim_clicks = 8.0;
  EXPECT_TRUE(read("fork.rebound.high_speed_clicks"));
  EXPECT_TRUE(read("fork.rebound.shim_preload_closed"));
  setup.fork.spring = Spring::coil;
  EXPECT_FALSE(read("fork.spacers"));
  EXPECT_FALSE(read("pumped.altitude"));
  setup.fork.air.leg_area = 4e-4;
  EXPECT_TRUE(read("pumped.altitude"));
  EXPECT_EQ(rule("fork.spacers"), "nothing reads it: it belongs to an air spring (fork.spring)");
  EXPECT_FALSE(read("terrain[0].grade"));
  EXPECT_EQ(rule("terrain[0].grade"), "nothing reads it: it does not belong to the kind \"bump\"");
  EXPECT_FALSE(read("event[0].rate"));
}

// Each condition of the table is said in words: no number is refused without a reason.
TEST(Knob, EveryNumberThatMayGoUnreadSaysWhatItBelongsTo) {
  plunge::Setup bare;
  bare.fork.spring = Spring::coil;
  int unread = 0;
  for (const Spring spring : {Spring::air, Spring::coil}) {
    for (const DamperKind kind : {DamperKind::slopes, DamperKind::points, DamperKind::hydraulic}) {
      bare.fork.spring = spring;
      bare.fork.compression.kind = bare.fork.rebound.kind = kind;
      for (const Parameter& parameter : parameters()) {
        if (is_read(parameter, bare)) continue;
        ++unread;
        EXPECT_FALSE(reader_of(parameter).empty()) << parameter.name;
      }
    }
  }
  EXPECT_GT(unread, 100);
  for (const auto& choice : choices()) {
    EXPECT_EQ(reader_of(choice).empty(), choice.needed(bare)) << choice.name;
  }
}

TEST(Knob, OneSagIsHeldAtATime) {
  plunge::Setup setup = standard_setup();
  EXPECT_FALSE(holds(setup.hold));
  find_knob(setup, "hold.sag").put(setup, 0.22);
  EXPECT_EQ(setup.hold.sag, 0.22);
  EXPECT_TRUE(holds(setup.hold));
  sag_length_knob().put(setup, 0.035);
  EXPECT_TRUE(std::isnan(setup.hold.sag));
  EXPECT_EQ(setup.hold.sag_length, 0.035);
  sag_knob().put(setup, kUnset);
  EXPECT_FALSE(holds(setup.hold));
  EXPECT_TRUE(sag_knob().holds_sag());
  EXPECT_FALSE(find_knob(setup, "fork.spacers").holds_sag());
}

// A knob that shapes the ground is in its key, and no other is.
TEST(Knob, ShapesTheGroundWhereTheKeyOfTheGroundNoticesIt) {
  const plunge::Setup setup = setup_with_lists();
  const Key before = ground_key(setup.terrain, setup.bike);
  int shaping = 0;
  for (const Parameter& parameter : parameters()) {
    const Knob knob = find_knob(setup, parameter.name);
    plunge::Setup turned = setup;
    knob.put(turned, 0.123);
    EXPECT_EQ(knob.shapes_ground(), ground_key(turned.terrain, turned.bike) != before) << knob.name;
    shaping += knob.shapes_ground() ? 1 : 0;
  }
  // The radius of a round wheel, the length of an average, the line's length and where its middle
  // is.
  EXPECT_EQ(shaping, 4);
}

}  // namespace
}  // namespace plunge::knob_test
