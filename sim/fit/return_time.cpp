#include "sim/fit/return_time.hpp"

#include <algorithm>
#include <array>
#include <boost/numeric/odeint/stepper/runge_kutta4.hpp>
#include <cmath>

#include "models/laws/constants.hpp"
#include "models/setup/statics.hpp"

namespace plunge {

double return_time(const Rider& rider, double from, double until, double angle) {
  using Motion2 = std::array<double, 2>;  // travel, its speed
  const double friction = rider.has_friction ? rider.friction.coulomb({0.0, 0.0}) : 0.0;
  const double weight = rider.unsprung_mass * kGravity * std::sin(angle);
  const auto rates = [&](const Motion2& motion, Motion2& rate, double) {
    const double pushes = fast_spring_force(rider, from, motion[0]) - friction + weight;
    const double speed = std::max(0.0, -motion[1]);
    rate[0] = motion[1];
    rate[1] = -(pushes - rider.damper.rebound.force(speed)) / rider.unsprung_mass;
    // Friction holds what rests, and starts nothing.
    if (motion[1] >= 0.0 && rate[1] > 0.0) rate[1] = 0.0;
  };
  boost::numeric::odeint::runge_kutta4<Motion2> rule;
  Motion2 motion = {from, 0.0};
  for (double time = 0.0; time < kLongestReturn; time += kReturnStep) {
    const double before = motion[0];
    rule.do_step(rates, motion, time, kReturnStep);
    if (motion[0] <= until) return time + kReturnStep * (before - until) / (before - motion[0]);
  }
  return kUnset;
}

}  // namespace plunge
