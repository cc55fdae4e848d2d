#include "sim/search/settings.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "models/setup/damper_readings.hpp"
#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "models/setup/statics.hpp"

namespace plunge {
namespace {

std::optional<Adjuster> first_adjuster(const DamperSetup& damper) {
  for (const Adjuster& adjuster : adjusters_of(damper)) {
    if (adjuster.adjusts != Adjusts::high_speed) return adjuster;
  }
  return std::nullopt;
}

double clicks_of(const DamperSetup& damper) {
  const auto adjuster = first_adjuster(damper);
  return adjuster ? damper.*adjuster->position : 0.0;
}

void put_clicks(DamperSetup& damper, double clicks) {
  if (const auto adjuster = first_adjuster(damper)) damper.*adjuster->position = clicks;
}

std::vector<double> click_levels(const DamperSetup& damper, int step) {
  const auto adjuster = first_adjuster(damper);
  std::vector<double> levels;
  if (!adjuster) return {0.0};
  for (double at = adjuster->first; at <= adjuster->last; at += step) levels.push_back(at);
  return levels;
}

// None: no pressure within the limit holds it; the limit is then nearest.
double pressure_holding(Setup setup, double spacers, double share) {
  setup.fork.spacers = spacers;
  try {
    hold_sag(setup, share);
  } catch (const InputError&) {
    return setup.fork.pressure_limit;
  }
  return std::min(setup.fork.pressure, setup.fork.pressure_limit);
}

}  // namespace

bool has_clicks(const DamperSetup& damper) { return first_adjuster(damper).has_value(); }

ForkSettings settings_of(const ForkSetup& fork) {
  return {fork.spacers, fork.pressure, clicks_of(fork.compression), clicks_of(fork.rebound)};
}

void put_settings(ForkSetup& fork, const ForkSettings& settings) {
  fork.spacers = settings.spacers;
  fork.pressure = settings.pressure;
  put_clicks(fork.compression, settings.compression);
  put_clicks(fork.rebound, settings.rebound);
}

ForkSettings Lattice::at(const Point& point) const {
  return {levels[0][point[0]], levels[1][point[1]], levels[2][point[2]], levels[3][point[3]]};
}

Point Lattice::nearest(const ForkSettings& settings) const {
  const double values[] = {settings.spacers, settings.pressure, settings.compression,
                           settings.rebound};
  Point point{};
  for (std::size_t axis = 0; axis < 4; ++axis) {
    const auto& all = levels[axis];
    const auto distance = [&](double level) { return std::abs(level - values[axis]); };
    point[axis] =
        static_cast<std::size_t>(std::ranges::min_element(all, {}, distance) - all.begin());
  }
  return point;
}

Lattice Lattice::only(std::size_t axis, double value) const {
  Lattice lattice = *this;
  lattice.levels[axis] = {value};
  return lattice;
}

std::array<double, 2> pressures_holding(const Setup& setup, double share) {
  const double none = pressure_holding(setup, 0.0, share);
  const double most = pressure_holding(setup, setup.fork.spacer_limit, share);
  return {std::min(none, most), std::max(none, most)};
}

Lattice lattice_of(const Setup& setup, int psi, int clicks) {
  Lattice lattice;
  for (double n = 0.0; n <= setup.fork.spacer_limit; n += 1.0) lattice.levels[0].push_back(n);
  const double step = psi * kPsiStep;
  const double low = std::ceil(pressures_holding(setup, kMostSearchedSag)[0] / kPsiStep);
  const double high = pressures_holding(setup, kLeastSearchedSag)[1];
  for (double at = low * kPsiStep; at <= high; at += step) lattice.levels[1].push_back(at);
  lattice.levels[2] = click_levels(setup.fork.compression, clicks);
  lattice.levels[3] = click_levels(setup.fork.rebound, clicks);
  if (lattice.levels[1].empty()) {
    throw InputError(Fault{"fork.pressure_limit",
                           say(setup.fork.pressure_limit, "psi"),
                           "carries this rider at no sag that is ridden with",
                           {}});
  }
  return lattice;
}

}  // namespace plunge
