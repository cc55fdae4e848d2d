#include "sim/measure/reserve.hpp"

#include <algorithm>

#include "models/laws/constants.hpp"
#include "models/setup/statics.hpp"

namespace plunge {

double energy_to_metal(const Rider& rider, double from, double x) {
  const double limit = rider.metal.limit;
  if (!(x < limit)) return 0.0;
  // Simpson's rule: springs are smooth to 1e-6 over such slices.
  constexpr int kSlices = 32;
  const double half = (limit - x) / (2.0 * kSlices);
  double sum = 0.0;
  for (int i = 0; i <= 2 * kSlices; ++i) {
    const double weight = i == 0 || i == 2 * kSlices ? 1.0 : i % 2 == 1 ? 4.0 : 2.0;
    sum += weight * fast_spring_force(rider, from, x + i * half);
  }
  return std::max(
      0.0, sum * half / 3.0 + rider.bumper.stored_energy(limit) - rider.bumper.stored_energy(x));
}

double drop_to_metal(const Rider& rider, double energy, double x) {
  const double sinks = std::max(0.0, rider.metal.limit - x) * rider.bike.sine;
  return std::max(0.0, energy / (rider.bike.front_mass * kGravity) - sinks);
}

}  // namespace plunge
