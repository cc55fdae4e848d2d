#include "sim/search/next_step.hpp"

#include <algorithm>

namespace plunge {
namespace {

constexpr double kFarOff = 2.0;  // tolerances broken: no luck makes good for it

// Which axes a step turns: spacers, pressure, compression, rebound.
struct Step {
  std::array<bool, 4> turns;
  int effort() const {
    int effort = turns[0] ? kOpenEffort : turns[1] ? kAirEffort : 0;
    return effort + (turns[2] ? kClicksEffort : 0) + (turns[3] ? kClicksEffort : 0);
  }
};

std::vector<Step> steps_by_effort(const Lattice& lattice) {
  std::vector<Step> steps;
  for (const auto& [open, air] : {std::pair(false, false), {false, true}, {true, true}}) {
    for (const auto& [compression, rebound] :
         {std::pair(false, false), {true, false}, {false, true}, {true, true}}) {
      const Step step{{open, air, compression, rebound}};
      const bool can = std::ranges::all_of(std::array{0U, 1U, 2U, 3U}, [&](unsigned axis) {
        return !step.turns[axis] || lattice.size(axis) > 1;
      });
      if (step.effort() > 0 && can) steps.push_back(step);
    }
  }
  std::ranges::stable_sort(steps, {}, [](const Step& step) { return step.effort(); });
  return steps;
}

// The setting of such a step that is sought by sure_merit().
ForkSettings surest(TrialRides& rides, const Judge& judge, const Lattice& lattice,
                    const std::array<double, 2>& band, const ForkSettings& today,
                    const Step& step) {
  const double values[] = {today.spacers, today.pressure, today.compression, today.rebound};
  Lattice turned = lattice;
  for (std::size_t axis = 0; axis < std::size(values); ++axis) {
    if (!step.turns[axis]) turned = turned.only(axis, values[axis]);
  }
  StarSearch search(turned, kStepBudget);
  const std::array<double, 2> own =
      step.turns[1] ? band : std::array{today.pressure, today.pressure};
  search.run(own, merits_by(rides, judge, sure_merit));
  return search.best();
}

bool surer(const Candidate& a, const Candidate& b) {
  if (a.chance.all != b.chance.all) return a.chance.all > b.chance.all;
  return sure_merit(a.verdict) < sure_merit(b.verdict);
}

}  // namespace

int effort_between(const ForkSettings& from, const ForkSettings& to) {
  return Step{{from.spacers != to.spacers, from.pressure != to.pressure,
               from.compression != to.compression, from.rebound != to.rebound}}
      .effort();
}

double sure_merit(const Verdict& verdict) {
  if (!(verdict.merit < kNoMerit)) return kNoMerit;
  return 10.0 * verdict.worst + verdict.total + 0.5 * verdict.comfort -
         std::max(0.0, verdict.margin);
}

NextStep next_step(TrialRides& rides, const Judge& judge, const Lattice& lattice,
                   const std::array<double, 2>& band, const Candidate& today,
                   std::span<const Candidate> known, double chance, std::span<const Luck> luck) {
  if (today.chance.all >= chance) return {today, 0, true, chance};
  const std::vector<Step> steps = steps_by_effort(lattice);
  Candidate best = today;
  for (std::size_t i = 0; i < steps.size();) {
    const int effort = steps[i].effort();
    std::vector<ForkSettings> sought;
    for (; i < steps.size() && steps[i].effort() == effort; ++i) {
      const ForkSettings one = surest(rides, judge, lattice, band, today.settings, steps[i]);
      if (judge(rides.ride(one)).worst < kFarOff) sought.push_back(one);
    }
    std::vector<Candidate> found = with_chances(rides, judge, sought, luck);
    for (const Candidate& candidate : known) {
      if (effort_between(today.settings, candidate.settings) <= effort) found.push_back(candidate);
    }
    for (const Candidate& candidate : found) {
      if (surer(candidate, best)) best = candidate;
    }
    if (best.chance.all >= chance) break;
  }
  return {best, effort_between(today.settings, best.settings), best.chance.all >= chance, chance};
}

}  // namespace plunge
