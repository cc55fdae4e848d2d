#include "models/setup/statics.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

#include "models/setup/fault.hpp"
#include "tests/support.hpp"

namespace plunge::statics_test {
namespace {

auto coil_setup() {
  auto setup = standard_setup();
  setup.fork.spring = Spring::coil;
  setup.fork.pressure = kUnset;
  setup.fork.coil = {9000.0, 0.0};
  return setup;
}

Motion<double> level_ride(double gravity = kGravity) { return {0.0, 5.0, 0.0, 0.65, gravity, {}}; }

PathPoint<double> level_path(double) { return {}; }

// The bike on an even grade, its path too.
Motion<double> on_grade(double slope, double speed, double acceleration, double share) {
  return {0.0, speed, acceleration, share, kGravity, {slope, 0.0, 0.0}};
}

PathAt path_of(double slope) {
  return [slope](double s) { return PathPoint<double>{0.7 + slope * s, slope, 0.0}; };
}

std::string refusal(Setup setup, double share) {
  try {
    hold_sag(setup, share);
  } catch (const InputError& error) {
    return error.what();
  }
  return "";
}

// Whether nothing but the bike along its line moves.
void expect_still(const Rider& rider, const PathAt& path, const Motion<double>& motion) {
  const State<double> y = state_at_rest_on(rider, path, motion);
  const Course<double> line = rider.course(motion);
  const PathPoint<double> point = path(rider.wheel_position(y, motion.distance, line));
  const Modes<double> mode = modes_of_state(rider, y, line, point);
  const Forces<double> f = rider.forces(y, line, point, mode);
  const double rise = motion.acceleration * motion.grade.slope;
  EXPECT_NEAR(f.sprung_acceleration, rise, 1e-8);
  EXPECT_NEAR(f.travel_acceleration, 0.0, 1e-8);
  if (rider.has_body) {
    EXPECT_NEAR(f.body_acceleration, rise, 1e-8);
    EXPECT_EQ(y[kBodySpeed], y[kSprungSpeed]);
  }
  EXPECT_NEAR(f.deflection_rate, 0.0, 1e-14);
  EXPECT_EQ(y[kTravelSpeed], 0.0);
  EXPECT_NEAR(y[kSprungSpeed], point.slope * motion.speed, 1e-14);
  const State<double> rate = rider.rates(y, line, point, mode, f);
  EXPECT_NEAR(rate[kMainTemperature], 0.0, 1e-9);
  EXPECT_NEAR(rate[kNegativeTemperature], 0.0, 1e-9);
  EXPECT_NEAR(rate[kMainMass], 0.0, 1e-15);
  EXPECT_EQ(rate[kBristle], 0.0);
}

TEST(Statics, AtRestNothingMoves) {
  // On a bike that stays level: level ground, uphill, downhill and along a leaned curve; on a coil
  // and on air; without a body. The tyre carries what hangs on the fork and what the resistance
  // moves.
  for (const double slope : {0.0, 0.2, -0.35}) {
    for (const double gravity : {kGravity, kGravity / std::cos(0.6)}) {
      for (const int kind : {0, 1, 2}) {
        auto setup = kind == 1 ? coil_setup() : standard_setup();
        if (kind == 2) setup.rider.body_mass = 0.0;
        expect_still(assemble_ridden(setup), path_of(slope), level_ride(gravity));
      }
    }
  }
}

TEST(Statics, OnAGradeBrakesAndDriveHoldNothingMoves) {
  // Steady speed, braking and accelerating on grades from steep down to steep up, with front and
  // rear braking, with grip and without. The load on the tyre is that of the moments about the rear
  // contact; where grip fails it is what the braking force is a share of.
  int slips = 0;
  int drives = 0;
  for (const double degrees : {-25.0, -15.0, -8.0, 0.0, 8.0, 15.0}) {
    for (const double acceleration : {-3.0, 0.0, 0.3}) {
      for (const double share : {0.0, 0.65, 1.0}) {
        for (const double grip : {0.9, 0.3}) {
          SCOPED_TRACE(degrees);
          auto setup = standard_setup();
          setup.bike.tyre_grip = grip;
          const double slope = std::tan(degrees * kPi / 180.0);
          const Rider rider = assemble_ridden(setup);
          const Motion<double> motion = on_grade(slope, 5.0, acceleration, share);
          expect_still(rider, path_of(slope), motion);
          const Equilibrium rest = equilibrium(rider, path_of(slope), motion);
          const Course<double> line = rider.course(motion);
          const double brake = std::min(line.brake_wanted, grip * rest.ground_force);
          slips += brake < line.brake_wanted;
          drives += line.drive > 0.0;
          const double load = line.front_load + brake * rider.bike.cg_lever +
                              rider.bike.dive_load(line, rest.travel);
          EXPECT_NEAR(rest.ground_force, load, 1e-9 * (1.0 + load));
        }
      }
    }
  }
  EXPECT_GT(slips, 10);
  EXPECT_GT(drives, 20);
}

TEST(Statics, SteadyGradesLoadTheTyreByTheClosedForm) {
  // phi m g cos + P h/L + F_rr (h - r)/L by hand at 5 m/s, 91 kg, 40 % in front, h/L 1.1/1.22,
  // r 0.35 m; without what the dive brings forward.
  auto setup = worked_design_point();
  setup.fork.pressure = 6e5;
  setup.rider.mass = 76.0;
  setup.bike.mass = 15.0;
  setup.rider.sprung_mass = setup.rider.body_mass = kUnset;
  setup.bike.wheelbase = 1.22;
  setup.bike.cg_height = 1.1;
  setup.bike.wheel_radius = 0.35;
  setup.rider.front_share = 0.40;
  Rider rider = assemble_ridden(setup);
  rider.bike.dive_lever = 0.0;
  rider.bike.grip = 2.0;
  for (const auto& [degrees, load] :
       {std::pair{-25.0, 647.55}, std::pair{-15.0, 537.66}, std::pair{-8.0, 450.28},
        std::pair{0.0, 341.84}, std::pair{8.0, 226.31}, std::pair{15.0, 121.15}}) {
    const double slope = std::tan(degrees * kPi / 180.0);
    const Equilibrium rest = equilibrium(rider, path_of(slope), on_grade(slope, 5.0, 0.0, 0.65));
    EXPECT_NEAR(rest.ground_force, load, 5e-3) << degrees;
  }
}

TEST(Statics, ADivingForkSinksFurtherByItsOwnLoad) {
  // By hand on a coil: down a grade the load along the normal gains (m g h/L^2) sin(theta') a metre
  // beyond the rest, so that the travel past rest grows by what that takes off the rate.
  auto setup = coil_setup();
  const double slope = std::tan(-10.0 * kPi / 180.0);
  const Motion<double> motion = on_grade(slope, 5.0, 0.0, 0.65);
  const Rider rider = assemble_ridden(setup);
  Rider stiff = rider;
  stiff.bike.dive_lever = 0.0;
  const double with = equilibrium(rider, path_of(slope), motion).travel;
  const double without = equilibrium(stiff, path_of(slope), motion).travel;
  const Course<double> line = rider.course(motion);
  // N along the normal of the line pushes with sin(theta' + beta) along the legs.
  const double along = rider.bike.sine;
  const double gained = rider.bike.dive_load(line, rider.bike.rest_travel + 1.0) * along;
  EXPECT_NEAR(with - rider.bike.rest_travel,
              (without - rider.bike.rest_travel) * 9000.0 / (9000.0 - gained), 1e-9);
  EXPECT_GT(with, without + 1e-4);
}

TEST(Statics, SagCarriesTheLoad) {
  // By hand: (14 + 26)*9.80665*sin(65 deg) = 355.513 N along the legs; a coil of 9 N/mm gives
  // 39.5015 mm.
  const Rider coil = assemble(coil_setup());
  EXPECT_NEAR(static_load(coil), 355.513, 1e-3);
  EXPECT_NEAR(sag(coil), 39.5015e-3, 1e-7);
  const Rider air = assemble(standard_setup());
  EXPECT_NEAR(slow_force(air, sag(air)), static_load(air), 1e-8);
}

TEST(Statics, ASlopeUnderTheWheelAddsItsPushAlongTheLegs) {
  // Virtual work, by hand, of a bike that stays level on an endless base: N cos carries the weight,
  // N sin(theta + beta_w) - m_u g sin(theta) pushes along the legs, whose coil gives it.
  auto setup = coil_setup();
  setup.bike.wheelbase = 1e6;
  setup.bike.rolling_resistance = setup.bike.drag_area = setup.bike.wheel_inertia = 0.0;
  const Rider rider = assemble_ridden(setup);
  const double weight = (14.0 + 26.0 + rider.unsprung_mass) * kGravity;
  const double angle = 65.0 * kPi / 180.0;
  for (const double slope : {0.0, 0.2, -0.3}) {
    const Equilibrium rest = equilibrium(rider, path_of(slope), level_ride());
    const double leans = std::atan(slope);
    EXPECT_NEAR(rest.ground_force, weight / std::cos(leans), 1e-3);
    const double load = weight / std::cos(leans) * std::sin(angle + leans) -
                        rider.unsprung_mass * kGravity * std::sin(angle);
    EXPECT_NEAR(9000.0 * rest.travel, load, 1e-2) << slope;
  }
}

TEST(Statics, TravelUnderALoadUndoesTheForce) {
  // From a fork that hangs on its top-out spring to one pressed on the metal stop.
  for (const auto& setup : {standard_setup(), coil_setup()}) {
    const Rider rider = assemble(setup);
    double last = -1.0;
    for (const double load :
         {-20e3, -200.0, -20.0, 80.0, 200.0, 355.0, 900.0, 2500.0, 15e3, 40e3}) {
      const double x = travel_under(rider, load);
      EXPECT_NEAR(slow_force(rider, x), load, 1e-6 * (std::abs(load) + 100.0)) << load;
      EXPECT_GT(x, last) << load;
      last = x;
    }
    EXPECT_LT(travel_under(rider, -200.0), 0.0);
    EXPECT_GT(travel_under(rider, 15e3), 0.15);
  }
}

TEST(Statics, SlowForceNeverFallsWithTravel) {
  const Rider rider = assemble(standard_setup());
  for (double x = -2e-3; x < 0.152; x += 1e-4) {
    EXPECT_GE(slow_force(rider, x + 1e-4), slow_force(rider, x)) << x;
  }
}

TEST(Statics, InTheTransferWindowTheChambersShareOnePressure) {
  // By hand: both at m R T/(V+ + V-), so that the force is the gauge pressure on the difference of
  // areas, 0.8 cm2.
  const Rider rider = assemble(standard_setup());
  for (const double x : {4.5e-3, 5e-3, 5.9e-3}) {
    const double volume = (195e-6 - 7.5e-4 * x) + (15e-6 + 6.7e-4 * x);
    const double pressure = rider.gas_mass * kAirConstant * 293.15 / volume;
    EXPECT_NEAR(slow_spring_force(rider, x), (pressure - 101325.0) * 0.8e-4, 1e-6) << x;
  }
}

TEST(Statics, FastStartsWhereSlowIsAndIsStiffer) {
  const Rider rider = assemble(standard_setup());
  EXPECT_NEAR(fast_spring_force(rider, 0.033, 0.033), slow_spring_force(rider, 0.033), 1e-9);
  // Closed form: gas springs alone are gamma times as stiff to fast strokes.
  for (const double x : {0.033, 0.075, 0.13}) {
    EXPECT_NEAR(fast_stiffness(rider, x) / slow_stiffness(rider, x), kGamma, 1e-4) << x;
  }
  const Rider coil = assemble(coil_setup());
  EXPECT_NEAR(fast_stiffness(coil, 0.05), 9000.0, 1e-5);
  EXPECT_NEAR(slow_stiffness(coil, 0.05), 9000.0, 1e-5);
  EXPECT_NEAR(progression(coil), 1.0, 1e-8);
}

TEST(Statics, BreakawayIsThePortForcePlusStaticFriction) {
  // By hand: 49.325 N at the port (6 bar, air_spring_test); on the bushings 40 kg g cos 65, which
  // 280 mm and 410 mm over 130 mm put on the two: 1.25 (12 + 0.015 880.0) N.
  auto setup = standard_setup();
  setup.fork.friction.seal = 12.0;
  setup.fork.friction.static_ratio = 1.25;
  EXPECT_NEAR(static_friction(assemble(setup)), 31.498, 1e-2);
  EXPECT_NEAR(breakaway_force(assemble(setup)), 49.325 + 31.498, 1e-2);
  setup.fork.friction.seal = setup.fork.friction.bushing = 0.0;
  EXPECT_NEAR(breakaway_force(assemble(setup)), 49.325, 1e-3);
}

TEST(Statics, ProgressionRisesWithSpacers) {
  // Common practice (no source), at equal sag and at equal pressure.
  for (const bool equal_sag : {true, false}) {
    double last = 1.0;
    for (int spacers = 0; spacers <= 4; ++spacers) {
      auto setup = standard_setup();
      setup.fork.spacers = spacers;
      if (equal_sag) hold_sag(setup, 0.22);
      const double now = progression(assemble(setup));
      EXPECT_GT(now, last * 1.05) << spacers;
      last = now;
    }
  }
}

TEST(Statics, TyreDeflectionUndoesTheTyresForce) {
  // By hand: 429.53 N on 90 N/mm is 4.7726 mm; 5 kN is past the rim: (5000 - 4050)/1090 mm more.
  auto setup = standard_setup();
  setup.bike.tyre_stiffness = 90e3;
  setup.bike.tyre_height = 0.045;
  setup.bike.rim_stiffness = 1e6;
  EXPECT_NEAR(tyre_deflection_under(assemble(setup), 429.53), 4.77256e-3, 1e-8);
  EXPECT_NEAR(tyre_deflection_under(assemble(setup), 5000.0), 0.045 + 950.0 / 1.09e6, 1e-10);
  setup.bike.tyre_onset = 6e-3;
  const Rider grown = assemble(setup);
  for (const double load : {50.0, 429.53, 5000.0}) {
    const double d = tyre_deflection_under(grown, load);
    EXPECT_NEAR(grown.tyre.elastic(d, d > 0.045), load, 1e-8) << load;
  }
}

TEST(Statics, FrictionLeavesABandAboutTheSag) {
  // By hand on a coil: (load -+ F_S)/rate about the sag. The load along the legs is rate times sag,
  // F_S the static ratio times what seals and bushings give under the side load of what hangs on
  // the fork, (m_s + m_r) g cos(theta).
  auto setup = coil_setup();
  setup.fork.coil.preload = 0.0;
  setup.fork.friction.seal = 18.0;
  setup.fork.friction.bushing = 0.02;
  setup.fork.friction.static_ratio = 1.3;
  const Rider rider = assemble(setup);
  const double side = (rider.sprung_mass + rider.body_mass) * kGravity * rider.bike.cosine;
  const double a = rider.friction.reach;
  const double b = setup.fork.friction.bushing_spacing;
  const double friction = 1.3 * (18.0 + 0.02 * side * (a + a + b) / b);
  const TravelBand band = sag_band(rider);
  EXPECT_NEAR(sag(rider) - band.least, friction / setup.fork.coil.rate, 1e-9);
  EXPECT_NEAR(band.most - sag(rider), friction / setup.fork.coil.rate, 1e-9);
  EXPECT_GT(friction, 23.4);
  setup.fork.friction.seal = setup.fork.friction.bushing = 0.0;
  const TravelBand none = sag_band(assemble(setup));
  EXPECT_EQ(none.least, none.most);
}

TEST(Statics, AtBothEndsOfTheBandTheForkStandsStill) {
  // With the bristle bent as far as it goes before it slips, nothing accelerates: neither end is
  // passed by a fork that is let down or raised slowly.
  auto setup = worked_design_point();
  setup.fork.pressure = 5e5;
  setup.bike.rolling_resistance = setup.bike.drag_area = 0.0;
  Rider rider = assemble_ridden(setup);
  rider.bike.dive_lever = 0.0;
  const TravelBand band = sag_band(rider);
  ASSERT_LT(band.least + 1e-3, sag(rider));
  ASSERT_GT(band.most - 1e-3, sag(rider));
  const Course<double> line = rider.course(level_ride());
  for (const auto& [x, way] : {std::pair{band.least, 1.0}, std::pair{band.most, -1.0}}) {
    State<double> y = state_at_rest_on(rider, level_path, level_ride());
    const double moved = x - y[kTravel];
    y[kTravel] = x;
    y[kSprungHeight] -= moved * rider.bike.sine;
    y[kBodyHeight] -= moved * rider.bike.sine;
    y[kMainMass] = settled_main_mass(rider, x);
    const Modes<double> mode = modes_of_state(rider, y, line, {});
    // The level follows from the side load, and that from whether anything accelerates.
    for (int pass = 0; pass < 40; ++pass) {
      y[kBristle] = way * rider.forces(y, line, {}, mode).slip_level / rider.friction.stiffness;
    }
    const Forces<double> f = rider.forces(y, line, {}, mode);
    EXPECT_NEAR(f.travel_acceleration, 0.0, 1e-6);
    EXPECT_NEAR(f.sprung_acceleration, 0.0, 1e-6);
  }
}

TEST(HoldSag, PressureHoldsTheShareOfTravel) {
  for (const double share : {0.15, 0.22, 0.35}) {
    auto setup = worked_design_point();
    hold_sag(setup, share);
    EXPECT_NEAR(sag(assemble(setup)), share * 0.15, 1e-9) << share;
  }
}

TEST(HoldSag, TheHeldPressureIsThatOfThePumpNotOfTheTrail) {
  // The same absolute pressure holds the same sag: pumped at 2 km the gauge reads what the
  // atmosphere lacks there more, 21 829.8 Pa (ISO 2533); the ride is at sea level.
  auto low = worked_design_point();
  auto high = worked_design_point();
  high.pumped = {2000.0, 293.15};
  hold_sag(low, 0.22);
  hold_sag(high, 0.22);
  EXPECT_NEAR(high.fork.pressure - low.fork.pressure, 21829.8, 0.2);
}

TEST(HoldSag, PreloadHoldsItOnACoil) {
  // By hand: 355.513 N - 9 N/mm * 33 mm = 58.513 N of preload.
  auto setup = coil_setup();
  hold_sag(setup, 0.22);
  EXPECT_NEAR(setup.fork.coil.preload, 58.513, 1e-3);
  EXPECT_NEAR(sag(assemble(setup)), 0.033, 1e-9);
}

TEST(HoldSag, AHeavierRiderNeedsMore) {
  auto light = worked_design_point();
  auto heavy = worked_design_point();
  heavy.rider.body_mass += 10.0;
  hold_sag(light, 0.22);
  hold_sag(heavy, 0.22);
  // Closed form: at one travel the force is proportional to the absolute pressure, less p_amb on
  // 0.8 cm2, 8.106 N. By hand (444.391 + 8.106)/(355.513 + 8.106) = 1.24443.
  EXPECT_NEAR((heavy.fork.pressure + 101325.0) / (light.fork.pressure + 101325.0), 1.24443, 1e-5);
}

TEST(HoldSag, WhatNoSettingHoldsIsRefused) {
  auto limited = worked_design_point();
  limited.fork.pressure_limit = 4e5;
  EXPECT_EQ(refusal(limited, 0.22),
            "hold.sag = 22 %: no pressure up to 58.0151 psi (fork.pressure_limit) holds it: the "
            "rider is too heavy for this fork");
  auto stiff = coil_setup();
  stiff.fork.coil.rate = 20e3;
  EXPECT_EQ(refusal(stiff, 0.22),
            "hold.sag = 22 %: the fork is too stiff for this rider: it sags less even with no "
            "preload");
  // A refusal leaves the set-up as it was.
  auto before = limited;
  EXPECT_THROW(hold_sag(before, 0.22), InputError);
  EXPECT_TRUE(std::isnan(before.fork.pressure));
}

}  // namespace
}  // namespace plunge::statics_test
