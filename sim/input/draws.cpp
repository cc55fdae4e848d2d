#include "sim/input/draws.hpp"

#include <fmt/core.h>

#include <cmath>

#include "models/laws/constants.hpp"
#include "models/setup/fault.hpp"
#include "models/setup/judge.hpp"
#include "sim/numerics/random.hpp"

namespace plunge {
namespace {

double normal(SplitMix64& random) {
  const double size = std::sqrt(-2.0 * std::log(open_unit_from(random())));
  return size * std::cos(2.0 * kPi * open_unit_from(random()));
}

std::vector<double> covariance_of(const Knowledge& knowledge,
                                  const std::vector<std::size_t>& places) {
  std::vector<double> covariance;
  for (const std::size_t i : places) {
    for (const std::size_t j : places) covariance.push_back(knowledge.covariance(i, j));
  }
  return covariance;
}

}  // namespace

std::vector<ForkDraw> draw_forks(const Setup& setup, const Knowledge& knowledge, std::size_t count,
                                 std::uint64_t seed) {
  const std::vector<std::size_t> places = knowledge.uncertain();
  const std::size_t n = places.size();
  std::vector<ForkDraw> draws(count);
  if (n == 0) return draws;
  const std::vector<double> lower = lower_factor(covariance_of(knowledge, places), n);
  if (lower.empty()) throw RunError("the spreads of the fork's numbers contradict each other");
  std::vector<Knob> knobs;
  for (const std::size_t i : places) {
    knobs.push_back(find_knob(setup, knowledge.numbers()[i].name));
  }
  SplitMix64 seeds(seed);
  for (ForkDraw& draw : draws) {
    SplitMix64 random(seeds());
    for (int tries = 0;; ++tries) {
      if (tries == kMostTries) {
        throw RunError(
            fmt::format("of {} draws of the fork none is a fork: its spreads are too "
                        "wide for its numbers",
                        kMostTries));
      }
      std::vector<double> even(n);
      for (double& e : even) e = normal(random);
      draw.clear();
      for (std::size_t i = 0; i < n; ++i) {
        double log = 0.0;
        for (std::size_t k = 0; k <= i; ++k) log += lower[i * n + k] * even[k];
        draw.push_back({knobs[i], knobs[i].get(setup) * std::exp(log), even[i]});
      }
      Setup drawn = setup;
      put(drawn, draw);
      if (judge(drawn.fork).empty() && judge(drawn.rider).empty()) break;
    }
  }
  return draws;
}

void put(Setup& setup, const ForkDraw& draw) {
  for (const DrawnNumber& number : draw) number.knob.put(setup, number.value);
}

}  // namespace plunge
