#include "sim/search/suggestion.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>

#include "models/setup/statics.hpp"
#include "sim/numerics/statistics.hpp"

namespace plunge {
namespace {

constexpr double kLessThanBest = 0.05;  // chance that a step may lack of the best there is

constexpr std::size_t kBeside = 2;  // psi or clicks beside the surest

double plain_merit(const Verdict& verdict) { return verdict.merit; }

class Suggester {
 public:
  Suggester(const Brief& brief, const SearchWatch& watch, std::span<const KnobDraw> fork)
      : brief_(brief),
        watch_(bounded(watch, brief, !fork.empty())),
        rides_(brief.scenes, metrics_of(brief), watch_),
        judge_(brief.demands, brief.hands, rides_.metrics(), ridden_today()),
        lattice_(lattice_of(brief.scenes.front())),
        band_(pressures_searched(brief)),
        fork_(fork),
        luck_(luck_of_days(kDraws, fork)) {}

  Suggestion suggest() {
    Suggestion found;
    found.metrics = rides_.metrics();
    search();
    for (const ForkSettings& one : tried_) verdicts_.push_back(judge_(rides_.ride(one)));
    found.settings = tried_.size();
    found.today = with_chances(rides_, judge_, std::array{brief_.today}, luck_).front();
    add_effects(rides_, judge_, found.today);
    found.can_be_met = std::ranges::any_of(verdicts_, &Verdict::all_met);
    if (!found.can_be_met) found.gives = gives();
    auto candidates = with_chances(rides_, judge_, candidates_for(found), luck_);
    add_around_surest(candidates);
    double reachable = found.today.chance.all;
    for (const Candidate& one : candidates) reachable = std::max(reachable, one.chance.all);
    const double asked = std::min(brief_.chance, std::max(0.01, reachable - kLessThanBest));
    found.next = next_step(rides_, judge_, lattice_, band_, found.today, candidates, asked, luck_);
    if (found.next.effort > 0) candidates.push_back(found.next.candidate);
    found.choices = choose(std::move(candidates));
    for (Candidate* one : all_of(found)) {
      if (one->effects.empty()) add_effects(rides_, judge_, *one);
      add_air(*one);
    }
    if (!fork_.empty()) {
      found.forks = kDraws;
      found.known = best_if_known(found);
    }
    found.look = look_at(found.next.candidate);
    found.complaints =
        answer_complaints(rides_, judge_, lattice_, brief_.today, brief_.complaints, tried_, fork_);
    found.rides = rides_.ridden();
    return found;
  }

 private:
  // With the rides that all of it takes at most.
  static SearchWatch bounded(SearchWatch watch, const Brief& brief, bool drawn) {
    const std::size_t demands = brief.demands.size();
    const std::size_t around = 8;
    const std::size_t with_chance = 1 + kMostCandidates + demands + around + kStepKinds;
    const std::size_t shown = kMostChoices + 2;
    const std::size_t effects = 4;
    const std::size_t searched = 1 + kMostSettings + around + kStepKinds * kStepBudget;
    const std::size_t known = drawn ? shown * kDraws : 0;
    const std::size_t changes = brief.complaints.empty() ? 0 : (2 * 4 + 1) * (kLines + 1) + kLines;
    watch.most = brief.scenes.size() *
                     (searched + with_chance * kDraws + shown * effects + known + changes + 1) +
                 kDraws;
    return watch;
  }

  static std::vector<std::string> metrics_of(const Brief& brief) {
    std::vector<std::string> names = metrics_of_demands(brief.demands);
    const auto add = [&](std::string_view name) {
      if (std::ranges::find(names, name) == names.end()) names.emplace_back(name);
    };
    add("sag_share");
    for (const ComplaintRow* row : brief.complaints) add(row->metric);
    return names;
  }

  // Pressures in which the coarse grid lies: those of the sag that is demanded.
  static std::array<double, 2> pressures_searched(const Brief& brief) {
    double low = kLeastSearchedSag;
    double high = kMostSearchedSag;
    for (const Demand& demand : brief.demands) {
      if (demand.row->metric != "sag_share") continue;
      low = std::max(low, demand.low - kBandMargin);
      high = std::min(high, demand.high + kBandMargin);
    }
    const Setup& setup = brief.scenes.front();
    return {pressures_holding(setup, std::max(low, high))[0], pressures_holding(setup, low)[1]};
  }

  const Outcome& ridden_today() {
    reference_ = rides_.ride(brief_.today);
    if (!reference_.failure.empty()) {
      throw RunError("today's set-up cannot be ridden: " + reference_.failure);
    }
    return reference_;
  }

  void search() {
    StarSearch search(lattice_, kMostSettings);
    search.run(band_, merits_by(rides_, judge_, plain_merit));
    search.refine(merits_by(rides_, judge_, sure_merit));
    for (const auto& entry : search.seen()) tried_.push_back(lattice_.at(entry.first));
  }

  std::vector<ForkSettings> candidates_for(const Suggestion& found) {
    std::vector<ForkSettings> settings = front_of(tried_, verdicts_, kMostCandidates);
    for (const Give& give : found.gives) settings.push_back(give.settings);
    std::ranges::sort(settings);
    settings.erase(std::unique(settings.begin(), settings.end()), settings.end());
    return settings;
  }

  // Margins are in tolerances, chances are not: what lies beside the surest may be surer.
  void add_around_surest(std::vector<Candidate>& candidates) {
    const auto chance = [](const Candidate& candidate) { return candidate.chance.all; };
    const auto surest = std::ranges::max_element(candidates, {}, chance);
    if (surest == candidates.end() || surest->chance.all == 0.0) return;
    std::vector<ForkSettings> beside;
    const Point centre = lattice_.nearest(surest->settings);
    for (std::size_t axis = 0; axis < 4; ++axis) {
      const std::size_t stride = axis == 0 ? 1 : kBeside;
      Point less = centre;
      less[axis] -= std::min(less[axis], stride);
      Point more = centre;
      more[axis] = std::min(lattice_.size(axis) - 1, more[axis] + stride);
      for (const Point& point : {less, more}) {
        const ForkSettings one = lattice_.at(point);
        if (std::ranges::find(candidates, one, &Candidate::settings) == candidates.end()) {
          beside.push_back(one);
        }
      }
    }
    std::vector<Candidate> found = with_chances(rides_, judge_, beside, luck_);
    std::ranges::move(found, std::back_inserter(candidates));
  }

  static std::vector<Candidate*> all_of(Suggestion& found) {
    std::vector<Candidate*> all = {&found.today, &found.next.candidate};
    for (Candidate& choice : found.choices) all.push_back(&choice);
    return all;
  }

  // The pressures that hold the set-up's sag, in the forks that may be.
  void add_air(Candidate& candidate) const {
    std::vector<double> pressures;
    for (const Luck& draw : luck_) {
      if (draw.fork.empty() || std::isnan(candidate.sag)) continue;
      Luck fork_alone;
      fork_alone.fork = draw.fork;
      Setup setup = setup_of(brief_.scenes.front(), {candidate.settings, &fork_alone});
      try {
        hold_sag(setup, candidate.sag);
        pressures.push_back(setup.fork.pressure);
      } catch (const InputError&) {
        pressures.push_back(setup.fork.pressure_limit);
      }
    }
    candidate.air = band_of(pressures);
  }

  double best_if_known(Suggestion& found) {
    std::vector<ForkSettings> settings;
    for (const Candidate* one : all_of(found)) settings.push_back(one->settings);
    std::ranges::sort(settings);
    settings.erase(std::unique(settings.begin(), settings.end()), settings.end());
    double best = 0.0;
    for (const Chance& one : chances(rides_, judge_, settings, luck_of_days(kDraws))) {
      best = std::max(best, one.all);
    }
    return best;
  }

  // For rides that are counted anew, after all others.
  SearchWatch without_progress() const {
    SearchWatch watch = watch_;
    watch.on_progress = nullptr;
    return watch;
  }

  Look look_at(const Candidate& candidate) {
    Look look;
    if (!candidate.outcome.failure.empty()) return look;
    for (std::size_t i = 0; i < candidate.outcome.scenes.size(); ++i) {
      if (judge_.value(candidate.outcome, i, "travel_use") == candidate.use) look.scene = i;
    }
    TrialRides hardest({brief_.scenes[look.scene]}, {"travel_max"}, without_progress());
    std::vector<Trial> trials;
    for (const Luck& draw : luck_) trials.push_back({candidate.settings, &draw});
    std::vector<double> rings;
    for (const Outcome& outcome : hardest.ride(trials)) {
      if (outcome.failure.empty()) rings.push_back(outcome.scenes.front().front());
    }
    if (!rings.empty()) {
      look.ring = percentile(rings, 50.0);
      look.ring_low = percentile(rings, 5.0);
      look.ring_high = percentile(rings, 95.0);
    }
    look_at_return(candidate, look);
    return look;
  }

  // Brakes hold a fork down after its deepest travel.
  void look_at_return(const Candidate& candidate, Look& look) {
    std::vector<Setup> free;
    std::vector<std::size_t> whose;
    for (std::size_t i = 0; i < brief_.scenes.size(); ++i) {
      const auto brakes = [](const RideEvent& event) { return event.kind == EventKind::brake; };
      if (std::ranges::any_of(brief_.scenes[i].events, brakes)) continue;
      free.push_back(brief_.scenes[i]);
      whose.push_back(i);
    }
    if (free.empty()) return;
    TrialRides rides(std::move(free), {"travel_max", "return_time", "return_overshoot"},
                     without_progress());
    const Outcome seen = rides.ride(candidate.settings);
    double deepest = -HUGE_VAL;
    for (std::size_t i = 0; i < whose.size(); ++i) {
      const std::vector<double>& scene = seen.scenes[i];
      if (!std::isfinite(scene[1]) || !(scene[0] > deepest)) continue;
      deepest = scene[0];
      look.return_scene = whose[i];
      look.return_time = scene[1];
      look.overshoot = scene[2];
    }
  }

  std::vector<Give> gives() const {
    std::vector<Give> gives;
    for (std::size_t d = 0; d < brief_.demands.size(); ++d) {
      double nearest = -HUGE_VAL;
      Give give{d, kUnset, {}};
      for (std::size_t i = 0; i < tried_.size(); ++i) {
        const Verdict& verdict = verdicts_[i];
        if (!(verdict.merit < kNoMerit)) continue;
        bool others = true;
        for (std::size_t k = 0; k < verdict.met.size(); ++k) {
          others = others && (k == d || !(verdict.met[k].margin < 0.0));
        }
        if (!others || !(verdict.met[d].margin > nearest)) continue;
        nearest = verdict.met[d].margin;
        give.value = verdict.met[d].value;
        give.settings = tried_[i];
      }
      if (std::isfinite(nearest)) gives.push_back(give);
    }
    return gives;
  }

  const Brief& brief_;
  SearchWatch watch_;
  TrialRides rides_;
  Outcome reference_;
  Judge judge_;
  Lattice lattice_;
  std::array<double, 2> band_;
  std::span<const KnobDraw> fork_;
  std::vector<Luck> luck_;
  std::vector<ForkSettings> tried_;
  std::vector<Verdict> verdicts_;
};

}  // namespace

Suggestion suggest(const Brief& brief, const SearchWatch& watch, std::span<const KnobDraw> fork) {
  return Suggester(brief, watch, fork).suggest();
}

}  // namespace plunge
