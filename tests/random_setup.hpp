// Set-ups drawn at random from ranges that reach well past real forks, riders and trails; the same
// for the same number on every machine.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <initializer_list>
#include <stdexcept>

#include "models/setup/judge.hpp"
#include "models/setup/parameters.hpp"
#include "models/setup/statics.hpp"
#include "sim/ground/terrain.hpp"
#include "sim/input/settle.hpp"
#include "tests/builders.hpp"
#include "tests/support.hpp"

namespace plunge {

inline constexpr double kDegree = kPi / 180.0;

// A number drawn evenly from a range in the logarithm: as often between 1 and 10 as between 10 and
// 100.
inline double spread(Dice& dice, double low, double high) {
  return std::exp(dice.between(std::log(low), std::log(high)));
}

inline double whole(Dice& dice, double low, double high) {
  return std::floor(dice.between(low, high + 1.0));
}

template <class Kind>
Kind pick(Dice& dice, std::initializer_list<Kind> kinds) {
  return *(kinds.begin() +
           static_cast<int>(whole(dice, 0.0, static_cast<double>(kinds.size() - 1))));
}

inline void draw_damper(Dice& dice, DamperSetup& damper) {
  damper.kind = pick(dice, {DamperKind::slopes, DamperKind::points, DamperKind::hydraulic});
  if (damper.kind == DamperKind::points) {
    SpeedForce point{0.0, 0.0};
    const double count = whole(dice, 2.0, 8.0);
    for (double k = 0.0; k < count; ++k) {
      point = {point.speed + spread(dice, 0.02, 1.0), point.force + spread(dice, 5.0, 500.0)};
      damper.points.push_back(point);
    }
  } else if (damper.kind == DamperKind::hydraulic) {
    damper.piston_area = spread(dice, 2e-4, 1e-3);
    damper.bleed_area = spread(dice, 1e-6, 2e-5);
    damper.bleed_length = spread(dice, 1e-3, 2e-2);
    damper.bleed_clicks = whole(dice, 5.0, 30.0);
    damper.clicks = whole(dice, 0.0, damper.bleed_clicks);
    if (dice.coin()) {
      damper.shim_area = spread(dice, 1e-5, 1e-4);
      damper.shim_preload = spread(dice, 1e4, 1e6);
      damper.shim_slope = spread(dice, 1e-12, 1e-10);
      if (dice.coin()) {
        damper.shim_preload_closed = damper.shim_preload * spread(dice, 1.0, 10.0);
        damper.shim_clicks = whole(dice, 1.0, 12.0);
        damper.high_speed_clicks = whole(dice, 0.0, damper.shim_clicks);
      }
    }
    if (dice.coin()) {
      damper.blow_off_pressure = spread(dice, 1e6, 3e6);
      damper.blow_off_slope = spread(dice, 1e-12, 1e-10);
    }
  } else if (dice.coin()) {
    damper.low_speed = spread(dice, 50.0, 3000.0);
    damper.high_speed = spread(dice, 20.0, 1500.0);
    damper.knee = spread(dice, 0.05, 1.0);
  } else {
    damper.knee = spread(dice, 0.05, 1.0);
    ClickRow row{0.0, spread(dice, 500.0, 3000.0), spread(dice, 200.0, 1500.0)};
    const double rows = whole(dice, 2.0, 5.0);
    for (double k = 0.0; k < rows; ++k) {
      damper.click_table.push_back(row);
      row = {row.clicks + whole(dice, 1.0, 8.0), row.low_speed * dice.between(0.5, 1.0),
             row.high_speed * dice.between(0.5, 1.0)};
    }
    damper.clicks = whole(dice, 0.0, damper.click_table.back().clicks);
  }
}

inline void draw_fork(Dice& dice, ForkSetup& fork) {
  fork.travel = dice.between(0.08, 0.22);
  fork.unsprung_mass = dice.between(2.5, 6.0);
  fork.spring = dice.between(0.0, 1.0) < 0.85 ? Spring::air : Spring::coil;
  fork.negative = pick(
      dice, {NegativeSpring::air, NegativeSpring::air, NegativeSpring::coil, NegativeSpring::none});
  fork.spacer_limit = whole(dice, 0.0, 6.0);
  fork.spacers = whole(dice, 0.0, fork.spacer_limit);
  fork.pressure_limit = 15e5;
  fork.pressure = spread(dice, 1.5e5, 12e5);
  AirSetup& air = fork.air;
  air.main_area = dice.between(5e-4, 11e-4);
  air.negative_area = air.main_area * dice.between(0.7, 1.0);
  air.spacer_volume = dice.between(2e-6, 12e-6);
  air.oil_volume = dice.between(0.0, 8e-6);
  air.main_volume = air.main_area * fork.travel * dice.between(1.1, 2.5) + air.oil_volume +
                    fork.spacers * air.spacer_volume;
  air.negative_volume = spread(dice, 5e-6, 80e-6);
  air.port_position = dice.between(2e-3, 12e-3);
  air.port_length = air.port_position * dice.between(0.1, 1.0);
  air.port_area = spread(dice, 0.1e-6, 10e-6);
  air.main_time = spread(dice, 0.1, 20.0);
  air.negative_time = spread(dice, 0.1, 20.0);
  if (dice.between(0.0, 1.0) < 0.3) {
    air.leg_area = spread(dice, 1e-5, 8e-4);
    air.leg_volume = air.leg_area * fork.travel * dice.between(1.1, 4.0);
  }
  fork.coil = {dice.between(2e3, 20e3), dice.between(0.0, 100.0)};
  fork.negative_coil = {dice.between(1e3, 20e3), fork.travel * dice.between(0.05, 0.4)};
  draw_damper(dice, fork.compression);
  draw_damper(dice, fork.rebound);
  fork.oil.temperature = 273.15 + dice.between(-20.0, 60.0);
  if (dice.coin()) {
    fork.hydraulic_stop = {fork.travel * dice.between(0.05, 0.4), spread(dice, 50.0, 5000.0)};
  }
  FrictionSetup& friction = fork.friction;
  friction.seal = dice.coin() ? spread(dice, 1.0, 100.0) : 0.0;
  friction.bushing = dice.coin() ? dice.between(0.0, 0.03) : 0.0;
  friction.static_ratio = dice.between(1.0, 2.0);
  friction.stribeck_speed = spread(dice, 5e-4, 5e-2);
  friction.presliding_stiffness = spread(dice, 2e4, 2e6);
  friction.viscous = dice.between(0.0, 100.0);
  StopSetup& stops = fork.stops;
  stops.bumper_length = dice.between(2e-3, 20e-3);
  stops.bumper_stiffness = dice.between(0.0, 1e5);
  stops.bumper_cubic = spread(dice, 1e7, 1e10);
  stops.metal_stiffness = spread(dice, 1e8, 1e9);
  stops.top_out_stiffness = spread(dice, 2e5, 1e6);
}

inline Feature draw_feature(Dice& dice, double wheel_radius) {
  Feature f;
  f.kind = pick(dice, {FeatureKind::flat, FeatureKind::bump, FeatureKind::bumps, FeatureKind::drop,
                       FeatureKind::rough, FeatureKind::profile});
  f.shape = pick(dice, {BumpShape::half_sine, BumpShape::cosine, BumpShape::square, BumpShape::ramp,
                        BumpShape::root});
  const double size = spread(dice, 5e-3, 0.12);
  switch (f.kind) {
    case FeatureKind::flat:
      f.length = spread(dice, 0.2, 8.0);
      f.grade = dice.coin() ? dice.between(-20.0, 20.0) * kDegree : 0.0;
      break;
    case FeatureKind::bumps:
    case FeatureKind::bump:
      f.length = std::max(2.0 * size, spread(dice, 0.05, 3.0));
      f.height = dice.between(0.0, 1.0) < 0.8 ? size : -size;
      if (f.kind == FeatureKind::bumps) {
        f.spacing = f.length * dice.between(1.0, 4.0);
        f.count = whole(dice, 1.0, 8.0);
      }
      break;
    case FeatureKind::drop:
      f.height = spread(dice, 0.02, 1.2);
      if (dice.coin()) {
        f.landing_angle = dice.between(2.0, 35.0) * kDegree;
        f.landing_length = dice.between(1.0, 6.0);
        f.run_out = dice.between(1.0, 6.0);
      }
      break;
    case FeatureKind::rough:
      f.length = dice.between(4.5, 12.0);
      f.roughness = spread(dice, 4e-6, 4e-3);
      f.seed = whole(dice, 0.0, 1e6);
      f.longest = dice.between(5.0, 50.0);
      f.shortest = dice.between(0.05, 0.5);
      break;
    case FeatureKind::profile: {
      f.join = pick(dice, {ProfileJoin::linear, ProfileJoin::smooth});
      f.scale = dice.between(-1.0, 1.5);
      double along = dice.between(-1.0, 1.0);
      for (double k = whole(dice, 2.0, 30.0); k > 0.0; --k) {
        f.distance.push_back(along);
        f.elevation.push_back(dice.between(-0.03, 0.03));
        along += spread(dice, 0.03, 0.5);
      }
      break;
    }
  }
  if (f.kind == FeatureKind::bump || f.kind == FeatureKind::bumps) {
    const bool steep = f.shape == BumpShape::square || f.shape == BumpShape::ramp;
    if (steep) f.height = std::min(f.height, 0.7 * tallest_step(wheel_radius));
  }
  return f;
}

inline void draw_events(Dice& dice, Setup& setup, double length) {
  double at = dice.between(0.0, 0.4 * length);
  for (double k = whole(dice, 0.0, 2.0); k > 0.0; --k) {
    RideEvent event;
    event.kind = pick(dice, {EventKind::brake, EventKind::accelerate, EventKind::corner});
    event.at = at;
    event.rise = dice.between(0.05, 0.5);
    if (event.kind == EventKind::corner) {
      event.lean = dice.between(0.0, 55.0) * kDegree;
      event.length = dice.between(0.5, 6.0);
    } else {
      const bool brake = event.kind == EventKind::brake;
      event.rate = brake ? dice.between(0.5, 9.0) : dice.between(0.2, 3.0);
      event.to_speed = setup.ride.speed * (brake ? dice.between(0.4, 0.9) : dice.between(1.1, 1.5));
      if (brake) event.front_share = dice.between(0.0, 1.0);
    }
    setup.events.push_back(event);
    at += dice.between(3.0, 12.0);
  }
}

// A set-up as it falls, judged or not.
inline Setup any_setup(Dice& dice) {
  Setup setup;
  setup.name = "drawn at random";
  draw_fork(dice, setup.fork);
  BikeSetup& bike = setup.bike;
  bike.mass = dice.between(8.0, 25.0);
  bike.head_angle = dice.between(60.0, 90.0) * kDegree;
  bike.wheel_radius = dice.between(0.25, 0.4);
  bike.tyre_stiffness = spread(dice, 4e4, 3e5);
  bike.tyre_damping = spread(dice, 10.0, 300.0);
  bike.tyre_onset = dice.between(0.0, 1.0) < 0.3 ? dice.between(0.0, 5e-3) : 0.0;
  bike.tyre_height = dice.between(0.02, 0.07);
  bike.rim_stiffness = spread(dice, 3e5, 5e6);
  bike.tyre_grip = dice.between(0.3, 1.2);
  if (dice.between(0.0, 1.0) < 0.1) {
    bike.contact = WheelContact::average;
    bike.contact_length = dice.between(0.05, 0.3);
  }
  RiderSetup& rider = setup.rider;
  rider.mass = dice.between(35.0, 140.0);
  rider.front_share = dice.between(0.25, 0.55);
  rider.body_share = dice.between(0.0, 1.0) < 0.1 ? 0.0 : dice.between(0.2, 0.9);
  rider.body_stiffness = spread(dice, 1e3, 2e4);
  rider.body_damping = spread(dice, 50.0, 1000.0);
  setup.ambient = {dice.between(0.0, 3000.0), 273.15 + dice.between(-15.0, 40.0)};
  if (dice.coin()) setup.pumped = {dice.between(0.0, 3000.0), 273.15 + dice.between(-15.0, 40.0)};
  setup.ride.speed = spread(dice, 1.5, 16.0);
  setup.ride.sample_rate = dice.coin() ? 1000.0 : dice.between(100.0, 1000.0);
  setup.ride.duration = dice.between(2.0, 5.0);
  double length = 0.0;
  while (length < 2.0 * setup.ride.speed) {
    setup.terrain.push_back(draw_feature(dice, bike.wheel_radius));
    fill_defaults(setup.terrain.back());
    length += feature_length(setup.terrain.back());
  }
  setup.terrain.push_back(flat(2.0));
  draw_events(dice, setup, length);
  for (RideEvent& event : setup.events) fill_defaults(event);
  fill_defaults(setup);
  return setup;
}

// The first set-up of a draw that the judge lets through, every other one with a sag held.
template <class Draw>
Setup first_good(Dice dice, const Draw& draw, double least_sag, double most_sag) {
  for (int tries = 0; tries < 100; ++tries) {
    Setup setup = draw(dice);
    const bool held = dice.coin();
    if (!judge(setup, held ? Held::sag : Held::nothing).empty()) continue;
    if (!judge_ground(setup.terrain, setup.bike).empty()) continue;
    try {
      if (held) hold_sag(setup, dice.between(least_sag, most_sag));
    } catch (const InputError&) {
      continue;
    }
    if (judge(setup).empty() && judge_balance_of(setup).empty()) return setup;
  }
  throw std::logic_error("no good set-up in 100");
}

// The set-up of that number.
inline Setup good_setup(std::uint64_t number) {
  return first_good(Dice(number * 1'000'003), any_setup, 0.1, 0.4);
}

}  // namespace plunge
