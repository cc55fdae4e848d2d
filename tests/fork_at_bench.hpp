// A fork of a family, and readings of it that are made up with the spreads that they claim.
#pragma once

#include <cmath>
#include <cstdint>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "models/laws/constants.hpp"
#include "models/setup/families.hpp"
#include "models/setup/knowledge.hpp"
#include "models/setup/setup.hpp"
#include "sim/fit/bench.hpp"
#include "sim/fit/fork_file.hpp"
#include "sim/fit/readings.hpp"
#include "sim/numerics/random.hpp"
#include "tests/support.hpp"

namespace plunge {

// A fork of 150 mm with a bore of 30.9 mm under a rider of 80 kg.
inline BegunFork family_fork() {
  ForkStart start;
  start.travel = 0.15;
  start.family.stanchion = 0.0334;
  BegunFork fork = begin_fork(start);
  fork.setup.rider.mass = 80.0;
  fill_defaults(fork.setup);
  return fork;
}

inline BenchReading reading_of(ReadingKind kind, double spread, double pressure = kUnset,
                               double spacers = kUnset) {
  Reading reading;
  reading.kind = kind;
  reading.spread = spread;
  reading.pressure = pressure;
  reading.spacers = spacers;
  reading.angle = kPi / 2.0;
  reading.until = 0.02;
  reading.label = row_of(kind).name;
  return {reading, {}};
}

inline BenchReading sag_reading(double weight, Moving moving, double pressure = 70.0 * kPsi) {
  BenchReading reading = reading_of(ReadingKind::sag, 2e-3, pressure, 0.0);
  reading.reading.weight = weight;
  reading.reading.moving = moving;
  return reading;
}

inline BenchReading push_reading(double spacers, Moving moving, double travel = kUnset) {
  BenchReading reading = reading_of(ReadingKind::push, 1.0, 30.0 * kPsi, spacers);
  reading.reading.moving = moving;
  reading.reading.travel = travel;
  return reading;
}

inline BenchReading stack_reading(double count) {
  BenchReading reading = reading_of(ReadingKind::spacers, 0.5e-6);
  reading.reading.count = count;
  return reading;
}

inline double normal(std::mt19937_64& random) {
  const double size = std::sqrt(-2.0 * std::log(open_unit_from(random())));
  return size * std::cos(2.0 * kPi * open_unit_from(random()));
}

// What is read off a fork, with a gauge of that gain: false where it cannot be read.
inline bool read_off(const Setup& truth, double gain, const Instruments& instruments,
                     std::vector<BenchReading>& readings, std::mt19937_64& random) {
  for (BenchReading& bench : readings) {
    BenchReading done = bench;
    Reading& reading = done.reading;
    if (!std::isnan(reading.pressure)) reading.pressure += instruments.pressure * normal(random);
    if (reads_travel(reading.kind)) {
      if (std::isnan(reading.travel)) reading.travel = truth.fork.travel;
      reading.travel += instruments.travel * normal(random);
    }
    bench.reading.reads = predicted(truth, gain, done) + reading.spread * normal(random);
    if (!(bench.reading.reads > 0.0)) return false;
  }
  return true;
}

}  // namespace plunge
