#include "sim/search/choice.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "sim/sweep/sampling.hpp"

namespace plunge {
namespace {

constexpr double kPsiEffect = 3.0 * kPsiStep;
constexpr double kMassEffect = 5.0;
constexpr double kCut = 3.0;          // deviations
constexpr double kSameChance = 0.02;  // of 128 draws, two or three

double drawn(const DesignRows& rows, std::size_t row, std::size_t number, double mean,
             double deviation) {
  Distribution normal;
  normal.kind = DistributionKind::normal;
  normal.mean = mean;
  normal.deviation = deviation;
  normal.low = mean - kCut * deviation;
  normal.high = mean + kCut * deviation;
  return quantile(normal, rows.share(row, number));
}

double largest_use(const Judge& judge, const Outcome& outcome) {
  double use = kUnset;
  for (std::size_t i = 0; i < outcome.scenes.size(); ++i) {
    const double value = judge.value(outcome, i, "travel_use");
    if (!(use >= value)) use = value;
  }
  return use;
}

std::vector<Trial> trials_of(std::span<const ForkSettings> settings, std::span<const Luck> luck) {
  std::vector<Trial> trials;
  for (const ForkSettings& one : settings) {
    for (const Luck& draw : luck) trials.push_back({one, &draw});
  }
  return trials;
}

Chance chance_of(const Judge& judge, std::span<const Outcome> outcomes) {
  Chance chance;
  chance.broken.assign(judge.demands().size(), 0.0);
  const double part = 1.0 / static_cast<double>(outcomes.size());
  std::vector<double> uses;
  std::vector<double> sags;
  for (const Outcome& outcome : outcomes) {
    const Verdict verdict = judge(outcome);
    if (verdict.all_met()) chance.all += part;
    for (std::size_t i = 0; i < verdict.met.size(); ++i) {
      if (verdict.met[i].margin < 0.0) chance.broken[i] += part;
    }
    const double use = outcome.failure.empty() ? largest_use(judge, outcome) : kUnset;
    if (std::isfinite(use)) uses.push_back(use);
    const double sag = outcome.failure.empty() ? judge.value(outcome, 0, "sag_share") : kUnset;
    if (std::isfinite(sag)) sags.push_back(sag);
  }
  chance.travel = band_of(uses);
  chance.sag = band_of(sags);
  return chance;
}

// ForkSettings that a workshop would call the same.
bool near(const ForkSettings& a, const ForkSettings& b) {
  return a.spacers == b.spacers && std::abs(a.pressure - b.pressure) < 2.5 * kPsiStep &&
         std::abs(a.compression - b.compression) < 2.0 && std::abs(a.rebound - b.rebound) < 2.0;
}

}  // namespace

std::vector<Luck> luck_of_days(std::size_t count, std::span<const KnobDraw> fork) {
  const DesignRows rows(Design::sobol, count, 3, 0);
  std::vector<Luck> luck(count);
  for (std::size_t i = 0; i < count; ++i) {
    luck[i].gauge = drawn(rows, i, 0, 0.0, kGaugeSpread);
    luck[i].mass = drawn(rows, i, 1, 0.0, kMassSpread);
    luck[i].speed = drawn(rows, i, 2, 1.0, kSpeedSpread);
    if (!fork.empty()) luck[i].fork = fork[i % fork.size()];
  }
  return luck;
}

std::vector<Luck> luck_of_lines(std::size_t count, std::span<const KnobDraw> fork) {
  const DesignRows rows(Design::sobol, count, 2, 0);
  std::vector<Luck> luck(count);
  for (std::size_t i = 0; i < count; ++i) {
    if (!fork.empty()) luck[i].fork = fork[i % fork.size()];
    luck[i].speed = drawn(rows, i, 0, 1.0, kSpeedSpread);
    luck[i].heights = drawn(rows, i, 1, 1.0, kHeightSpread);
  }
  return luck;
}

Merits merits_by(TrialRides& rides, const Judge& judge, double (*merit)(const Verdict&)) {
  return [&rides, &judge, merit](std::span<const ForkSettings> settings) {
    std::vector<Trial> trials;
    for (const ForkSettings& one : settings) trials.push_back({one, nullptr});
    std::vector<double> merits;
    for (const Outcome& outcome : rides.ride(trials)) merits.push_back(merit(judge(outcome)));
    return merits;
  };
}

std::vector<Chance> chances(TrialRides& rides, const Judge& judge,
                            std::span<const ForkSettings> settings, std::span<const Luck> luck) {
  const std::vector<Outcome> outcomes = rides.ride(trials_of(settings, luck));
  std::vector<Chance> found;
  for (std::size_t i = 0; i < settings.size(); ++i) {
    found.push_back(chance_of(judge, std::span(outcomes).subspan(i * luck.size(), luck.size())));
  }
  return found;
}

std::vector<ForkSettings> front_of(std::span<const ForkSettings> settings,
                                   std::span<const Verdict> verdicts, std::size_t most) {
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < settings.size(); ++i) {
    if (verdicts[i].merit < kNoMerit) order.push_back(i);
  }
  // Least breach, then most margin, then comfort.
  const auto rank = [&](std::size_t i) {
    const Verdict& v = verdicts[i];
    return std::tuple(v.worst > 0.0 ? v.worst : -v.margin, v.comfort, i);
  };
  std::ranges::sort(order, {}, rank);
  std::vector<std::size_t> front;
  double comfort = kNoMerit;
  for (const std::size_t i : order) {
    const bool broken = verdicts[i].worst > 0.0;
    if (broken && !front.empty()) break;
    if (verdicts[i].comfort >= comfort) continue;
    comfort = verdicts[i].comfort;
    front.push_back(i);
  }
  // Both ends and evenly between them, by place on the front.
  std::vector<ForkSettings> chosen;
  const std::size_t count = std::min(most, front.size());
  for (std::size_t k = 0; k < count; ++k) {
    const std::size_t place = count > 1 ? k * (front.size() - 1) / (count - 1) : 0;
    const ForkSettings& one = settings[front[place]];
    const bool known =
        std::ranges::any_of(chosen, [&](const ForkSettings& s) { return near(s, one); });
    if (!known || k + 1 == count) chosen.push_back(one);
  }
  return chosen;
}

std::vector<Candidate> with_chances(TrialRides& rides, const Judge& judge,
                                    std::span<const ForkSettings> settings,
                                    std::span<const Luck> luck) {
  const std::vector<Chance> found = chances(rides, judge, settings, luck);
  std::vector<Candidate> candidates;
  for (std::size_t i = 0; i < settings.size(); ++i) {
    Candidate one;
    one.settings = settings[i];
    one.outcome = rides.ride(settings[i]);
    one.verdict = judge(one.outcome);
    one.chance = found[i];
    one.first = one.verdict.tightest;
    const auto most = std::ranges::max_element(one.chance.broken);
    if (most != one.chance.broken.end() && *most > 0.0) {
      one.first = static_cast<std::size_t>(most - one.chance.broken.begin());
    }
    if (one.outcome.failure.empty()) {
      one.sag = judge.value(one.outcome, 0, "sag_share");
      one.use = largest_use(judge, one.outcome);
    }
    candidates.push_back(std::move(one));
  }
  return candidates;
}

std::vector<Candidate> choose(std::vector<Candidate> candidates) {
  const auto rank = [](const Candidate& c) {
    return std::tuple(-std::round(c.chance.all / kSameChance), c.verdict.worst, c.verdict.comfort,
                      c.settings);
  };
  std::ranges::sort(candidates, {}, rank);
  std::vector<Candidate> front;
  double comfort = kNoMerit;
  for (Candidate& candidate : candidates) {
    if (candidate.verdict.comfort >= comfort) continue;
    comfort = candidate.verdict.comfort;
    front.push_back(std::move(candidate));
  }
  if (front.size() <= kMostChoices) return front;
  // The surest, the most comfortable, and the surest of the others.
  front[kMostChoices - 1] = std::move(front.back());
  front.resize(kMostChoices);
  return front;
}

void add_effects(TrialRides& rides, const Judge& judge, Candidate& candidate) {
  candidate.effects.clear();
  const std::array<std::pair<double, double>, 4> changes = {
      {{kPsiEffect, 0.0}, {-kPsiEffect, 0.0}, {0.0, kMassEffect}, {0.0, -kMassEffect}}};
  std::vector<Luck> luck(changes.size());
  for (std::size_t i = 0; i < changes.size(); ++i) {
    luck[i].gauge = changes[i].first;
    luck[i].mass = changes[i].second;
  }
  const std::vector<Outcome> outcomes =
      rides.ride(trials_of(std::span(&candidate.settings, 1), luck));
  for (std::size_t i = 0; i < changes.size(); ++i) {
    Effect effect{changes[i].first, changes[i].second, judge(outcomes[i]), kUnset, kUnset};
    if (outcomes[i].failure.empty()) {
      effect.sag = judge.value(outcomes[i], 0, "sag_share");
      effect.use = largest_use(judge, outcomes[i]);
    }
    candidate.effects.push_back(effect);
  }
}

}  // namespace plunge
