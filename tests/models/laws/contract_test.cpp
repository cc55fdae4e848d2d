// What every part that pushes or resists has in common, tried on each of them:
//   a spring      its force is the slope of its stored energy, and the energy has no jumps
//   a rising law  its force never falls with travel (or speed)
//   any part      what is put in over a stroke that comes back to where it began is never less than
//                 nothing, and what it takes at an instant is never given
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <ostream>
#include <string>
#include <vector>

#include "models/laws/air_spring.hpp"
#include "models/laws/body_support.hpp"
#include "models/laws/coil_spring.hpp"
#include "models/laws/friction.hpp"
#include "models/laws/hydraulic_stop.hpp"
#include "models/laws/stops.hpp"
#include "models/laws/tyre.hpp"
#include "models/setup/damper.hpp"
#include "tests/support.hpp"

namespace plunge::contract_test {
namespace {

constexpr double kRoom = 293.15;  // [K]
constexpr double kAmbient = 101325.0;

// A part that stores, on [low, high]. Its force resists growing x.
struct Store {
  std::string name;
  double low;
  double high;
  std::function<double(double)> force;
  std::function<Dual(Dual)> energy;
  bool rises;  // force never falls with x
};

// A part that takes energy at an instant: force at x and speed v, and what it stores, if anything.
struct Loss {
  std::string name;
  double low;
  double high;
  std::function<double(double x, double v)> force;
  std::function<double(double x)> elastic;
  bool rises;  // force never falls with v
};

// A part with states of its own.
using Inner = std::array<double, 4>;
struct Memory {
  std::string name;
  double low;
  double high;
  std::function<Inner(double x)> at_rest;
  std::function<Inner(const Inner&, double x, double v)> rates;
  std::function<double(const Inner&, double x, double v)> force;
};

std::ostream& operator<<(std::ostream& out, const Store& part) { return out << part.name; }
std::ostream& operator<<(std::ostream& out, const Loss& part) { return out << part.name; }
std::ostream& operator<<(std::ostream& out, const Memory& part) { return out << part.name; }

struct Name {
  template <class Info>
  std::string operator()(const Info& info) const {
    return info.param.name;
  }
};

template <class S>
Tyre<S> tyre(double onset) {
  return {90e3, 70.0, onset, 0.045, 1e6};
}

template <class S>
Bumper<S> bumper() {
  return {0.14, 3e4, 6.5e9, 0.2, 0.01};
}

template <class S>
MetalStop<S> metal() {
  return {0.15, 1e8, 0.2, 0.0};
}

template <class S>
MetalStop<S> metal_in_series() {
  return {0.15, 1e8, 0.2, 4e-6};
}

template <class S>
TopOut<S> top_out() {
  return {2e5, 0.3};
}

AirSpring<double> air() {
  AirSpring<double> spring;
  spring.main = {195e-6, -7.5e-4, 3.0, kRoom};
  spring.negative = {15e-6, 6.7e-4, 2.0, kRoom};
  spring.leg = {300e-6, -10e-4, 1.0, kRoom};
  spring.port = {6e-3, 2e-3, 2e-6};
  spring.ambient = kAmbient;
  return spring;
}

AirMasses<double> gas() { return air().inflated(6e5, kAmbient, kRoom); }

Friction<double> seals() { return {12.0, 0.015, 0.28, 0.13, 1.25, 5e-3, 2e5, 10.0, 10.0}; }

// Energies of gas at wall temperature (Helmholtz: -m R T ln V) and without heat (m c_v T, from a
// slow approach to `from`), each with the work against the atmosphere.
Dual gas_energy(Dual x, bool fast, double from) {
  const AirSpring<double> spring = air();
  const AirMasses<double> masses = gas();
  Dual energy = 0.0;
  const auto add = [&](const GasChamber<double>& chamber, double mass) {
    const Dual volume = chamber.volume + chamber.area * x;
    const double reference = chamber.volume_at(from);
    if (fast) {
      const Dual temperature = kRoom * pow(reference / volume, Dual(kGamma - 1.0));
      energy += mass * kAirHeatCapacity * (temperature - kRoom);
    } else {
      energy += -mass * kAirConstant * kRoom * log(volume / reference);
    }
    energy += kAmbient * (volume - reference);
  };
  add(spring.main, masses.main);
  add(spring.negative, masses.negative);
  add(spring.leg, masses.leg);
  return energy;
}

std::vector<Store> stores() {
  const CoilSpring<double> coil{8000.0, 40.0};
  const NegativeCoil<double> negative{5000.0, 0.03};
  const auto linear = tyre<double>(0.0);
  const auto grown = tyre<double>(6e-3);
  const BodySupport<double> body{4000.0, 300.0};
  const auto elastic = [](const auto& contact, double x) {
    return contact.force(x, 0.0, contact.depth(x) > 0.0);
  };
  return {
      {"coil", 0.0, 0.15, [=](double x) { return coil.force(x); },
       [](Dual x) {
         return CoilSpring<Dual>{8000.0, 40.0}.stored_energy(x);
       },
       true},
      {"negative_coil", -0.005, 0.15,
       [=](double x) { return negative.force(x, negative.reach(x) > 0.0); },
       [](Dual x) {
         return NegativeCoil<Dual>{5000.0, 0.03}.stored_energy(x);
       },
       true},
      {"bumper", 0.1, 0.155, [=](double x) { return elastic(bumper<double>(), x); },
       [](Dual x) { return bumper<Dual>().stored_energy(x); }, true},
      {"metal", 0.149, 0.153, [=](double x) { return elastic(metal<double>(), x); },
       [](Dual x) { return metal<Dual>().stored_energy(x); }, true},
      {"metal_in_series", 0.149, 0.17,
       [=](double x) { return elastic(metal_in_series<double>(), x); },
       [](Dual x) { return metal_in_series<Dual>().stored_energy(x); }, true},
      {"top_out", -0.01, 0.01, [=](double x) { return elastic(top_out<double>(), x); },
       [](Dual x) { return top_out<Dual>().stored_energy(x); }, true},
      {"tyre", -0.01, 0.06,
       [=](double d) { return linear.force(d, 0.0, d > 0.0, d > linear.rim_depth); },
       [](Dual d) { return tyre<Dual>(0.0).stored_energy(d); }, true},
      {"tyre_with_onset", -0.01, 0.06,
       [=](double d) { return grown.force(d, 0.0, d > 0.0, d > grown.rim_depth); },
       [](Dual d) { return tyre<Dual>(6e-3).stored_energy(d); }, true},
      {"body", -0.2, 0.1, [=](double stretch) { return body.force(stretch, 0.0); },
       [](Dual stretch) {
         return BodySupport<Dual>{4000.0, 300.0}.stored_energy(stretch);
       },
       true},
      {"bristle", -7e-5, 7e-5, [](double z) { return seals().force(z, 0.0, 0.0); },
       [](Dual z) {
         Friction<Dual> friction;
         friction.stiffness = 2e5;
         return friction.stored_energy(z);
       },
       true},
      {"slow_air", 0.0, 0.15, [](double x) { return air().slow_force(gas(), x); },
       [](Dual x) { return gas_energy(x, false, 0.0); }, true},
      {"fast_air", 0.0, 0.15, [](double x) { return air().fast_force(gas(), 0.033, x); },
       [](Dual x) { return gas_energy(x, true, 0.033); }, true},
  };
}

DamperSetup slopes_damper() {
  DamperSetup damper;
  damper.low_speed = 300.0;
  damper.high_speed = 150.0;
  damper.knee = 0.25;
  return damper;
}

DamperSetup measured_damper() {
  DamperSetup damper;
  damper.kind = DamperKind::points;
  damper.points = {{0.05, 40.0}, {0.3, 150.0}, {0.31, 190.0}, {1.0, 310.0}, {2.5, 820.0}};
  return damper;
}

DamperSetup hydraulic_damper() {
  DamperSetup damper;
  damper.kind = DamperKind::hydraulic;
  damper.clicks = 6.0;
  damper.piston_area = 3e-4;
  damper.bleed_area = 4e-6;
  damper.bleed_length = 5e-3;
  damper.bleed_clicks = 12.0;
  damper.shim_preload = 3e5;
  damper.shim_slope = 2e-11;
  damper.shim_area = 20e-6;
  damper.blow_off_pressure = 3e6;
  damper.blow_off_slope = 2e-11;
  return damper;
}

Loss damper_of(const std::string& name, const DamperSetup& setup) {
  const OilSetup oil{860.0, 15e-6, 3.6e-6, kRoom, 0.611};
  const Damper<double> damper{make_damper(setup, oil), make_damper(setup, oil)};
  return {name,
          0.0,
          0.15,
          [=](double, double v) { return damper.force(v, v > 0.0); },
          [](double) { return 0.0; },
          true};
}

std::vector<Loss> losses() {
  const HydraulicStop<double> plug{0.12, 5e4};
  const BodySupport<double> body{4000.0, 300.0};
  const auto contact = [](const std::string& name, double low, double high, const auto& part,
                          double sign) -> Loss {
    return {
        name,
        low,
        high,
        [=](double x, double v) { return part.force(x, v, part.depth(x) > 0.0); },
        [=](double x) { return part.depth(x) > 0.0 ? sign * part.elastic(part.depth(x)) : 0.0; },
        true};
  };
  const auto rolling = [](const std::string& name, double onset) -> Loss {
    const auto t = tyre<double>(onset);
    const auto elastic = [=](double d) { return d > 0.0 ? t.elastic(d, d > t.rim_depth) : 0.0; };
    return {name,
            -0.01,
            0.06,
            [=](double d, double rate) {
              return std::max(0.0, t.force(d, rate, d > 0.0, d > t.rim_depth));
            },
            elastic,
            true};
  };
  return {damper_of("damper_of_slopes", slopes_damper()),
          damper_of("damper_of_points", measured_damper()),
          damper_of("damper_of_hydraulics", hydraulic_damper()),
          {"hydraulic_stop", 0.1, 0.15,
           [=](double x, double v) { return plug.force(x, v, plug.depth(x) > 0.0 && v > 0.0); },
           [](double) { return 0.0; }, true},
          contact("bumper", 0.13, 0.155, bumper<double>(), 1.0),
          contact("metal", 0.149, 0.152, metal<double>(), 1.0),
          contact("metal_in_series", 0.149, 0.17, metal_in_series<double>(), 1.0),
          contact("top_out", -0.005, 0.005, top_out<double>(), -1.0),
          rolling("tyre", 0.0),
          rolling("tyre_with_onset", 6e-3),
          {"body", -0.2, 0.1, [=](double s, double rate) { return body.force(s, rate); },
           [=](double s) { return body.force(s, 0.0); }, true},
          {"sliding_friction", 0.0, 0.15,
           [](double, double v) {
             const double level = seals().level(12.0, v);
             const double z = v == 0.0 ? 0.0 : std::copysign(level / seals().stiffness, v);
             return seals().force(z, 0.0, v);
           },
           [](double) { return 0.0; }, false}};
}

std::vector<Memory> memories() {
  const auto air_at_rest = [](double x) -> Inner {
    const AirSpring<double> spring = air();
    const AirMasses<double> masses = gas();
    double main = masses.main;
    if (x > spring.port.shallow_edge() && x < spring.port.deep_edge()) {
      const double share =
          spring.main.volume_at(x) / (spring.main.volume_at(x) + spring.negative.volume_at(x));
      main = (masses.main + masses.negative) * share;
    }
    return {main, kRoom, kRoom, kRoom};
  };
  const auto pressures = [](const Inner& y, double x) -> std::array<double, 3> {
    const double total = gas().main + gas().negative;
    return {air().main.pressure(y[0], y[1], x), air().negative.pressure(total - y[0], y[2], x),
            air().leg.pressure(gas().leg, y[3], x)};
  };
  const auto air_rates = [=](const Inner& y, double x, double v) -> Inner {
    const AirSpring<double> spring = air();
    const auto p = pressures(y, x);
    const double flow = spring.port.flow(x, p[0], y[1], p[1], y[2]);
    const double upstream = flow > 0.0 ? y[1] : y[2];
    const double negative = gas().main + gas().negative - y[0];
    return {-flow,
            spring.main.heating(y[1], x, v) +
                GasChamber<double>::flow_heating(-flow, y[0], y[1], upstream),
            spring.negative.heating(y[2], x, v) +
                GasChamber<double>::flow_heating(flow, negative, y[2], upstream),
            spring.leg.heating(y[3], x, v)};
  };
  const auto air_force = [=](const Inner& y, double x, double) {
    const auto p = pressures(y, x);
    return air().force(p[0], p[1], p[2]);
  };
  const auto bristle_rate = [](const Inner& y, double v) {
    return seals().bristle_rate(y[0], v, std::abs(v), seals().level(12.0, v));
  };
  return {
      {"air_past_the_port", 0.01, 0.145, air_at_rest, air_rates, air_force},
      {"air_through_the_port", 0.0, 0.02, air_at_rest, air_rates, air_force},
      {"friction", 0.0, 0.15, [](double) -> Inner { return {}; },
       [=](const Inner& y, double, double v) -> Inner { return {bristle_rate(y, v)}; },
       [=](const Inner& y, double, double v) {
         return seals().force(y[0], bristle_rate(y, v), v);
       }},
  };
}

class EveryStore : public testing::TestWithParam<Store> {};

TEST_P(EveryStore, ForceIsTheSlopeOfStoredEnergy) {
  // Exact slopes by forward differentiation, at random places.
  const Store& part = GetParam();
  Dice dice(21);
  double strongest = 0.0;
  for (int i = 0; i < 2000; ++i) {
    const double x = dice.between(part.low, part.high);
    const double force = part.force(x);
    strongest = std::max(strongest, std::abs(force));
    EXPECT_NEAR(force, part.energy(Dual(x, 1.0)).slope, 1e-10 * (1.0 + std::abs(force))) << x;
  }
  EXPECT_GT(strongest, 10.0);
}

TEST_P(EveryStore, WhatIsStoredIsTheWorkPutIn) {
  // From end to end, by the midpoint rule: a jump of the energy between two laws would show here.
  const Store& part = GetParam();
  const int steps = 100'000;
  const double step = (part.high - part.low) / steps;
  double work = 0.0;
  double turned_over = 0.0;
  for (int i = 0; i < steps; ++i) {
    const double slice = part.force(part.low + (i + 0.5) * step) * step;
    work += slice;
    turned_over += std::abs(slice);
  }
  const double stored = part.energy(part.high).value - part.energy(part.low).value;
  EXPECT_NEAR(stored, work, 1e-7 * turned_over);
}

TEST_P(EveryStore, ForceRisesWhereItIsSaidTo) {
  const Store& part = GetParam();
  const double step = (part.high - part.low) / 5000.0;
  for (int i = 0; part.rises && i < 5000; ++i) {
    const double x = part.low + i * step;
    EXPECT_GE(part.force(x + step), part.force(x) - 1e-9) << x;
  }
}

INSTANTIATE_TEST_SUITE_P(Contract, EveryStore, testing::ValuesIn(stores()), Name());

class EveryLoss : public testing::TestWithParam<Loss> {};

TEST_P(EveryLoss, WhatItTakesIsNeverGiven) {
  const Loss& part = GetParam();
  Dice dice(22);
  double most = 0.0;
  for (int i = 0; i < 20'000; ++i) {
    const double x = dice.between(part.low, part.high);
    const double v = dice.between(-8.0, 8.0);
    const double loss = (part.force(x, v) - part.elastic(x)) * v;
    EXPECT_GE(loss, 0.0) << x << " m, " << v << " m/s";
    most = std::max(most, loss);
  }
  EXPECT_GT(most, 10.0);
}

TEST_P(EveryLoss, AtRestItOnlyHoldsWhatItStores) {
  const Loss& part = GetParam();
  for (double x = part.low; x < part.high; x += (part.high - part.low) / 97.0) {
    EXPECT_DOUBLE_EQ(part.force(x, 0.0), part.elastic(x)) << x;
  }
}

TEST_P(EveryLoss, ForceRisesWithSpeedWhereItIsSaidTo) {
  const Loss& part = GetParam();
  for (int k = 0; part.rises && k <= 10; ++k) {
    const double x = part.low + (part.high - part.low) * k / 10.0;
    for (double v = -8.0; v < 8.0; v += 1e-3) {
      EXPECT_GE(part.force(x, v + 1e-3), part.force(x, v) - 1e-9) << x << " m, " << v << " m/s";
    }
  }
}

INSTANTIATE_TEST_SUITE_P(Contract, EveryLoss, testing::ValuesIn(losses()), Name());

class EveryMemory : public testing::TestWithParam<Memory> {};

TEST_P(EveryMemory, AStrokeThereAndBackCostsWork) {
  // Second law: what begins at rest with its surroundings gives nothing on the way back to where it
  // began. Random strokes of a few harmonics, at rest at both ends, slow and fast.
  const Memory& part = GetParam();
  Dice dice(23);
  for (int i = 0; i < 12; ++i) {
    const double duration = std::pow(10.0, dice.between(-1.0, 1.0));
    std::array<double, 4> size{};
    double sum = 0.0;
    for (double& s : size) sum += s = dice.between(0.0, 1.0);
    const double start = dice.between(part.low, part.high);
    const double room = dice.coin() ? part.high - start : part.low - start;
    for (double& s : size) s *= 0.5 * room / sum;
    // x = start + sum size_k (1 - cos(k 2 pi t/T)), and the work in the last place.
    using Lane = std::array<double, 5>;
    const auto rates = [&](double t, const Lane& y) -> Lane {
      double x = start;
      double v = 0.0;
      for (std::size_t k = 0; k < 4; ++k) {
        const double w = 2.0 * kPi * static_cast<double>(k + 1) / duration;
        x += size[k] * (1.0 - std::cos(w * t));
        v += size[k] * w * std::sin(w * t);
      }
      const Inner inner{y[0], y[1], y[2], y[3]};
      const Inner rate = part.rates(inner, x, v);
      return {rate[0], rate[1], rate[2], rate[3], part.force(inner, x, v) * v};
    };
    const Inner rest = part.at_rest(start);
    const double travelled = std::abs(room);
    const int steps = std::max(40'000, static_cast<int>(duration * 20'000.0));
    const Lane end =
        integrate(Lane{rest[0], rest[1], rest[2], rest[3], 0.0}, duration, steps, rates);
    EXPECT_GE(end[4], -1e-9) << "stroke of " << travelled << " m in " << duration << " s";
    EXPECT_GT(end[4], 1e-3 * travelled);
  }
}

TEST_P(EveryMemory, LeftAloneItStaysAsItIs) {
  const Memory& part = GetParam();
  for (double x = part.low; x < part.high; x += (part.high - part.low) / 31.0) {
    const Inner rest = part.at_rest(x);
    const Inner rate = part.rates(rest, x, 0.0);
    for (std::size_t k = 0; k < 4; ++k) EXPECT_NEAR(rate[k], 0.0, 1e-8) << x;
  }
}

INSTANTIATE_TEST_SUITE_P(Contract, EveryMemory, testing::ValuesIn(memories()), Name());

}  // namespace
}  // namespace plunge::contract_test
