#include "models/setup/statics.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "models/laws/constants.hpp"
#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "models/setup/root.hpp"

namespace plunge {
namespace {

constexpr double kTravelWidth = 1e-14;  // bracket of a solved travel or deflection [m]

AirMasses<double> settled(const Rider& rider, double x) {
  const double main = settled_main_mass(rider, x);
  return {main, rider.gas_mass - main, rider.leg_gas_mass};
}

double coil_force(const Rider& rider, double x) {
  return rider.coil.force(x) + rider.negative_coil.force(x, rider.negative_coil.reach(x) > 0.0);
}

// Where a force that rises with x passes a target. The bracket is widened until it holds it, but
// never reaches `bottom` or `top`, where a chamber would be empty and the force without bound.
template <class F>
double rising_root(F&& force, double low, double high, double bottom, double top) {
  constexpr int kMost = 200;
  const double first = 0.01 * (high - low);
  double at_low = force(low);
  double at_high = force(high);
  double span = first;
  for (int i = 0; i < kMost && at_low > 0.0; ++i, span *= 2.0) {
    at_low = force(low = std::max(low - span, 0.5 * (low + bottom)));
  }
  span = first;
  for (int i = 0; i < kMost && at_high < 0.0; ++i, span *= 2.0) {
    at_high = force(high = std::min(high + span, 0.5 * (high + top)));
  }
  if (at_low > 0.0 || at_high < 0.0) {
    throw InputError(
        Fault{"ride.speed", "", "no travel of the fork carries the load at the start", {}});
  }
  return find_root(force, low, high, at_low, at_high, kTravelWidth);
}

// Travel at which a swept chamber would be empty [m].
double empty_at(const GasChamber<double>& chamber) { return -chamber.volume / chamber.area; }

// Travel at which slow_force carries load(x), which must rise more slowly with x than the force.
template <class Load>
double travel_where(const Rider& rider, Load&& load) {
  double bottom = -kInfinity;
  double top = kInfinity;
  if (rider.has_air) {
    if (rider.air.negative.area > 0.0) bottom = empty_at(rider.air.negative);
    for (const GasChamber<double>* chamber : {&rider.air.main, &rider.air.leg}) {
      if (chamber->area < 0.0) top = std::min(top, empty_at(*chamber));
    }
  }
  return rising_root([&](double x) { return slow_force(rider, x) - load(x); }, 0.0, rider.travel,
                     bottom, top);
}

// What stands at a travel: the force of the ground and the load along the legs.
struct Standing {
  double ground_force = 0.0;  // along the normal of the path [N]
  double load = 0.0;          // [N]
};

// The equations of quarter_rider.hpp with nothing moving but the bike along its line.
Standing standing_at(const Rider& rider, double x, const PathPoint<double>& point,
                     const Course<double>& line, double rise) {
  const double cosine = inverse_root_of_one_plus(square(point.slope));
  const double sine = point.slope * cosine;
  const double mass = rider.sprung_mass + rider.unsprung_mass + rider.body_mass;
  const double over = (sine * line.grade_cosine - cosine * line.grade_sine) * rider.bike.axle_lever;
  const double carried = mass * (line.gravity + rise) + line.transfer +
                         line.transfer_by_travel * (x - rider.bike.rest_travel);
  // N cos - B sin = carried + B transfer_by_brake + N over; no tyre pulls.
  const auto pressed = [](double load, double share) {
    return share > 0.0 && load > 0.0 ? load / share : 0.0;
  };
  const double by_brake = line.transfer_by_brake + sine;
  double brake = line.brake_wanted;
  double force = pressed(carried + brake * by_brake, cosine - over);
  const double held = cosine - over - rider.bike.grip * by_brake;
  // A bike that its brake would tip over before the tyre slips keeps the brake that is asked for.
  if (brake > rider.bike.grip * force && (held > 0.0 || !(force > 0.0))) {
    force = pressed(carried, held);
    brake = rider.bike.grip * force;
  }
  const double along =
      force * (line.sine * cosine + line.cosine * sine) +
      brake * (line.cosine * cosine - line.sine * sine) +
      (force > 0.0 ? rider.spin_mass * line.cosine * line.acceleration : 0.0) +
      rider.unsprung_mass * (line.acceleration * line.cosine - (line.gravity + rise) * line.sine);
  return {force, along};
}

Rider with_rest(Rider rider) {
  rider.bike.rest_travel = sag(rider);
  return rider;
}

// Vertical acceleration of the line, a T + v^2 T'.
double rise_of(const Motion<double>& motion) {
  return motion.acceleration * motion.grade.slope + square(motion.speed) * motion.grade.rate;
}

Equilibrium equilibrium_on(const Rider& rider, const PathAt& path, const Motion<double>& motion,
                           const Course<double>& line) {
  const double rise = rise_of(motion);
  const auto at = [&](double x) {
    return standing_at(rider, x, path(motion.distance - x * line.cosine), line, rise);
  };
  const double x = travel_where(rider, [&](double travel) { return at(travel).load; });
  return {x, at(x).ground_force};
}

}  // namespace

double settled_main_mass(const Rider& rider, double x) {
  if (!rider.has_air) return 0.0;
  const AirSpring<double>& air = rider.air;
  if (!(x > air.port.shallow_edge() && x < air.port.deep_edge())) return rider.main_mass_at_port;
  const double main = air.main.volume_at(x);
  return rider.gas_mass * main / (main + air.negative.volume_at(x));
}

double slow_spring_force(const Rider& rider, double x) {
  double force = coil_force(rider, x);
  if (rider.has_air) force += rider.air.slow_force(settled(rider, x), x);
  return force;
}

double slow_force(const Rider& rider, double x) {
  return slow_spring_force(rider, x) + rider.bumper.force(x, 0.0, rider.bumper.depth(x) > 0.0) +
         rider.metal.force(x, 0.0, rider.metal.depth(x) > 0.0) +
         rider.top_out.force(x, 0.0, rider.top_out.depth(x) > 0.0);
}

double fast_spring_force(const Rider& rider, double from, double x) {
  double force = coil_force(rider, x);
  if (rider.has_air) force += rider.air.fast_force(settled(rider, from), from, x);
  return force;
}

double slow_stiffness(const Rider& rider, double x) {
  constexpr double kHalf = 5e-5;
  return (slow_spring_force(rider, x + kHalf) - slow_spring_force(rider, x - kHalf)) /
         (2.0 * kHalf);
}

double fast_stiffness(const Rider& rider, double x) {
  constexpr double kHalf = 5e-5;
  return (fast_spring_force(rider, x, x + kHalf) - fast_spring_force(rider, x, x - kHalf)) /
         (2.0 * kHalf);
}

double travel_under(const Rider& rider, double load) {
  return travel_where(rider, [load](double) { return load; });
}

double static_load(const Rider& rider) {
  return (rider.sprung_mass + rider.body_mass) * kGravity * rider.bike.sine;
}

double sag(const Rider& rider) { return travel_under(rider, static_load(rider)); }

double static_friction(const Rider& rider) {
  if (!rider.has_friction) return 0.0;
  const double carried = (rider.sprung_mass + rider.body_mass) * kGravity;
  const double side = std::isfinite(carried) ? carried * rider.bike.cosine : 0.0;
  return rider.friction.static_ratio * rider.friction.coulomb({side, 0.0});
}

TravelBand sag_band(const Rider& rider) {
  const double load = static_load(rider);
  const double friction = static_friction(rider);
  return {travel_under(rider, load - friction), travel_under(rider, load + friction)};
}

double breakaway_force(const Rider& rider) {
  const double start = std::max(0.0, rider.air.port.deep_edge());
  return slow_spring_force(rider, start) + static_friction(rider);
}

double progression(const Rider& rider) {
  return slow_stiffness(rider, 0.9 * rider.travel) / slow_stiffness(rider, 0.5 * rider.travel);
}

double tyre_deflection_under(const Rider& rider, double load) {
  if (!(load > 0.0)) return 0.0;
  return rising_root(
      [&](double d) { return rider.tyre.elastic(d, d > rider.tyre.rim_depth) - load; }, 0.0,
      2.0 * load / rider.tyre.stiffness, -kInfinity, kInfinity);
}

Rider assemble_ridden(const Setup& setup, const Damper<double>& damper) {
  return with_rest(assemble(setup, damper));
}

Rider assemble_ridden(const Setup& setup) { return with_rest(assemble(setup)); }

Equilibrium equilibrium(const Rider& rider, const PathAt& path, const Motion<double>& motion) {
  return equilibrium_on(rider, path, motion, rider.course(motion));
}

State<double> state_at_rest_on(const Rider& rider, const PathAt& path,
                               const Motion<double>& motion) {
  const Course<double> line = rider.course(motion);
  const Equilibrium rest = equilibrium_on(rider, path, motion, line);
  const double x = rest.travel;
  const PathPoint<double> point = path(motion.distance - x * line.cosine);
  const double cosine = inverse_root_of_one_plus(square(point.slope));
  // The gap of the tyre stays as it is.
  const double wheel_speed = motion.speed + x * line.sine * line.pitch_rate;
  const double climb = point.slope * wheel_speed - x * line.cosine * line.pitch_rate;
  State<double> state{};
  state[kTravel] = x;
  state[kSprungHeight] =
      point.height - tyre_deflection_under(rider, rest.ground_force) / cosine - x * line.sine;
  state[kSprungSpeed] = climb;
  state[kBodyHeight] = state[kSprungHeight];
  state[kBodySpeed] = climb;
  if (rider.has_body) {
    state[kBodyHeight] -=
        rider.body_mass * (motion.gravity + rise_of(motion)) / rider.body.stiffness;
  }
  state[kMainTemperature] = rider.air.main.wall;
  state[kNegativeTemperature] = rider.air.negative.wall;
  state[kLegTemperature] = rider.air.leg.wall;
  state[kMainMass] = settled_main_mass(rider, x);
  return state;
}

void hold_sag(Setup& setup, double share) {
  const double target = share * setup.fork.travel;
  const bool air = setup.fork.spring == Spring::air;
  Setup trial = setup;
  if (air) {
    trial.fork.pressure = 0.0;
  } else {
    trial.fork.coil.preload = 0.0;
  }
  Rider rider = assemble(trial);
  const double load = static_load(rider);
  const auto missing = [&](double setting) {
    if (air) {
      inflate(rider, trial, setting);
    } else {
      rider.coil.preload = setting;
    }
    return slow_force(rider, target) - load;
  };
  const double most = air ? setup.fork.pressure_limit : load;
  const double at_none = missing(0.0);
  const double at_most = missing(most);
  if (!(at_none <= 0.0 && at_most >= 0.0)) {
    const char* what = air ? "pressure" : "preload";
    throw InputError(Fault{
        "hold.sag",
        fmt::format("{:.4g} %", 100.0 * share),
        at_none > 0.0
            ? fmt::format("the fork is too stiff for this rider: it sags less even with no {}",
                          what)
            : fmt::format("no {} up to {} holds it: the rider is too heavy for this fork", what,
                          air ? say(most, "psi") + " (fork.pressure_limit)" : say(most, "N")),
        {}});
  }
  const double setting = find_root(missing, 0.0, most, at_none, at_most, 1e-9);
  if (air) {
    setup.fork.pressure = setting;
  } else {
    setup.fork.coil.preload = setting;
  }
}

}  // namespace plunge
