// Rides as plans ask for them: the shipped scenes with other forks, riders and bikes, and with
// every number that a tuner or an engineer would lay an axis over, drawn from the range in which
// real forks, riders and trails lie (the ranges of the parameter table's sources); the same for the
// same number on every machine.
#pragma once

#include <cstdint>
#include <string>

#include "models/setup/damper_readings.hpp"
#include "models/setup/parameters.hpp"
#include "tests/random_setup.hpp"
#include "tests/scene_files.hpp"

namespace plunge {

// A set-up of a random plan's ride; may break a rule.
inline Setup any_planned_setup(Dice& dice) {
  const std::string scene =
      pick(dice, {"braking-bumps", "corner", "drop-to-flat", "drop-to-landing", "g-out",
                  "rock-garden", "roots", "square-edge"});
  const std::string fork = pick(dice, {"sorrel-120", "teasel-150", "bracken-200"});
  const std::string rider = pick(dice, {"wren", "hazel", "alder"});
  const std::string bike = pick(dice, {"trail", "cross-country", "downhill"});
  Setup setup = load_scene("scenarios/scenes/" + scene + ".toml", {}, false).setup;
  setup.fork = load_fork("scenarios/forks/" + fork + ".toml");
  setup.rider = load_rider("scenarios/riders/" + rider + ".toml");
  setup.bike = load_bike("scenarios/bikes/" + bike + ".toml");
  setup.hold = {};
  setup.rider.mass = dice.between(45.0, 115.0);
  setup.fork.spacers = whole(dice, 0.0, setup.fork.spacer_limit);
  setup.fork.pressure = dice.between(4e5, 8.5e5);
  for (DamperSetup* damper : {&setup.fork.compression, &setup.fork.rebound}) {
    for (const Adjuster& adjuster : adjusters_of(*damper)) {
      damper->*adjuster.position = whole(dice, adjuster.first, adjuster.last);
    }
  }
  FrictionSetup& friction = setup.fork.friction;
  friction.seal = dice.between(5.0, 40.0);
  friction.bushing = dice.coin() ? dice.between(0.0, 0.02) : friction.bushing;
  friction.static_ratio = dice.between(1.1, 1.5);
  friction.stribeck_speed = spread(dice, 1e-3, 20e-3);
  friction.presliding_stiffness = spread(dice, 1e5, 1e6);
  setup.fork.air.main_time = dice.between(0.5, 9.0);
  setup.fork.air.negative_time = dice.between(0.5, 9.0);
  setup.fork.oil.temperature = 273.15 + dice.between(0.0, 45.0);
  setup.bike.tyre_stiffness = dice.between(5e4, 13e4);
  setup.bike.tyre_damping = dice.between(30.0, 150.0);
  setup.bike.head_angle = dice.between(63.0, 72.0) * kDegree;
  setup.rider.body_stiffness = dice.between(1e3, 10e3);
  setup.rider.body_damping = dice.between(100.0, 600.0);
  setup.rider.front_share = dice.between(0.33, 0.45);
  setup.ambient.temperature = 273.15 + dice.between(-5.0, 35.0);
  setup.ambient.altitude = dice.between(0.0, 2500.0);
  setup.ride.speed *= dice.between(0.8, 1.2);
  fill_defaults(setup);
  return setup;
}

// The set-up of that number.
inline Setup planned_setup(std::uint64_t number) {
  return first_good(Dice(number * 2'000'003 + 17), any_planned_setup, 0.15, 0.35);
}

}  // namespace plunge
