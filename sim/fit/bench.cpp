#include "sim/fit/bench.hpp"

#include <algorithm>
#include <cmath>

#include "models/laws/constants.hpp"
#include "models/setup/fault.hpp"
#include "models/setup/statics.hpp"
#include "sim/fit/return_time.hpp"
#include "sim/ride/run.hpp"

namespace plunge {
namespace {

// Slow forces and pressures turn on no damper, which takes longest to make.
Rider at_rest(const Setup& setup) { return assemble(setup, Damper<double>{}); }

// +1 where friction adds to what is pressed, -1 where it takes off.
double way(Moving moving) {
  return moving == Moving::down ? 1.0 : moving == Moving::up ? -1.0 : 0.0;
}

double gauge_with_pump_on(const Rider& rider, double gauge, double hose, double travel) {
  const double open = rider.air.main.volume + hose;
  const double shut = open + rider.air.main.area * travel;
  const double ambient = rider.air.ambient;
  return shut > 0.0 ? (gauge + ambient) * open / shut - ambient : kUnset;
}

double gauge_again(const Rider& rider, double hose, double travel) {
  const GasChamber<double>& main = rider.air.main;
  const double gauge =
      main.pressure(settled_main_mass(rider, travel), main.wall, travel) - rider.air.ambient;
  return reading_with_hose(gauge, main.volume_at(travel), hose);
}

double sag_under(const Rider& rider, const Reading& reading) {
  const double weight = reading.weight * kGravity;
  const double side = weight * std::cos(reading.angle);
  const double friction = rider.has_friction ? rider.friction.coulomb({side, 0.0}) : 0.0;
  try {
    return travel_under(rider, weight * std::sin(reading.angle) - way(reading.moving) * friction);
  } catch (const InputError&) {
    return kUnset;
  }
}

double pushed(const Rider& rider, const Reading& reading, double travel) {
  const double friction = rider.has_friction ? rider.friction.coulomb({0.0, 0.0}) : 0.0;
  return (slow_spring_force(rider, travel) + way(reading.moving) * friction) / kGravity;
}

double ring(const Setup& scene) {
  try {
    const Result ride = run_ride(scene, prepare(scene));
    if (!ride.failure.empty()) return kUnset;
    return std::ranges::find(ride.metrics, "travel_max", &Metric::name)->value;
  } catch (const InputError&) {
    return kUnset;  // a wheel lifts
  }
}

// Whether the main chamber still holds air at full travel.
bool holds_air(const Rider& rider) { return rider.air.main.volume_at(rider.travel) > 0.0; }

}  // namespace

double predicted(const Setup& fork, double gauge_gain, const BenchReading& bench) {
  const Reading& reading = bench.reading;
  const AirSetup& air = fork.fork.air;
  switch (reading.kind) {
    case ReadingKind::spacers:
      return reading.count * air.spacer_volume;
    case ReadingKind::bore:
      return std::sqrt(4.0 * air.main_area / kPi);
    case ReadingKind::wheel:
      return fork.fork.wheel_share * fork.fork.unsprung_mass;
    default:
      break;
  }
  Setup setup = reading.kind == ReadingKind::ring ? bench.scene : fork;
  setup.fork = fork.fork;
  if (!std::isnan(reading.spacers)) setup.fork.spacers = reading.spacers;
  setup.fork.pressure = reading.pressure * gauge_gain;
  const bool moves = reading.kind == ReadingKind::back;
  const Rider rider = moves ? assemble(setup) : at_rest(setup);
  if (!holds_air(rider)) return kUnset;
  const double travel = std::isnan(reading.travel) ? fork.fork.travel : reading.travel;
  switch (reading.kind) {
    case ReadingKind::pump_on:
      return gauge_with_pump_on(rider, setup.fork.pressure, air.hose_volume, travel) / gauge_gain;
    case ReadingKind::pump_again:
      return gauge_again(rider, air.hose_volume, travel) / gauge_gain;
    case ReadingKind::sag:
      return sag_under(rider, reading);
    case ReadingKind::push:
      return pushed(rider, reading, travel);
    case ReadingKind::back:
      return return_time(rider, travel, std::isnan(reading.until) ? 0.5 * travel : reading.until,
                         reading.angle);
    case ReadingKind::ring:
      return ring(setup);
    default:
      return kUnset;
  }
}

double whole_spread(const Setup& fork, double gauge_gain, const Instruments& instruments,
                    const BenchReading& bench) {
  BenchReading at = bench;
  const Reading& reading = at.reading;
  const bool goes = reads_travel(reading.kind);
  if (goes && std::isnan(reading.travel)) at.reading.travel = fork.fork.travel;
  double variance = reading.spread * reading.spread;
  // A step each way of half the scatter, so that its effect is their difference.
  const auto add = [&](double Reading::*condition, double scatter) {
    BenchReading less = at;
    BenchReading more = at;
    less.reading.*condition -= 0.5 * scatter;
    more.reading.*condition += 0.5 * scatter;
    const double effect = predicted(fork, gauge_gain, more) - predicted(fork, gauge_gain, less);
    if (std::isfinite(effect)) variance += effect * effect;
  };
  if (!std::isnan(reading.pressure)) add(&Reading::pressure, instruments.pressure);
  if (goes) add(&Reading::travel, instruments.travel);
  return std::sqrt(variance);
}

}  // namespace plunge
