// What the tests of the physics share: a standard fork and rider, exact derivatives, consistent
// switches, a plain integrator and random numbers that are the same on every machine.
#pragma once

#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <vector>

#include "models/setup/assemble.hpp"
#include "models/setup/parameters.hpp"
#include "models/setup/setup.hpp"
#include "sim/numerics/random.hpp"

namespace plunge {

inline constexpr double kPsi = 6894.757293168361;  // [Pa]: lbf/in2, exact inch, pound and g

// The largest difference of two traces, of any numbers; NaN where one is longer or holds a NaN.
template <class A, class B>
double largest_difference(const A& a, const B& b) {
  if (a.size() != b.size()) return kUnset;
  double largest = 0.0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    const double difference = std::abs(static_cast<double>(a[i]) - static_cast<double>(b[i]));
    if (!(difference <= largest)) largest = difference;
  }
  return largest;
}

// A number with its derivative along one direction: exact slopes of any law (forward mode of
// automatic differentiation).
struct Dual {
  double value = 0.0;
  double slope = 0.0;

  Dual() = default;
  Dual(double v) : value(v) {}  // NOLINT: a plain number is a constant
  Dual(double v, double s) : value(v), slope(s) {}

  Dual& operator+=(Dual b) { return *this = Dual(value + b.value, slope + b.slope); }
  friend Dual operator-(Dual a) { return {-a.value, -a.slope}; }
  friend Dual operator+(Dual a, Dual b) { return {a.value + b.value, a.slope + b.slope}; }
  friend Dual operator-(Dual a, Dual b) { return {a.value - b.value, a.slope - b.slope}; }
  friend Dual operator*(Dual a, Dual b) {
    return {a.value * b.value, a.slope * b.value + a.value * b.slope};
  }
  friend Dual operator/(Dual a, Dual b) {
    return {a.value / b.value, (a.slope - a.value / b.value * b.slope) / b.value};
  }
  friend bool operator<(Dual a, Dual b) { return a.value < b.value; }
  friend bool operator>(Dual a, Dual b) { return a.value > b.value; }

  friend Dual sqrt(Dual a) {
    const double root = std::sqrt(a.value);
    return {root, a.slope == 0.0 ? 0.0 : 0.5 * a.slope / root};
  }
  friend Dual abs(Dual a) { return a.value < 0.0 ? -a : a; }
  friend Dual log(Dual a) { return {std::log(a.value), a.slope / a.value}; }
  friend Dual pow(Dual a, Dual b) {
    const double power = std::pow(a.value, b.value);
    return {power, power * b.value * a.slope / a.value};
  }
  friend Dual select(bool mask, Dual if_true, Dual if_false) { return mask ? if_true : if_false; }
};

// A rider whose stores can be differentiated.
inline QuarterRider<Dual> with_slopes(const Rider& r) {
  const auto chamber = [](const GasChamber<double>& c) {
    return GasChamber<Dual>{c.volume, c.area, c.time, c.wall};
  };
  QuarterRider<Dual> d;
  d.sprung_mass = r.sprung_mass;
  d.unsprung_mass = r.unsprung_mass;
  d.body_mass = r.body_mass;
  d.air.main = chamber(r.air.main);
  d.air.negative = chamber(r.air.negative);
  d.air.leg = chamber(r.air.leg);
  d.air.ambient = r.air.ambient;
  d.gas_mass = r.gas_mass;
  d.leg_gas_mass = r.leg_gas_mass;
  d.coil = {r.coil.rate, r.coil.preload};
  d.negative_coil = {r.negative_coil.rate, r.negative_coil.length};
  d.friction.stiffness = r.friction.stiffness;
  d.bumper = {r.bumper.start, r.bumper.stiffness, r.bumper.cubic, r.bumper.loss, r.bumper.length};
  d.metal = {r.metal.limit, r.metal.stiffness, r.metal.loss, r.metal.give};
  d.top_out = {r.top_out.stiffness, r.top_out.loss};
  d.tyre = {r.tyre.stiffness, r.tyre.damping, r.tyre.onset, r.tyre.rim_depth, r.tyre.rim_stiffness};
  d.body = {r.body.stiffness, r.body.damping, r.body.arm_stiffness, r.body.arm_damping,
            r.body.preload};
  d.has_air = r.has_air;
  d.has_leg_air = r.has_leg_air;
  d.has_body = r.has_body;
  d.has_friction = r.has_friction;
  return d;
}

// A course whose pitch moves on as it says; all else of it stands.
inline Course<Dual> pitching(const Course<double>& line) {
  Course<Dual> d;
  d.speed = Dual(line.speed, line.acceleration);
  d.gravity = line.gravity;
  d.sine = Dual(line.sine, line.cosine * line.pitch_rate);
  d.cosine = Dual(line.cosine, -line.sine * line.pitch_rate);
  d.pitch_rate = Dual(line.pitch_rate, line.pitch_acceleration);
  return d;
}

// The worked design point of the project's physics notes: 150 mm, 65 deg, 14 + 26 kg, sea level,
// 20 degC. No pressure yet: 22 % sag is what it is held to.
inline Setup worked_design_point() {
  Setup setup = defaults();
  ForkSetup& fork = setup.fork;
  fork.travel = 0.15;
  fork.spacers = 0.0;
  fork.spacer_limit = 5.0;
  fork.pressure_limit = 12e5;
  fork.air.main_area = 7.5e-4;
  fork.air.negative_area = 6.7e-4;
  fork.air.main_volume = 198e-6;
  fork.air.negative_volume = 15e-6;
  setup.bike.head_angle = 65.0 * kPi / 180.0;
  setup.rider.mass = 80.0;
  setup.rider.sprung_mass = 14.0;
  setup.rider.body_mass = 26.0;
  setup.ambient.altitude = 0.0;
  setup.ambient.temperature = 293.15;
  setup.ride.speed = 5.0;
  fill_defaults(setup);
  fork.air.spacer_volume = 9e-6;
  fork.air.oil_volume = 3e-6;
  fork.air.port_position = 6e-3;
  return setup;
}

// The same with a pressure of 6 bar.
inline Setup standard_setup() {
  Setup setup = worked_design_point();
  setup.fork.pressure = 6e5;
  return setup;
}

// The modes that a state calls for, from the header's words rather than from indicators().
inline Modes<double> modes_of_state(const Rider& r, const State<double>& y,
                                    const Course<double>& line, const PathPoint<double>& point) {
  const double x = y[kTravel];
  const double v = y[kTravelSpeed];
  const double w = line.speed - v * line.cosine + x * line.sine * line.pitch_rate;
  const double fall = y[kSprungSpeed] + v * line.sine + x * line.cosine * line.pitch_rate;
  const double cosine = std::cos(std::atan(point.slope));
  const double d = (point.height - y[kSprungHeight] - x * line.sine) * cosine;
  const double rate = (point.slope * w - fall) * cosine;
  Modes<double> mode{};
  mode[kRimTouches] = d > r.tyre.rim_depth;
  const double push = r.tyre.elastic(d, mode[kRimTouches]) + r.tyre.damping * rate;
  mode[kTyreTouches] = d > 0.0 && push > 0.0;
  mode[kBumperTouches] = x > r.bumper.start;
  mode[kMetalTouches] = x > r.metal.limit;
  mode[kTopOutTouches] = x < 0.0;
  mode[kPastHydraulicStop] = x > r.hydraulic_stop.start;
  mode[kCoilTouches] = x < r.negative_coil.length;
  mode[kPastPortTop] = x > r.air.port.position - r.air.port.length;
  mode[kPastPort] = x > r.air.port.position;
  mode[kCompresses] = v > 0.0;
  mode[kBrakeSlips] = line.brake_wanted > (mode[kTyreTouches] ? r.bike.grip * push : 0.0);
  const Forces<double> f = r.forces(y, line, point, mode);
  const double couple = f.brake * r.wheel_radius;
  const bool rubs = r.friction.bushing > 0.0;
  mode[kUpperBushing] = !rubs || f.side * r.friction.reach > couple;
  mode[kLowerBushing] = !rubs || f.side * (r.friction.reach + r.friction.spacing) > couple;
  return mode;
}

// The classical Runge-Kutta method of fourth order, from t = 0 to `end` in equal steps.
template <class Values, class Rates>
Values integrate(Values y, double end, int steps, Rates&& rates) {
  const double h = end / steps;
  const auto moved = [](Values from, const Values& rate, double by) {
    for (std::size_t i = 0; i < from.size(); ++i) from[i] += by * rate[i];
    return from;
  };
  for (int i = 0; i < steps; ++i) {
    const double t = i * h;
    const Values k1 = rates(t, y);
    const Values k2 = rates(t + h / 2.0, moved(y, k1, h / 2.0));
    const Values k3 = rates(t + h / 2.0, moved(y, k2, h / 2.0));
    const Values k4 = rates(t + h, moved(y, k3, h));
    y = moved(moved(moved(moved(y, k1, h / 6.0), k2, h / 3.0), k3, h / 3.0), k4, h / 6.0);
  }
  return y;
}

// Random numbers, evenly spread between two ends.
class Dice {
 public:
  explicit Dice(std::uint64_t seed) : generator_(seed) {}

  double between(double low, double high) { return low + (high - low) * unit_from(generator_()); }
  bool coin() { return (generator_() >> 63) != 0; }

 private:
  SplitMix64 generator_;
};

}  // namespace plunge
