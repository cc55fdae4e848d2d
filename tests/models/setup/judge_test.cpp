#include "models/setup/judge.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <set>
#include <span>
#include <string>
#include <vector>

#include "models/setup/parameters.hpp"
#include "tests/builders.hpp"
#include "tests/support.hpp"

namespace plunge::judge_test {
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

// A limit as people read it, given back in the unit in which it is printed, in SI.
double given_back(double limit, std::string_view said) {
  return find_common_unit(said)->to_si(std::stod(say(limit, said)));
}

// The number next to a limit at the printed precision: outside for way -1 below, 1 above.
double next_outside(double limit, std::string_view said, bool whole, double way) {
  const CommonUnit& unit = *find_common_unit(said);
  const double number = std::stod(say(limit, said));
  const double digit =
      number == 0.0 ? 1e-6 : std::pow(10.0, std::floor(std::log10(std::abs(number))) - 5.0);
  return unit.to_si(number + way * (whole ? 1.0 : digit));
}

// Rides without a fault that between them read every number.
std::vector<plunge::Setup> sound_setups() {
  std::vector<plunge::Setup> list(5, sound_setup());
  list[1].fork.spring = Spring::coil;
  list[1].fork.coil = {8e3, 0.0};
  list[1].bike.contact = WheelContact::average;
  list[1].bike.contact_length = 0.2;
  list[2].fork.negative = NegativeSpring::coil;
  list[2].fork.negative_coil = {5e3, 0.03};
  list[2].fork.air.leg_area = 4e-4;
  list[2].fork.air.leg_volume = 150e-6;
  list[2].fork.hydraulic_stop = {0.02, 500.0};
  for (DamperSetup* damper : {&list[3].fork.compression, &list[3].fork.rebound}) {
    damper->kind = DamperKind::hydraulic;
    damper->clicks = 8.0;
    damper->bleed_clicks = 16.0;
    damper->piston_area = 5e-4;
    damper->bleed_area = 5e-6;
    damper->bleed_length = 6e-3;
    damper->shim_area = 60e-6;
    damper->shim_preload = 1.5e5;
    damper->shim_slope = 3e-11;
    damper->blow_off_pressure = 16e5;
    damper->blow_off_slope = 4e-11;
  }
  list[4] = list[3];
  for (DamperSetup* damper : {&list[4].fork.compression, &list[4].fork.rebound}) {
    damper->shim_clicks = 8.0;
    damper->shim_preload_closed = 4.5e5;
    damper->high_speed_clicks = 6.0;
  }
  for (plunge::Setup& setup : list) fill_defaults(setup);
  return list;
}

TEST(Judge, EveryPrintedLimitIsTakenAndWhatIsPastItRefused) {
  // The limits as scenarios/format.md and the judge print them. What one number may not be beside
  // another is a rule of its own and names the other.
  std::set<std::string> read;
  std::set<std::string> beside_others;
  for (const plunge::Setup& sound : sound_setups()) {
    ASSERT_EQ(listed(judge(sound)), "");
    for (const Parameter& p : parameters()) {
      const auto rule_at = [&](double value) {
        plunge::Setup setup = sound;
        p.set(setup, value);
        const Faults faults = judge(setup);
        const auto found = std::ranges::find(faults, std::string(p.name), &Fault::key);
        return found == faults.end() ? "" : found->rule;
      };
      const bool needed = p.needed == nullptr || p.needed(sound);
      if (needed) read.insert(std::string(p.name));
      const std::string range = "must be " + say_range(p.low, p.high, p.said);
      for (const double limit : {p.low, p.high}) {
        const std::string rule = rule_at(given_back(limit, p.said));
        EXPECT_NE(rule, range) << p.name << " = " << say(limit, p.said);
        if (rule != "") beside_others.insert(std::string(p.name));
      }
      for (const double way : {-1.0, 1.0}) {
        const double outside = next_outside(way < 0.0 ? p.low : p.high, p.said, p.whole, way);
        EXPECT_EQ(rule_at(outside), range) << p.name << " = " << outside;
      }
      for (const double value : {-1e300, 1e300, -HUGE_VAL, HUGE_VAL}) {
        EXPECT_EQ(rule_at(value), range) << p.name << " = " << value;
      }
    }
  }
  EXPECT_EQ(read.size(), parameters().size());
  EXPECT_EQ(beside_others, (std::set<std::string>{"fork.travel",
                                                  "fork.spacers",
                                                  "fork.pressure",
                                                  "fork.air.main_volume",
                                                  "fork.air.main_area",
                                                  "fork.air.negative_volume",
                                                  "fork.air.negative_area",
                                                  "fork.air.port_position",
                                                  "fork.air.port_length",
                                                  "fork.air.leg_volume",
                                                  "fork.negative_coil.length",
                                                  "fork.compression.clicks",
                                                  "fork.compression.high_speed_clicks",
                                                  "fork.compression.bleed_closed",
                                                  "fork.compression.shim_preload_closed",
                                                  "fork.rebound.clicks",
                                                  "fork.rebound.high_speed_clicks",
                                                  "fork.rebound.bleed_closed",
                                                  "fork.rebound.shim_preload_closed",
                                                  "fork.oil.viscosity_40",
                                                  "fork.hydraulic_stop.length",
                                                  "fork.friction.seal",
                                                  "fork.stops.bumper_length",
                                                  "bike.tyre_onset",
                                                  "rider.sprung_mass",
                                                  "rider.body_stiffness"}));
}

// Gives the limits of every field of a list back to `rule_at(field, value)`.
template <class Owner, class RuleAt>
void expect_limits(std::span<const Field<Owner>> fields, const RuleAt& rule_at) {
  for (const Field<Owner>& field : fields) {
    const std::string range = "must be " + say_range(field.low, field.high, field.said);
    for (const double limit : {field.low, field.high}) {
      EXPECT_NE(rule_at(field, given_back(limit, field.said)), range) << field.name;
    }
    for (const double way : {-1.0, 1.0}) {
      const double outside =
          next_outside(way < 0.0 ? field.low : field.high, field.said, field.whole, way);
      EXPECT_EQ(rule_at(field, outside), range) << field.name << " = " << outside;
    }
  }
}

std::string rule_of(const Faults& faults, const std::string& key) {
  const auto found = std::ranges::find(faults, key, &Fault::key);
  return found == faults.end() ? "" : found->rule;
}

TEST(Judge, PrintedLimitsOfListsAreTakenToo) {
  expect_limits(feature_fields(), [](const FeatureField& field, double value) {
    // A kind that reads the field.
    for (int kind = 0; kind < 6; ++kind) {
      Feature feature = of_kind(static_cast<FeatureKind>(kind));
      if (!field.needed(feature)) continue;
      field.set(feature, value);
      return rule_of(judge(std::vector<Feature>{feature}), "terrain[0]." + std::string(field.name));
    }
    return std::string("no kind reads it");
  });
  expect_limits(event_fields(), [](const EventField& field, double value) {
    for (int kind = 0; kind < 3; ++kind) {
      RideEvent event;
      event.kind = static_cast<EventKind>(kind);
      if (!field.needed(event)) continue;
      field.set(event, value);
      plunge::Setup setup = sound_setup();
      setup.terrain = {flat(20e3)};
      setup.events = {event};
      return rule_of(judge(setup), "event[0]." + std::string(field.name));
    }
    return std::string("no kind reads it");
  });
  expect_limits(click_fields(), [](const ClickField& field, double value) {
    plunge::Setup setup = sound_setup();
    setup.fork.rebound.click_table = {{0.0, 100.0, 50.0}};
    field.set(setup.fork.rebound.click_table[0], value);
    return rule_of(judge(setup), "fork.rebound.click_table[0]." + std::string(field.name));
  });
  expect_limits(speed_force_fields(), [](const SpeedForceField& field, double value) {
    plunge::Setup setup = sound_setup();
    setup.fork.rebound.kind = DamperKind::points;
    setup.fork.rebound.points = {{0.1, 100.0}};
    field.set(setup.fork.rebound.points[0], value);
    return rule_of(judge(setup), "fork.rebound.points[0]." + std::string(field.name));
  });
  EXPECT_TRUE(judge_hold(given_back(kLeastSag, "%")).empty());
  EXPECT_TRUE(judge_hold(given_back(kMostSag, "%")).empty());
  EXPECT_FALSE(judge_hold(next_outside(kLeastSag, "%", false, -1.0)).empty());
  EXPECT_FALSE(judge_hold(next_outside(kMostSag, "%", false, 1.0)).empty());
}

TEST(Judge, ALimitThatARelationPrintsIsTaken) {
  // Whatever digits another number has, what is printed as the most or the least is allowed: at
  // most a step of the sixth digit inside, and not past the rounding of a conversion.
  Dice dice(7);
  const auto back = [](const std::string& text, const char* unit) {
    return find_common_unit(unit)->to_si(std::stod(text));
  };
  for (int k = 0; k < 200; ++k) {
    const double limit = dice.between(5e5, 20e5);
    const double most = back(say_at_most(limit, "psi"), "psi");
    EXPECT_LE(most, limit * (1.0 + 1e-15));
    EXPECT_GE(most, limit * (1.0 - 1.1e-5));
    const double speed = dice.between(0.1, 40.0);
    const double least = back(say_at_least(speed, "km/h"), "km/h");
    EXPECT_GE(least, speed * (1.0 - 1e-15));
    EXPECT_LE(least, speed * (1.0 + 1.1e-5));
  }
  // 11.37 bar is 164.907911 psi: rounded to six digits, 164.908, it would be past the limit.
  plunge::Setup setup = sound_setup();
  setup.fork.pressure_limit = 11.37e5;
  setup.fork.pressure = 12e5;
  const std::string rule = rule_of(judge(setup), "fork.pressure");
  EXPECT_EQ(rule, "must be at most 164.907 psi (fork.pressure_limit)");
  setup.fork.pressure = back("164.907", "psi");
  EXPECT_EQ(listed(judge(setup)), "");
}

TEST(Judge, LimitsInAnotherUnitAreTakenAsPrinted) {
  // Half of 198 cm3 and 99 cm3, 6 in and 0.1524 m: equal numbers whose doubles differ.
  expect_sound([](plunge::Setup& s) { s.fork.air.negative_volume = std::nextafter(99e-6, 1.0); });
  expect_sound([](plunge::Setup& s) {
    s.fork.pressure_limit = 1e6;
    s.fork.pressure = std::nextafter(1e6, 2e6);
  });
  Feature bumps = of_kind(FeatureKind::bumps);
  bumps.length = 6.0 * 0.0254;
  bumps.height = 0.02;
  bumps.spacing = 0.1524;
  bumps.count = 3.0;
  fill_defaults(bumps);
  for (const auto& [length, spacing] :
       {std::pair{6.0 * 0.0254, 0.1524}, std::pair{0.1524, 6.0 * 0.0254}}) {
    bumps.length = length;
    bumps.spacing = spacing;
    expect_sound([&](plunge::Setup& s) { s.terrain = {flat(10.0), bumps}; });
  }
}

TEST(Judge, ChambersThatContradictEachOtherAreFoundBeforeTheRiderIsBlamed) {
  // The fork of 150 mm and 7.5 cm2, with a digit or a unit too many: 112.5 cm3 of stroke volume.
  const auto with = [](double AirSetup::*member, double value) {
    return [=](plunge::Setup& s) { s.fork.air.*member = value; };
  };
  expect_fault(with(&AirSetup::main_area, 7.5e-6), "fork.air.main_area",
               "must be at least 2.2 cm2");
  expect_fault(with(&AirSetup::main_area, 7.5e-6), "fork.air.main_area",
               "forks of 150 mm travel have 7 cm2 to 10 cm2");
  expect_fault(with(&AirSetup::main_area, 75e-4), "fork.air.main_area", "left at full travel");
  expect_fault(with(&AirSetup::main_volume, 1880e-6), "fork.air.main_volume",
               "must be at most 675 cm3, 6 times the 112.5 cm3");
  expect_fault(with(&AirSetup::negative_volume, 140e-6), "fork.air.negative_volume",
               "must be 1.98 cm3 to 99 cm3");
  expect_fault(with(&AirSetup::negative_volume, 1.5e-6), "fork.air.negative_volume",
               "forks of 150 mm travel have 0.06 to 0.3");
  expect_fault(with(&AirSetup::negative_area, 67e-4), "fork.air.negative_area",
               "must be 3 cm2 to 9 cm2");
  expect_fault([](plunge::Setup& s) { s.fork.travel = 0.015; }, "fork.travel",
               "must be at least 44 mm");
  expect_fault([](plunge::Setup& s) { s.fork.travel = 1.5; }, "fork.travel", "full travel");
  // By hand: 40 kg on 65 deg are 355.513 N, which on 0.75 cm2 take 47.4018 bar.
  expect_fault(
      [](plunge::Setup& s) {
        s.fork.air.main_area = 0.75e-4;
        s.fork.air.main_volume = 19.8e-6;
        s.fork.air.negative_area = 0.67e-4;
        s.fork.air.negative_volume = 1.5e-6;
      },
      "fork.air.main_area", "carries 40 kg, which takes 47.4018 bar on it alone");
  expect_fault([](plunge::Setup& s) { s.rider.sprung_mass = 1400.0; }, "rider.sprung_mass",
               "forks carry 24 kg to 42 kg");
  // A number that is blamed for one contradiction is not blamed for all that follow.
  plunge::Setup setup = sound_setup();
  setup.fork.air.main_area = 7.5e-6;
  EXPECT_EQ(judge(setup).size(), 1U) << listed(judge(setup));
}

TEST(Judge, ForksOfEveryTravelPass) {
  // Engineering estimates: chambers of forks from 100 to 200 mm, least and largest, and the same
  // shape at 10 mm and at 2 m, on a rider that such a piston carries.
  for (const double travel : {0.01, 0.1, 0.12, 0.15, 0.2, 2.0}) {
    for (const double area : {7e-4, 10e-4}) {
      for (const double share : {1.15, 1.7, 3.1}) {
        for (const double negative : {0.055, 0.3}) {
          plunge::Setup setup = sound_setup();
          setup.fork.travel = travel;
          AirSetup& air = setup.fork.air;
          air.main_area = area;
          air.negative_area = 0.9 * area;
          air.main_volume = share * area * (travel + kMetalReserve);
          air.negative_volume = negative * air.main_volume;
          air.oil_volume = 0.02 * air.main_volume;
          air.port_position = 0.04 * travel;
          air.port_length = 0.02 * travel;
          setup.fork.stops.bumper_length = std::max(1e-3, 0.05 * travel);
          EXPECT_EQ(listed(judge(setup)), "") << travel << " " << area << " " << share;
        }
      }
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
               "must be 0.01 mm to");
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
               "must be 0.01 kg to");
  expect_fault([](plunge::Setup& s) { s.rider.body_stiffness = 0.0; }, "rider.body_stiffness",
               "to carry 26 kg");
  expect_sound([](plunge::Setup& s) {
    s.rider.body_stiffness = 0.0;
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
}  // namespace plunge::judge_test
