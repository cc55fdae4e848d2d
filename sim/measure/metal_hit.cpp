#include "sim/measure/metal_hit.hpp"

#include <algorithm>
#include <cmath>

#include "models/setup/statics.hpp"

namespace plunge {
namespace {

// Damper and stops, which follow from travel and speed alone [N].
double laws_of(const Rider& rider, double x, double v) {
  const bool closing = v > 0.0;
  return rider.damper.force(v, closing) +
         rider.hydraulic_stop.force(x, v, closing && rider.hydraulic_stop.depth(x) > 0.0) +
         rider.bumper.force(x, v, rider.bumper.depth(x) > 0.0) +
         rider.metal.force(x, v, rider.metal.depth(x) > 0.0);
}

double with_stiffness(const Rider& rider, const Closing& hit, double contact, double give) {
  Rider other = rider;
  other.metal.stiffness = contact;
  other.metal.give = give;
  // What the rider has: the ride's own metal acted where the force is known.
  const double rest = hit.fork_force - laws_of(rider, hit.travel, hit.travel_speed);
  const double drive = closing_mass(rider) * hit.acceleration + hit.fork_force;
  const double limit = rider.metal.limit;
  const double stiffness = fast_stiffness(rider, limit);
  const auto force = [&](double x, double v) {
    return rest + stiffness * (x - limit) + laws_of(other, x, v);
  };
  const double mass = closing_mass(rider);
  const auto acceleration = [&](double x, double v) { return (drive - force(x, v)) / mass; };
  // Steps of 1/50 of the fastest that the chassis alone swings: the contact is in series with it.
  const double most = give > 0.0 ? 1.0 / give : 1e9;
  const double h = std::min(2e-5, 0.02 * std::sqrt(mass / most));
  constexpr int kMostSteps = 100'000;
  double x = limit;
  double v = hit.speed;
  double largest = force(x, v);
  for (int i = 0; i < kMostSteps && v > 0.0; ++i) {
    const double a1 = acceleration(x, v);
    const double v2 = v + 0.5 * h * a1;
    const double a2 = acceleration(x + 0.5 * h * v, v2);
    const double v3 = v + 0.5 * h * a2;
    const double a3 = acceleration(x + 0.5 * h * v2, v3);
    const double v4 = v + h * a3;
    const double a4 = acceleration(x + h * v3, v4);
    x += h / 6.0 * (v + 2.0 * (v2 + v3) + v4);
    v += h / 6.0 * (a1 + 2.0 * (a2 + a3) + a4);
    largest = std::max(largest, force(x, v));
  }
  return largest;
}

}  // namespace

double closing_mass(const Rider& rider) {
  const double both = rider.sprung_mass + rider.unsprung_mass;
  return rider.unsprung_mass + rider.spin_mass * square(rider.bike.cosine) -
         square(rider.unsprung_mass * rider.bike.sine) / both;
}

double force_of_hit(const Rider& rider, const Closing& hit) {
  return with_stiffness(rider, hit, rider.metal.stiffness, rider.metal.give);
}

ForceBand band_of_hit(const Rider& rider, const Closing& hit) {
  const auto [soft, hard] = kContactStiffness;
  const auto [weak, stout] = kChassisStiffness;
  const double own = rider.metal.stiffness;
  const double give = rider.metal.give;
  return {with_stiffness(rider, hit, std::min(soft, own), std::max(1.0 / weak, give)),
          with_stiffness(rider, hit, std::max(hard, own), std::min(1.0 / stout, give))};
}

}  // namespace plunge
