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

// What two rides of one set-up differ by.
double luck_in(std::span<const double> lines) {
  std::vector<double> known;
  std::ranges::copy_if(lines, std::back_inserter(known),
                       [](double value) { return std::isfinite(value); });
  return known.empty() ? kUnset : std::sqrt(2.0) * rms_about_mean(known);
}

// Over the lines in which both have a value; an effect of NaN: in none.
Change change_between(const ComplaintRow& row, std::span<const double> before,
                      std::span<const double> after) {
  std::vector<double> differences;
  double lessened = 0.0;
  for (std::size_t i = 0; i < after.size(); ++i) {
    const double difference = after[i] - before[i];
    if (!std::isfinite(difference)) continue;
    differences.push_back(difference);
    if (row.too_much ? difference < 0.0 : difference > 0.0) lessened += 1.0;
  }
  Change change;
  if (differences.empty()) return change;
  change.effect = mean(differences);
  change.lessens = lessened / static_cast<double>(differences.size());
  return change;
}

// The share of lines in which the metric is past the limit; unset where none is known.
double share_that_shows(const ComplaintAnswer& answer, std::span<const double> lines) {
  if (std::isnan(answer.limit)) return kUnset;
  const double sign = answer.row->too_much ? 1.0 : -1.0;
  double shown = 0.0;
  double all = 0.0;
  for (const double value : lines) {
    if (!std::isfinite(value)) continue;
    all += 1.0;
    if (sign * value > sign * answer.limit) shown += 1.0;
  }
  return all > 0.0 ? shown / all : kUnset;
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
                                               std::span<const ForkSettings> tried,
                                               std::span<const KnobDraw> fork) {
  std::vector<ComplaintAnswer> answers;
  const Outcome now = rides.ride(today);
  if (complaints.empty() || !now.failure.empty()) return answers;
  std::vector<ForkSettings> settings = single_changes(lattice, today);
  settings.insert(settings.begin(), today);
  const std::vector<Luck> luck = luck_of_lines(kLines);
  const std::vector<Luck> pairs = luck_of_lines(kLines, fork);
  std::vector<Trial> trials;
  for (const ForkSettings& one : settings) {
    trials.push_back({one, nullptr});
    for (const Luck& line : pairs) trials.push_back({one, &line});
  }
  // Of today's set-up the same lines with the fork as it stands.
  for (const Luck& line : luck) trials.push_back({today, &line});
  const std::vector<Outcome> outcomes = rides.ride(trials);
  const std::size_t each = kLines + 1;
  const auto lines_of = [&](std::size_t i) {
    return std::span(outcomes).subspan(i * each + 1, kLines);
  };
  const auto as_it_stands = std::span(outcomes).last(kLines);
  for (const ComplaintRow* row : complaints) {
    ComplaintAnswer answer = seen_today(rides, judge, now, *row, tried);
    if (answer.applies) {
      const double sign = row->too_much ? 1.0 : -1.0;
      answer.luck = luck_in(values_over(judge, as_it_stands, answer.scene, row->metric));
      const auto before = values_over(judge, lines_of(0), answer.scene, row->metric);
      if (!fork.empty()) answer.shown_in = share_that_shows(answer, before);
      for (std::size_t i = 1; i < settings.size(); ++i) {
        const auto after = values_over(judge, lines_of(i), answer.scene, row->metric);
        Change change = change_between(*row, before, after);
        if (!(sign * change.effect < 0.0)) continue;
        change.settings = settings[i];
        change.advised = std::abs(change.effect) > answer.luck && change.lessens >= kSureForks;
        change.breaks = newly_broken(judge(now), judge(outcomes[i * each]));
        answer.changes.push_back(std::move(change));
      }
      std::ranges::sort(answer.changes, {}, [&](const Change& c) { return sign * c.effect; });
    }
    answers.push_back(std::move(answer));
  }
  return answers;
}

}  // namespace plunge
