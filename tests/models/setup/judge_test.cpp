#include "models/setup/judge.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <string>

#include "models/setup/parameters.hpp"
#include "tests/builders.hpp"
#include "tests/support.hpp"

namespace plunge {
namespace {

using Change = std::function<void(plunge::Setup&)>;

// A ride that nothing is wrong with.
plunge::Setup sound_setup() {
  plunge::Setup setup = standard_setup();
  setup.terrain = {flat(50.0)};
  return setup;
}

std::string listed(const Faults& faults) {
  std::string text;
  for (const Fault& fault : faults) text += to_string(fault) + "\n";
  return text;
}

// The rule that a change to a sound ride breaks for that key; empty: none.
std::string rule_after(const Change& change, const std::string& key) {
  plunge::Setup setup = sound_setup();
  change(setup);
  const Faults faults = judge(setup);
  const auto found = std::ranges::find(faults, key, &Fault::key);
  return found == faults.end() ? "" : found->rule;
}

void expect_fault(const Change& change, const std::string& key, const std::string& part) {
  const std::string rule = rule_after(change, key);
  EXPECT_NE(rule.find(part), std::string::npos) << key << ": \"" << rule << "\"";
  EXPECT_NE(rule, "") << key;
}

void expect_sound(const Change& change) {
  plunge::Setup setup = sound_setup();
  change(setup);
  EXPECT_EQ(listed(judge(setup)), "");
}

TEST(Judge, ASoundRideHasNoFault) {
  expect_sound([](plunge::Setup&) {});
}

TEST(Judge, EveryNumberIsHeldToItsRange) {
  const double infinity = std::numeric_limits<double>::infinity();
  for (const Parameter& p : parameters()) {
    const double below = std::nextafter(p.low, -infinity);
    const double above = std::nextafter(p.high, infinity);
    for (const double value : {below, above, -infinity, infinity, 1e300, -1e300}) {
      EXPECT_NE(rule_after([&](plunge::Setup& s) { p.set(s, value); }, std::string(p.name)), "")
          << p.name << " = " << value;
    }
  }
}

TEST(Judge, EveryNeededNumberMustBeGiven) {
  int needed = 0;
  for (const Parameter& p : parameters()) {
    const plunge::Setup sound = sound_setup();
    const bool is_needed = p.needed != nullptr && p.needed(sound);
    const std::string rule =
        rule_after([&](plunge::Setup& s) { p.set(s, kUnset); }, std::string(p.name));
    EXPECT_EQ(rule.starts_with("must be given"), is_needed) << p.name << ": " << rule;
    needed += is_needed ? 1 : 0;
  }
  EXPECT_GT(needed, 50);
}

TEST(Judge, WholeNumbersAreWhole) {
  expect_fault([](plunge::Setup& s) { s.fork.spacers = 1.5; }, "fork.spacers", "whole number");
  expect_fault([](plunge::Setup& s) { s.fork.spacer_limit = 3.2; }, "fork.spacer_limit",
               "whole number");
}

TEST(Judge, TheMakersLimitsHold) {
  expect_sound([](plunge::Setup& s) { s.fork.spacers = 5.0; });
  expect_fault([](plunge::Setup& s) { s.fork.spacers = 6.0; }, "fork.spacers",
               "must be 0 to 5 (fork.spacer_limit)");
  expect_sound([](plunge::Setup& s) { s.fork.pressure = s.fork.pressure_limit; });
  expect_fault([](plunge::Setup& s) { s.fork.pressure = 12.1e5; }, "fork.pressure",
               "(fork.pressure_limit)");
}

TEST(Judge, AHeldSagLeavesThePressureOpen) {
  plunge::Setup setup = sound_setup();
  setup.fork.pressure = kUnset;
  EXPECT_EQ(judge(setup).size(), 1U);
  EXPECT_EQ(listed(judge(setup, Held::sag)), "");
  EXPECT_TRUE(judge_hold(0.22).empty());
  for (const double sag : {0.0, 1.0, -0.2, 22.0, std::nan("")}) {
    EXPECT_EQ(judge_hold(sag).size(), 1U) << sag;
  }
}

TEST(Judge, TheChamberHoldsAirAtFullTravel) {
  // By hand: 7.5 cm2 over 150 + 5 mm sweeps 116.25 cm3; 3 cm3 are oil. Of V open at most 59/60 may
  // be swept: V = 116.25 * 60/59 = 118.22, and with the oil 121.22 cm3.
  expect_sound([](plunge::Setup& s) { s.fork.air.main_volume = 121.3e-6; });
  expect_fault([](plunge::Setup& s) { s.fork.air.main_volume = 121.1e-6; }, "fork.air.main_volume",
               "at least 1/60");
  expect_fault([](plunge::Setup& s) { s.fork.air.main_volume = 50e-6; }, "fork.air.main_volume",
               "at least 1/60");
  // Three spacers of 26 cm3 fill the rest.
  expect_fault(
      [](plunge::Setup& s) {
        s.fork.spacers = 3.0;
        s.fork.air.spacer_volume = 26e-6;
      },
      "fork.air.main_volume", "at least 1/60");
  expect_fault(
      [](plunge::Setup& s) {
        s.fork.air.leg_area = 10e-4;
        s.fork.air.leg_volume = 150e-6;
        s.fork.air.leg_time = 1.0;
      },
      "fork.air.leg_volume", "at least 1/60");
}

TEST(Judge, PartsFitIntoTheTravel) {
  expect_fault([](plunge::Setup& s) { s.fork.air.port_position = 0.075; }, "fork.air.port_position",
               "half of fork.travel");
  expect_fault([](plunge::Setup& s) { s.fork.air.port_length = 7e-3; }, "fork.air.port_length",
               "at most 6 mm");
  expect_fault([](plunge::Setup& s) { s.fork.air.port_length = 0.0; }, "fork.air.port_length",
               "above 0");
  expect_fault([](plunge::Setup& s) { s.fork.stops.bumper_length = 0.15; },
               "fork.stops.bumper_length", "shorter than fork.travel");
  expect_fault(
      [](plunge::Setup& s) {
        s.fork.hydraulic_stop = {0.2, 1000.0};
      },
      "fork.hydraulic_stop.length", "shorter than fork.travel");
  expect_fault(
      [](plunge::Setup& s) {
        s.fork.negative = NegativeSpring::coil;
        s.fork.negative_coil = {5e3, 0.15};
      },
      "fork.negative_coil.length", "shorter than fork.travel");
  expect_fault([](plunge::Setup& s) { s.bike.tyre_onset = 0.045; }, "bike.tyre_onset",
               "bike.tyre_height");
}

TEST(Judge, ACoilForkNeedsACoilAndNoAir) {
  const Change coil = [](plunge::Setup& s) {
    ForkSetup& fork = s.fork;
    fork.spring = Spring::coil;
    fork.air = AirSetup{};
    fork.air.leg_area = 0.0;
    fork.pressure = fork.pressure_limit = fork.spacers = fork.spacer_limit = kUnset;
    fork.coil = {8e3, 0.0};
  };
  expect_sound(coil);
  expect_fault(
      [&](plunge::Setup& s) {
        coil(s);
        s.fork.coil.rate = kUnset;
      },
      "fork.coil.rate", "must be given");
}

TEST(Judge, DampersAnswerToTheirOwnJudgeOnce) {
  expect_fault([](plunge::Setup& s) { s.fork.rebound.kind = DamperKind::points; },
               "fork.rebound.points", "at least 2");
  const auto tabled = [](plunge::Setup& s) {
    s.fork.compression.click_table = {{0.0, 800.0, 300.0}, {10.0, 200.0, 150.0}};
    s.fork.compression.clicks = 4.0;
  };
  expect_fault(tabled, "fork.compression.low_speed", "beside click_table");
  expect_sound([&](plunge::Setup& s) {
    tabled(s);
    s.fork.compression.low_speed = s.fork.compression.high_speed = kUnset;
  });
  plunge::Setup setup = sound_setup();
  setup.fork.compression.low_speed = -1.0;
  EXPECT_EQ(judge(setup).size(), 1U) << listed(judge(setup));
}

TEST(Judge, MassesMustBeThereAndBeCarried) {
  // By hand: 0.4 (10 + 15) - 3.8 - 26 (override replaces the body alone: computed 3.2) = 3.0.
  expect_sound([](plunge::Setup& s) {
    s.rider.sprung_mass = kUnset;
    s.rider.mass = 10.0;
  });
  // 0.4 (1 + 1) - 3.8 - 0.32 = -3.32 kg.
  expect_fault(
      [](plunge::Setup& s) {
        s.rider.sprung_mass = kUnset;
        s.rider.mass = 1.0;
        s.bike.mass = 1.0;
      },
      "rider.mass", "-3.32 kg");
  expect_fault([](plunge::Setup& s) { s.rider.sprung_mass = 0.0; }, "rider.sprung_mass",
               "at least");
  expect_fault([](plunge::Setup& s) { s.rider.arm_stiffness = 0.0; }, "rider.arm_stiffness",
               "to carry 26 kg");
  expect_sound([](plunge::Setup& s) {
    s.rider.arm_stiffness = 0.0;
    s.rider.body_mass = 0.0;
  });
}

TEST(Judge, FeaturesFitTogether) {
  const auto with = [](Feature feature) {
    fill_defaults(feature);
    return [feature](plunge::Setup& s) { s.terrain = {flat(10.0), feature}; };
  };
  Feature bumps = of_kind(FeatureKind::bumps);
  bumps.length = 0.5;
  bumps.height = 0.05;
  bumps.spacing = 0.5;
  bumps.count = 10.0;
  expect_sound(with(bumps));
  Feature close = bumps;
  close.spacing = 0.4;
  expect_fault(with(close), "terrain[1].spacing", "at least 0.5 m");
  Feature broken = bumps;
  broken.count = 2.5;
  expect_fault(with(broken), "terrain[1].count", "whole number");
  Feature root = bumps;
  root.shape = BumpShape::root;
  root.height = 0.26;
  expect_fault(with(root), "terrain[1].height", "half its length");
  Feature strange = bumps;
  strange.grade = 0.1;
  expect_fault(with(strange), "terrain[1].grade", "does not belong to the kind \"bumps\"");

  Feature drop = of_kind(FeatureKind::drop);
  drop.height = 0.9;
  expect_sound(with(drop));
  drop.landing_angle = 0.3;
  expect_fault(with(drop), "terrain[1].landing_length", "above 0");
  expect_fault(with(drop), "terrain[1].run_out", "above 0");
  drop.height = -0.5;
  expect_fault(with(drop), "terrain[1].height", "0 or more");

  Feature rough = of_kind(FeatureKind::rough);
  rough.length = 20.0;
  rough.roughness = 256e-6;
  expect_sound(with(rough));
  rough.fade = 11.0;
  expect_fault(with(rough), "terrain[1].fade", "half of length");
  rough.fade = 1.0;
  rough.longest = 0.2;
  expect_fault(with(rough), "terrain[1].longest", "above 0.2 m");
  rough.seed = 0.5;
  expect_fault(with(rough), "terrain[1].seed", "whole number");
}

TEST(Judge, ProfilesRise) {
  const auto with = [](std::vector<double> distance, std::vector<double> elevation) {
    Feature profile = of_kind(FeatureKind::profile);
    profile.distance = std::move(distance);
    profile.elevation = std::move(elevation);
    fill_defaults(profile);
    return [profile](plunge::Setup& s) { s.terrain = {profile}; };
  };
  expect_sound(with({0.0, 1.0, 2.0}, {0.0, 0.1, 0.0}));
  expect_fault(with({0.0}, {0.0}), "terrain[0].distance", "at least 2 points");
  expect_fault(with({0.0, 1.0}, {0.0}), "terrain[0].elevation", "as many as distance");
  expect_fault(with({0.0, 1.0, 1.0}, {0.0, 0.0, 0.0}), "terrain[0].distance[2]", "above");
  expect_fault(with({0.0, kUnset}, {0.0, 0.0}), "terrain[0].distance[1]", "must be");
  expect_fault(with({0.0, 1.0}, {0.0, kUnset}), "terrain[0].elevation[1]", "must be");
  expect_fault(
      [](plunge::Setup& s) {
        s.terrain[0].distance = {0.0, 1.0};
      },
      "terrain[0].distance", "does not belong");
}

TEST(Judge, TerrainIsThereAndOfASizeThatFits) {
  expect_fault([](plunge::Setup& s) { s.terrain.clear(); }, "terrain", "at least one");
  expect_sound([](plunge::Setup& s) { s.terrain = {flat(20e3)}; });
  expect_fault(
      [](plunge::Setup& s) {
        s.terrain = {flat(20e3), flat(1.0)};
      },
      "terrain", "at most 20000 m");
  expect_fault([](plunge::Setup& s) { s.terrain.assign(kMostFeatures + 1, flat(1.0)); }, "terrain",
               "at most 10000 features");
  expect_fault(
      [](plunge::Setup& s) {
        Feature rough = of_kind(FeatureKind::rough);
        rough.length = 10e3;
        rough.roughness = 1e-5;
        rough.shortest = 0.01;
        fill_defaults(rough);
        s.terrain = {rough};
      },
      "terrain", "at most 1000000 points");
  expect_fault(
      [](plunge::Setup& s) {
        s.bike.contact = WheelContact::point;
        Feature drop = of_kind(FeatureKind::drop);
        drop.height = 0.3;
        fill_defaults(drop);
        s.terrain.push_back(drop);
      },
      "terrain[1].kind", "step");
  expect_fault([](plunge::Setup& s) { s.ride.duration = 1e6; }, "ride.sample_rate", "samples");
}

TEST(Judge, EventsComeOneAfterTheOther) {
  const auto brake = [](double at, double to_speed) {
    RideEvent event;
    event.at = at;
    event.rate = 5.0;
    event.to_speed = to_speed;
    fill_defaults(event);
    return event;
  };
  const auto corner = [](double at, double lean) {
    RideEvent event;
    event.kind = EventKind::corner;
    event.at = at;
    event.lean = lean;
    event.length = 5.0;
    fill_defaults(event);
    return event;
  };
  const auto with = [](std::vector<RideEvent> events) {
    return [events](plunge::Setup& s) { s.events = events; };
  };
  expect_sound(with({brake(10.0, 3.0), corner(20.0, 0.5), brake(30.0, 1.0)}));
  // By hand: from 5 to 3 m/s at 5 m/s2 with 0.15 s rise takes 0.55 s and 2.2 m.
  expect_sound(with({brake(10.0, 3.0), brake(12.21, 2.0)}));
  expect_fault(with({brake(10.0, 3.0), brake(12.19, 2.0)}), "event[1].at", "before it has ended");
  expect_fault(with({brake(10.0, 6.0)}), "event[0].to_speed", "below the speed");
  expect_fault(with({brake(10.0, 0.2)}), "event[0].to_speed", "must be 1.08 km/h");
  expect_fault(with({brake(51.0, 3.0)}), "event[0].at", "ends at 50 m");
  expect_fault(with({corner(10.0, 0.5), corner(12.0, 0.5)}), "event[1].at", "before it has ended");
  expect_fault(with({corner(10.0, 71.0 * kPi / 180.0)}), "event[0].lean", "70 deg");
  expect_fault(
      [&](plunge::Setup& s) {
        s.events = {brake(10.0, 3.0)};
        s.events[0].lean = 0.2;
      },
      "event[0].lean", "does not belong to the kind \"brake\"");
  expect_fault([&](plunge::Setup& s) { s.events.assign(kMostEvents + 1, brake(1.0, 1.0)); },
               "event", "at most 1000 events");
}

TEST(Judge, PartsAloneAreJudgedAlone) {
  const plunge::Setup setup = sound_setup();
  ForkSetup fork = setup.fork;
  fork.pressure = kUnset;
  EXPECT_EQ(listed(judge(fork)), "");
  fork.spacers = 9.0;
  EXPECT_EQ(judge(fork).size(), 1U);
  EXPECT_EQ(listed(judge(setup.bike)), "");
  EXPECT_EQ(listed(judge(setup.rider)), "");
  EXPECT_EQ(listed(judge(setup.terrain)), "");
  RiderSetup rider = setup.rider;
  rider.front_share = 1.0;
  EXPECT_EQ(judge(rider).size(), 1U);
}

TEST(Judge, LongListsOfFaultsEnd) {
  plunge::Setup setup = sound_setup();
  setup.terrain.assign(10'000, Feature{});
  EXPECT_LT(judge(setup).size(), 300U);
}

}  // namespace
}  // namespace plunge
