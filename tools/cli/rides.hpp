// Loading scenes and riding variants: what ride, curve and modes share.
#pragma once

#include <string>
#include <vector>

#include "models/setup/setup.hpp"
#include "sim/input/scene_file.hpp"
#include "sim/measure/result.hpp"

namespace plunge {

// The sag that a command line and a scene ask to hold; NaN: the pressure as given.
// hold: "", "pressure" or "sag=22%". A pressure (or preload) that the command line itself sets or
// varies is not solved for: the scene's hold then gives way, which is said on standard error, and
// --hold sag beside it throws InputError.
double sag_to_hold(const std::string& hold, double scene_sag, const std::vector<std::string>& set,
                   const std::vector<std::string>& vary);

// One set-up of a variation, pressure solved.
struct Variant {
  std::string label;
  Setup setup;
  std::vector<NamedValue> set;
  std::vector<NamedValue> held;
};

// Every combination of the variations, the last varying fastest, each judged and held.
// Throws InputError with every fault of every variant.
std::vector<Variant> make_variants(const Scene& scene, const std::vector<std::string>& vary,
                                   double sag, bool bar);

// Rides all variants on all cores; the order is that of the variants. Stops taking new ones after
// an interrupt: those not ridden are left out at the end.
std::vector<Result> ride_variants(const std::vector<Variant>& variants);

}  // namespace plunge
