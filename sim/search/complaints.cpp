#include "sim/search/complaints.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "models/setup/parameters.hpp"
#include "sim/numerics/statistics.hpp"

namespace plunge {
namespace {

// The value in every line, NaN where it does not apply or the ride failed.
std::vector<double> values_over(const Judge& judge, std::span<const Outcome> lines,
                                std::size_t scene, std::string_view metric) {
  std::vector<double> values;
  for (const Outcome& outcome : lines) {
    values.push_back(outcome.failure.empty() ? judge.value(outcome, scene, metric) : kUnset);
  }
  return values;
}

// Over the lines in which both have one; NaN: in none.
double mean_difference(std::span<const double> a, std::span<const double> b) {
  std::vector<double> differences;
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (std::isfinite(a[i] - b[i])) differences.push_back(a[i] - b[i]);
  }
  return differences.empty() ? kUnset : mean(differences);
}

std::vector<std::size_t> newly_broken(const Verdict& before, const Verdict& after) {
  std::vector<std::size_t> broken;
  for (std::size_t i = 0; i < after.met.size(); ++i) {
    if (after.met[i].margin < 0.0 && !(before.met[i].margin < 0.0)) broken.push_back(i);
  }
  return broken;
}

// Which scene counts, what today's set-up has there, and whether that is what is felt.
ComplaintAnswer seen_today(TrialRides& rides, const Judge& judge, const Outcome& today,
                           const ComplaintRow& row, std::span<const ForkSettings> tried) {
  ComplaintAnswer answer;
  answer.row = &row;
  for (std::size_t scene = 0; scene < today.scenes.size(); ++scene) {
    const double value = judge.value(today, scene, row.metric);
    if (std::isnan(value) || answer.value >= value) continue;
    answer.applies = true;
    answer.value = value;
    answer.scene = scene;
  }
  if (!answer.applies) return answer;
  const double sign = row.too_much ? 1.0 : -1.0;
  answer.limit = row.shown * (row.of_travel ? rides.scenes().front().fork.travel : 1.0);
  double better = 0.0;
  double all = 0.0;
  for (const ForkSettings& settings : tried) {
    const Outcome outcome = rides.ride(settings);
    if (!outcome.failure.empty()) continue;
    const double value = judge.value(outcome, answer.scene, row.metric);
    if (std::isnan(value)) continue;
    all += 1.0;
    if (sign * value < sign * answer.value) better += 1.0;
  }
  answer.better = all > 0.0 ? better / all : kUnset;
  answer.shown =
      std::isnan(answer.limit) ? answer.better > 0.5 : sign * answer.value > sign * answer.limit;
  return answer;
}

}  // namespace

std::vector<ForkSettings> single_changes(const Lattice& lattice, const ForkSettings& today) {
  std::vector<ForkSettings> changes;
  const auto add = [&](double ForkSettings::*number, std::size_t axis, double by) {
    ForkSettings changed = today;
    changed.*number += by;
    const auto& levels = lattice.levels[axis];
    if (levels.size() > 1 && in_range(changed.*number, levels.front(), levels.back())) {
      changes.push_back(changed);
    }
  };
  for (const double way : {-1.0, 1.0}) {
    add(&ForkSettings::spacers, 0, way);
    add(&ForkSettings::pressure, 1, way * kChangeOfAir);
    add(&ForkSettings::compression, 2, way * kChangeOfClicks);
    add(&ForkSettings::rebound, 3, way * kChangeOfClicks);
  }
  return changes;
}

std::vector<ComplaintAnswer> answer_complaints(TrialRides& rides, const Judge& judge,
                                               const Lattice& lattice, const ForkSettings& today,
                                               std::span<const ComplaintRow* const> complaints,
                                               std::span<const ForkSettings> tried) {
  std::vector<ComplaintAnswer> answers;
  const Outcome now = rides.ride(today);
  if (complaints.empty() || !now.failure.empty()) return answers;
  std::vector<ForkSettings> settings = single_changes(lattice, today);
  settings.insert(settings.begin(), today);
  const std::vector<Luck> luck = luck_of_lines(kLines);
  std::vector<Trial> trials;
  for (const ForkSettings& one : settings) {
    trials.push_back({one, nullptr});
    for (const Luck& line : luck) trials.push_back({one, &line});
  }
  const std::vector<Outcome> outcomes = rides.ride(trials);
  const std::size_t each = kLines + 1;
  const auto lines_of = [&](std::size_t i) {
    return std::span(outcomes).subspan(i * each + 1, kLines);
  };
  for (const ComplaintRow* row : complaints) {
    ComplaintAnswer answer = seen_today(rides, judge, now, *row, tried);
    if (answer.applies) {
      const auto before = values_over(judge, lines_of(0), answer.scene, row->metric);
      std::vector<double> known;
      std::ranges::copy_if(before, std::back_inserter(known),
                           [](double value) { return std::isfinite(value); });
      answer.luck = known.empty() ? kUnset : std::sqrt(2.0) * rms_about_mean(known);
      const double sign = row->too_much ? 1.0 : -1.0;
      for (std::size_t i = 1; i < settings.size(); ++i) {
        const auto after = values_over(judge, lines_of(i), answer.scene, row->metric);
        const double effect = mean_difference(after, before);
        if (!(sign * effect < 0.0)) continue;
        answer.changes.push_back({settings[i], effect, std::abs(effect) > answer.luck,
                                  newly_broken(judge(now), judge(outcomes[i * each]))});
      }
      std::ranges::sort(answer.changes, {}, [&](const Change& c) { return sign * c.effect; });
    }
    answers.push_back(std::move(answer));
  }
  return answers;
}

}  // namespace plunge
