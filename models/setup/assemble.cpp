#include "models/setup/assemble.hpp"

#include <cmath>

#include "models/setup/atmosphere.hpp"
#include "models/setup/masses.hpp"

namespace plunge {
namespace {

// A part that is not there: its switch lies where the fork never gets.
constexpr double kOutOfReach = 1e3;  // [m]

AirSpring<double> assemble_air(const Setup& setup) {
  const ForkSetup& fork = setup.fork;
  const AirSetup& air = fork.air;
  const double wall = setup.ambient.temperature;
  AirSpring<double> spring;
  spring.ambient = ambient_pressure(setup.ambient.altitude);
  // A chamber that is not there: a volume that nothing sweeps and no port reaches.
  spring.main = spring.negative = spring.leg = {1.0, 0.0, 1.0, wall};
  spring.port = {-kOutOfReach, 1.0, 0.0};
  if (fork.spring == Spring::air) {
    spring.main = {air.main_volume - fork.spacers * air.spacer_volume - air.oil_volume,
                   -air.main_area, air.main_time, wall};
    if (fork.negative == NegativeSpring::air) {
      spring.negative = {air.negative_volume, air.negative_area, air.negative_time, wall};
      spring.port = {air.port_position, air.port_length, air.port_area};
    }
  }
  if (air.leg_area > 0.0) spring.leg = {air.leg_volume, -air.leg_area, air.leg_time, wall};
  return spring;
}

// All but the travel at rest, which follows from the spring.
BikeLine<double> assemble_bike(const Setup& setup) {
  const BikeSetup& bike = setup.bike;
  const double length = bike.wheelbase;
  BikeLine<double> line;
  line.sine = std::sin(bike.head_angle);
  // A right angle is exact, so that an upright fork has no reach at all.
  line.cosine = bike.head_angle == kPi / 2.0 ? 0.0 : std::cos(bike.head_angle);
  line.total_mass = total_mass(setup);
  line.front_mass = front_mass(setup);
  line.cg_lever = bike.cg_height / length;
  line.axle_lever = (bike.cg_height - bike.wheel_radius) / length;
  line.dive_lever = line.total_mass * bike.cg_height / square(length);
  line.rolling = bike.rolling_resistance * line.total_mass * kGravity;
  line.drag = 0.5 * kAirDensity * bike.drag_area;
  line.grip = bike.tyre_grip;
  line.light_load = kLightLoad * line.front_mass * kGravity;
  return line;
}

BodySupport<double> assemble_body(const RiderSetup& rider, double body_mass) {
  return {rider.body_stiffness, rider.body_damping, rider.arm_part * rider.body_stiffness,
          rider.arm_part * rider.body_damping,
          (rider.hand_share - rider.arm_part) * body_mass * kGravity};
}

}  // namespace

void inflate(Rider& rider, const Setup& setup, double gauge) {
  const AirState pump = pumped_air(setup);
  const AirMasses<double> masses =
      rider.air.inflated(gauge, ambient_pressure(pump.altitude), pump.temperature);
  rider.main_mass_at_port = masses.main;
  rider.gas_mass = masses.main + masses.negative;
  rider.leg_gas_mass = masses.leg;
}

Rider assemble(const Setup& setup) {
  return assemble(setup, {make_damper(setup.fork.compression, setup.fork.oil),
                          make_damper(setup.fork.rebound, setup.fork.oil)});
}

Rider assemble(const Setup& setup, const Damper<double>& damper) {
  const ForkSetup& fork = setup.fork;
  const BikeSetup& bike = setup.bike;
  const FrictionSetup& friction = fork.friction;
  const StopSetup& stops = fork.stops;

  Rider rider;
  rider.sprung_mass = sprung_mass(setup);
  rider.unsprung_mass = fork.unsprung_mass;
  rider.wheel_share = fork.wheel_share;
  rider.body_mass = body_mass(setup);
  rider.spin_mass = bike.wheel_inertia / square(bike.wheel_radius);
  rider.bike = assemble_bike(setup);
  rider.travel = fork.travel;
  rider.wheel_radius = bike.wheel_radius;
  rider.has_body = rider.body_mass > 0.0;

  const bool on_air = fork.spring == Spring::air;
  rider.has_leg_air = fork.air.leg_area > 0.0;
  rider.has_air = on_air || rider.has_leg_air;
  rider.air = assemble_air(setup);
  rider.negative_coil = {0.0, -kOutOfReach};
  if (!on_air) rider.coil = {fork.coil.rate, fork.coil.preload};
  if (on_air && fork.negative == NegativeSpring::coil) {
    rider.negative_coil = {fork.negative_coil.rate, fork.negative_coil.length};
  }
  inflate(rider, setup, on_air ? fork.pressure : 0.0);

  rider.damper = damper;
  rider.hydraulic_stop = {kOutOfReach, 0.0};
  if (fork.hydraulic_stop.length > 0.0) {
    rider.hydraulic_stop = {fork.travel - fork.hydraulic_stop.length,
                            fork.hydraulic_stop.damping / fork.hydraulic_stop.length};
  }
  rider.has_friction = friction.seal > 0.0 || friction.bushing > 0.0;
  rider.friction = {friction.seal,
                    friction.bushing,
                    friction.bushing_reach,
                    friction.bushing_spacing,
                    friction.static_ratio,
                    friction.stribeck_speed,
                    friction.presliding_stiffness,
                    friction.presliding_damping,
                    friction.viscous};
  rider.bumper = {fork.travel - stops.bumper_length, stops.bumper_stiffness, stops.bumper_cubic,
                  stops.bumper_loss, stops.bumper_length};
  rider.metal = {fork.travel, stops.metal_stiffness, stops.metal_loss,
                 1.0 / stops.chassis_stiffness};
  rider.top_out = {stops.top_out_stiffness, stops.top_out_loss};
  rider.tyre = {bike.tyre_stiffness, bike.tyre_damping, bike.tyre_onset, bike.tyre_height,
                bike.rim_stiffness};
  rider.body = assemble_body(setup.rider, rider.body_mass);
  return rider;
}

}  // namespace plunge
