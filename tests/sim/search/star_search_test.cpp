// The search against full enumeration: random briefs, three forks of Kestrel Hollow.
//
// PLUNGE_BRIEFS=100 tries so many briefs a fork against a grid of 2 psi and every second click;
// left out, a few against a thinner grid; 1 is one brief for one fork, against few.
#include "sim/search/star_search.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <iostream>
#include <map>
#include <random>

#include "sim/numerics/random.hpp"
#include "sim/search/demands.hpp"
#include "sim/search/next_step.hpp"
#include "sim/search/trial_rides.hpp"
#include "tests/search_case.hpp"

namespace plunge::star_search_test {
namespace {

class Enumerated {
 public:
  Enumerated(const SearchCase& a_case, int psi, int clicks)
      : name(a_case.fork), rides_(scenes_of(a_case), names()) {
    reference_ = rides_.ride(settings_of(setup().fork));
    const Lattice grid = lattice_of(setup(), psi, clicks);
    std::vector<Trial> trials;
    for (const double n : grid.levels[0]) {
      for (const double p : grid.levels[1]) {
        for (const double c : grid.levels[2]) {
          for (const double r : grid.levels[3]) trials.push_back({{n, p, c, r}, nullptr});
        }
      }
    }
    constexpr std::size_t kAtOnce = 2048;
    for (std::size_t i = 0; i < trials.size(); i += kAtOnce) {
      const std::size_t count = std::min(kAtOnce, trials.size() - i);
      const auto some = rides_.ride(std::span(trials).subspan(i, count));
      outcomes_.insert(outcomes_.end(), some.begin(), some.end());
    }
  }

  const Setup& setup() const { return rides_.scenes().front(); }
  std::size_t size() const { return outcomes_.size(); }

  double least(const Judge& judge) const {
    double merit = kNoMerit;
    for (const Outcome& outcome : outcomes_) merit = std::min(merit, judge(outcome).merit);
    return merit;
  }

  // What the search makes of it, on the lattice of whole psi and clicks.
  StarSearch searched(const Judge& judge) {
    StarSearch search(lattice_of(setup()));
    const Demand& sag = judge.demands().front();
    const std::array<double, 2> band = {
        pressures_holding(setup(), std::min(kMostSearchedSag, sag.high + kBandMargin))[0],
        pressures_holding(setup(), std::max(kLeastSearchedSag, sag.low - kBandMargin))[1]};
    search.run(band, merits_by(rides_, judge, [](const Verdict& v) { return v.merit; }));
    search.refine(merits_by(rides_, judge, sure_merit));
    return search;
  }

  Verdict verdict(const Judge& judge, const ForkSettings& settings) {
    return judge(rides_.ride(settings));
  }

  bool can_be_met(const Judge& judge) const {
    return std::ranges::any_of(outcomes_, [&](const Outcome& o) { return judge(o).all_met(); });
  }

  // Demands as tuners make them, some of which hardly anything meets: bounds are drawn from windows
  // or from what the fork can do.
  Judge random_brief(std::mt19937_64& generator) const {
    const auto unit = [&] { return unit_from(generator()); };
    std::vector<Demand> demands;
    const auto add = [&](const char* key, double low, double high) {
      demands.push_back({find_demand(key), low, high});
    };
    const double sag = 0.14 + 0.11 * unit();
    add("sag", sag, sag + 0.03 + 0.05 * unit());
    const double use = 0.80 + 0.12 * unit();
    add("travel", use, use + 0.04 + 0.04 * unit());
    add("metal", 0.0, 0.0);
    for (const char* key : {"brake_dive", "corner_dive"}) {
      add(key, -HUGE_VAL, share_of(key, 0.3 + 0.6 * unit()));
    }
    for (const char* key : {"hand_load", "grip"}) {
      if (unit() < 0.3) add(key, -HUGE_VAL, share_of(key, 0.2 + 0.6 * unit()));
    }
    if (unit() < 0.3)
      add("return", share_of("return", 0.2), share_of("return", 0.4 + 0.5 * unit()));
    std::erase_if(demands, [](const Demand& demand) { return std::isnan(demand.high); });
    return Judge(demands, unit(), rides_.metrics(), reference_);
  }

  const std::string name;

 private:
  static std::vector<std::string> names() {
    std::vector<Demand> all;
    for (const DemandRow& row : demand_rows()) all.push_back({&row});
    return metrics_of_demands(all);
  }

  // The value that a demand has in such a share of the grid; NaN: it has none.
  double share_of(const char* key, double share) const {
    const Judge judge({{find_demand(key)}}, 0.5, rides_.metrics(), reference_);
    std::vector<double> values;
    for (const Outcome& outcome : outcomes_) {
      if (!outcome.failure.empty()) continue;
      const double value = judge(outcome).met.front().value;
      if (std::isfinite(value)) values.push_back(value);
    }
    if (values.empty()) return kUnset;
    std::ranges::sort(values);
    return values[static_cast<std::size_t>(share * static_cast<double>(values.size() - 1))];
  }

  TrialRides rides_;
  Outcome reference_;
  std::vector<Outcome> outcomes_;
};

int briefs_asked() {
  const char* const asked = std::getenv("PLUNGE_BRIEFS");
  return asked == nullptr ? 0 : std::atoi(asked);
}

// A bowl with its least, 0, anywhere in the band: found within 0.1, each point asked for once.
TEST(StarSearch, FindsTheLeastOfABowl) {
  Lattice lattice;
  const std::array<std::size_t, 4> sizes = {6, 100, 16, 19};
  for (std::size_t axis = 0; axis < 4; ++axis) {
    for (std::size_t i = 0; i < sizes[axis]; ++i) {
      lattice.levels[axis].push_back(static_cast<double>(i) * (axis == 1 ? kPsiStep : 1.0));
    }
  }
  std::mt19937_64 generator(7);
  for (int trial = 0; trial < 50; ++trial) {
    Point least;
    for (std::size_t axis = 0; axis < 4; ++axis) least[axis] = below(generator, sizes[axis]);
    least[1] = 30 + least[1] % 31;  // in the band
    const ForkSettings bottom = lattice.at(least);
    std::map<ForkSettings, int> asked;
    StarSearch search(lattice);
    search.run({30.0 * kPsiStep, 60.0 * kPsiStep}, [&](std::span<const ForkSettings> settings) {
      std::vector<double> merits;
      for (const ForkSettings& s : settings) {
        EXPECT_EQ(++asked[s], 1);
        merits.push_back(std::pow(s.spacers - bottom.spacers, 2) +
                         std::pow((s.pressure - bottom.pressure) / kPsiStep / 4.0, 2) +
                         std::pow((s.compression - bottom.compression) / 4.0, 2) +
                         std::pow((s.rebound - bottom.rebound) / 4.0, 2));
      }
      return merits;
    });
    const auto least_seen =
        std::ranges::min_element(search.seen(), {}, [](const auto& entry) { return entry.second; });
    EXPECT_LE(least_seen->second, 0.1) << "trial " << trial;
    EXPECT_EQ(search.best(), search.lattice().at(least_seen->first));
    EXPECT_LE(search.seen().size(), kMostSettings);
  }
}

TEST(StarSearch, KeepsToItsBudget) {
  Lattice lattice;
  lattice.levels = {{{0.0, 1.0}, {1e5, 2e5, 3e5}, {0.0, 1.0}, {0.0}}};
  StarSearch search(lattice, 5);
  search.run({1e5, 3e5}, [](std::span<const ForkSettings> settings) {
    return std::vector<double>(settings.size(), 1.0);
  });
  EXPECT_EQ(search.seen().size(), 5U);
}

TEST(StarSearch, FindsWhatFullEnumerationFinds) {
  const int asked = briefs_asked();
  const int briefs = asked > 0 ? asked : 4;
  const int psi = asked > 1 ? 2 : asked == 1 ? 12 : 10;
  const int clicks = asked > 1 ? 2 : asked == 1 ? 8 : 6;
  int met_by_any = 0;
  for (const SearchCase& a_case : search_cases()) {
    Enumerated fork(a_case, psi, clicks);
    std::mt19937_64 generator(20261126);
    int met = 0;
    double widest = -HUGE_VAL;
    std::size_t most = 0;
    for (int i = 0; i < briefs; ++i) {
      const Judge judge = fork.random_brief(generator);
      const double least = fork.least(judge);
      const StarSearch search = fork.searched(judge);
      double found = kNoMerit;
      for (const auto& entry : search.seen()) {
        found = std::min(found, fork.verdict(judge, search.lattice().at(entry.first)).merit);
      }
      EXPECT_LE(found, least + 0.1) << fork.name << ", brief " << i;
      EXPECT_LE(search.seen().size(), kMostSettings);
      widest = std::max(widest, found - least);
      most = std::max(most, search.seen().size());
      met += fork.can_be_met(judge) ? 1 : 0;
    }
    std::cout << fork.name << ": " << fork.size() << " set-ups enumerated, " << met << " of "
              << briefs << " briefs can be met; found at worst " << widest
              << " above the least merit, with at most " << most << " set-ups\n";
    met_by_any += met;
    if (asked == 1) break;
  }
  if (asked != 1) {
    EXPECT_GT(met_by_any, 0) << "every brief is hopeless";
  }
}

}  // namespace
}  // namespace plunge::star_search_test
