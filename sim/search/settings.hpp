// What a workshop turns on an air fork: spacers, air and clicks, and the lattice of all of it.
//
//   spacers       0 to fork.spacer_limit
//   pressure      whole psi by the gauge, from what sags kMostSearchedSag of the travel to what
//                 sags kLeastSearchedSag, with any spacers, never past fork.pressure_limit
//   compression   whole clicks of the adjuster from closed; of two adjusters the low-speed one, the
//   rebound       other stays as it is; a direction without an adjuster has one level
//
// The sags that bound the pressure are common practice, no source: nobody rides outside of them.
// Not here: whether a setting can be ridden (trial_rides.hpp), which is good (demands.hpp).
#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "models/setup/setup.hpp"

namespace plunge {

inline constexpr double kLeastSearchedSag = 0.10;
inline constexpr double kMostSearchedSag = 0.40;
inline constexpr double kPsiStep = 6894.757293168361;  // one psi [Pa]: lbf/in2, exact

// A number that a fork has no adjuster for is 0 in all settings.
struct ForkSettings {
  double spacers = 0.0;
  double pressure = 0.0;     // gauge, at the pump [Pa]
  double compression = 0.0;  // clicks from closed
  double rebound = 0.0;

  // NOLINTNEXTLINE(modernize-use-nullptr): clang-tidy 14 takes the comparison for a pointer's
  auto operator<=>(const ForkSettings&) const = default;
};

bool has_clicks(const DamperSetup& damper);

ForkSettings settings_of(const ForkSetup& fork);
void put_settings(ForkSetup& fork, const ForkSettings& settings);

// Positions on the lattice: spacers, pressure, compression, rebound.
using Point = std::array<std::size_t, 4>;

struct Lattice {
  std::array<std::vector<double>, 4> levels;  // rising

  std::size_t size(std::size_t axis) const { return levels[axis].size(); }
  ForkSettings at(const Point& point) const;
  // The nearest point.
  Point nearest(const ForkSettings& settings) const;
  // One level of an axis alone.
  Lattice only(std::size_t axis, double value) const;
};

// Of a set-up whose fork is sprung by air, its rider and its bike; `psi`: whole psi from one level
// of pressure to the next, `clicks`: clicks likewise. Throws InputError where no pressure within
// the maker's limit holds a sag that is searched.
Lattice lattice_of(const Setup& setup, int psi = 1, int clicks = 1);

// The pressures that hold a sag with no spacer and with the most, lowest and highest, cut to the
// maker's limit [Pa].
std::array<double, 2> pressures_holding(const Setup& setup, double share);

}  // namespace plunge
