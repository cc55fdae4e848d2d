#include "sim/report/sweep_report.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "models/setup/fault.hpp"
#include "tests/made_up_sweep.hpp"
#include "tests/scratch.hpp"

namespace plunge::sweep_report_test {
namespace {

// Travel and contacts of the six rides: 2 riders by 3 spacer counts.
MergedSweep six(const MadeUpSweep& sweep, const std::vector<std::pair<double, double>>& rows) {
  sweep.write_all([&](std::size_t ride) {
    RideRow row;
    row.origin = std::isnan(rows[ride].first) ? Origin::failed : Origin::lanes;
    row.metrics = {rows[ride].first, rows[ride].second};
    if (row.origin == Origin::failed) {
      row.failure = fmt::format("at {}.5 s: the made-up fork broke", ride);
    }
    return row;
  });
  sweep.merge("all.h5");
  return MergedSweep(sweep.file("all.h5"));
}

const std::vector<std::pair<double, double>> kRows = {{0.10, 3.0}, {0.12, 1.0},      {0.14, 0.0},
                                                      {0.11, 1.0}, {kUnset, kUnset}, {0.12, 1.0}};

TEST(SweepReport, FindsExtremesAndWhereTheyAre) {
  const MadeUpSweep sweep;
  const SweepReport report = report_sweep(SweepSelection(six(sweep, kRows)), {});
  EXPECT_EQ(report.rides, 6u);
  EXPECT_EQ(report.failed, 1u);
  ASSERT_EQ(report.reasons.size(), 1u);
  EXPECT_EQ(report.reasons[0].text, "at 4.5 s: the made-up fork broke");
  EXPECT_EQ(report.reasons[0].ride, 4u);
  const Spread& travel = report.metrics[0];
  EXPECT_EQ(travel.metric.name, "travel_max");
  EXPECT_EQ(travel.rides, 5u);
  EXPECT_EQ(travel.least, 0.10);
  EXPECT_EQ(travel.least_at, 0u);
  EXPECT_EQ(travel.median, 0.12);  // of 0.10 0.11 0.12 0.12 0.14
  EXPECT_EQ(travel.most, 0.14);
  EXPECT_EQ(travel.most_at, 2u);
  ASSERT_EQ(travel.sensitivity.inputs.size(), 2u);
  EXPECT_EQ(travel.sensitivity.inputs[0].name, "rider");
  EXPECT_EQ(travel.sensitivity.not_numbers, 1u);
}

TEST(SweepReport, TheMedianOfAnEvenCountIsBetweenTheMiddleTwo) {
  const MadeUpSweep sweep;
  auto rows = kRows;
  rows[4] = {0.13, 0.0};
  rows[1].first = 0.125;
  // 0.10 0.11 0.12 0.125 0.13 0.14
  EXPECT_DOUBLE_EQ(report_sweep(SweepSelection(six(sweep, rows)), {}).metrics[0].median, 0.1225);
}

TEST(SweepReport, FailuresThatDifferInTheirNumbersAreOneKind) {
  const MadeUpSweep sweep;
  auto rows = kRows;
  rows[1] = {kUnset, kUnset};
  const SweepReport report = report_sweep(SweepSelection(six(sweep, rows)), {});
  EXPECT_EQ(report.failed, 2u);
  ASSERT_EQ(report.reasons.size(), 1u);
  EXPECT_EQ(report.reasons[0].rides, 2u);
  EXPECT_EQ(report.reasons[0].text, "at 1.5 s: the made-up fork broke");
}

TEST(SweepReport, TheBestAreWithinTheLimitsAndInOrder) {
  const MadeUpSweep sweep;
  const MergedSweep merged = six(sweep, kRows);
  SweepQuestion question;
  question.limits = {parse_limit("--limit", "travel_max<=120 mm", merged.metrics()),
                     parse_limit("--limit", "metal_contacts = 1", merged.metrics())};
  question.best = parse_goal("--best", "travel_max:max", merged.metrics());
  const SweepReport report = report_sweep(SweepSelection(merged), question);
  EXPECT_EQ(report.within, 3u);
  EXPECT_EQ(report.best, (std::vector<std::size_t>{1, 5, 3}));  // equal ones by their numbers
  question.best->largest = false;
  EXPECT_EQ(report_sweep(SweepSelection(merged), question).best,
            (std::vector<std::size_t>{3, 1, 5}));
}

TEST(SweepReport, NoRideOfTheFrontIsBeatenByAnother) {
  const MadeUpSweep sweep;
  const MergedSweep merged = six(sweep, kRows);
  SweepQuestion question;
  question.front = parse_goals("--front", "travel_max:min,metal_contacts:min", merged.metrics());
  // (0.10, 3), (0.11, 1) and (0.14, 0); 0.12 with 1 contact loses to 0.11 with 1.
  EXPECT_EQ(report_sweep(SweepSelection(merged), question).front,
            (std::vector<std::size_t>{0, 3, 2}));
  question.front->second.largest = true;  // most contacts: the first has least travel as well
  EXPECT_EQ(report_sweep(SweepSelection(merged), question).front, (std::vector<std::size_t>{0}));
  question.front->first.largest = true;  // from the least of the first metric on
  EXPECT_EQ(report_sweep(SweepSelection(merged), question).front,
            (std::vector<std::size_t>{0, 1, 2}));
  question.limits = {parse_limit("--limit", "metal_contacts<2", merged.metrics())};
  EXPECT_EQ(report_sweep(SweepSelection(merged), question).front, (std::vector<std::size_t>{1, 2}));
}

TEST(SweepReport, WhatDiffersByRoundingIsEqual) {
  const MadeUpSweep sweep;
  auto rows = kRows;
  rows[1] = {0.11 - 1e-12, 1.0};  // less than ride 3 has, by nothing that counts
  rows[5] = {0.11, 1.0 - 1e-12};
  const MergedSweep merged = six(sweep, rows);
  SweepQuestion question;
  question.front = parse_goals("--front", "travel_max:min,metal_contacts:min", merged.metrics());
  EXPECT_EQ(report_sweep(SweepSelection(merged), question).front,
            (std::vector<std::size_t>{0, 1, 2}));
}

// Ride 3 r + s with 2 riders and 3 spacer counts. By single rides spacers 1 would win with 0.05, a
// lucky ride; its other ride is the worst of all.
TEST(SweepReport, ALuckyRideDoesNotWin) {
  const std::vector<std::pair<double, double>> rows = {{0.10, 0.0}, {0.05, 0.0}, {0.12, 0.0},
                                                       {0.11, 0.0}, {0.15, 0.0}, {0.12, 0.0}};
  SweepQuestion question;
  question.best = Goal{"travel_max", false};
  question.front = std::pair{Goal{"travel_max", false}, Goal{"metal_contacts", false}};
  const MadeUpSweep unmarked;
  const MergedSweep singles = six(unmarked, rows);
  const SweepReport by_ride = report_sweep(SweepSelection(singles), question);
  EXPECT_EQ(by_ride.best.front(), 1u);
  EXPECT_EQ(by_ride.front, (std::vector<std::size_t>{1}));
  EXPECT_TRUE(by_ride.choices.empty());

  const MadeUpSweep marked("", "", spacers_are_chosen());
  const MergedSweep merged = six(marked, rows);
  const SweepReport by_choice = report_sweep(SweepSelection(merged), question);
  ASSERT_EQ(by_choice.choices.size(), 3u);
  EXPECT_EQ(by_choice.best, (std::vector<std::size_t>{0, 2, 1}));  // 0.109, 0.12, 0.14
  EXPECT_EQ(by_choice.front, (std::vector<std::size_t>{0}));
  EXPECT_EQ(by_choice.choices[1].ride, 1u);
  EXPECT_DOUBLE_EQ(by_choice.choices[1].tails[0].bad, 0.14);
  EXPECT_DOUBLE_EQ(by_choice.choices[1].tails[0].median, 0.10);
}

// More is wanted: what counts is what nine rides in ten reach.
TEST(SweepReport, AChoiceThatMostlyReachesMoreWins) {
  const MadeUpSweep marked("", "", spacers_are_chosen());
  const MergedSweep merged =
      six(marked, {{0.10, 0.0}, {0.15, 0.0}, {0.12, 0.0}, {0.10, 0.0}, {0.05, 0.0}, {0.13, 0.0}});
  SweepQuestion question;
  question.best = Goal{"travel_max", true};
  const SweepReport report = report_sweep(SweepSelection(merged), question);
  EXPECT_EQ(report.best, (std::vector<std::size_t>{2, 0, 1}));  // 0.121, 0.10, 0.06
  EXPECT_DOUBLE_EQ(report.choices[2].tails[0].bad, 0.121);
}

TEST(SweepReport, AChoiceKeepsTheLimitsInAShareOfItsRides) {
  const MadeUpSweep marked("", "", spacers_are_chosen());
  const MergedSweep merged =
      six(marked, {{0.10, 0.0}, {0.11, 1.0}, {0.13, 0.0}, {0.11, 0.0}, {0.11, 0.0}, {0.13, 0.0}});
  SweepQuestion question;
  question.limits = {parse_limit("--limit", "metal_contacts=0", merged.metrics())};
  question.best = Goal{"travel_max", false};
  const SweepReport report = report_sweep(SweepSelection(merged), question);
  EXPECT_EQ(report.choices[0].within_share, 1.0);
  EXPECT_EQ(report.choices[1].within_share, 0.5);
  EXPECT_EQ(report.choices[1].metal_share, 0.5);
  EXPECT_EQ(report.within, 2u);
  EXPECT_EQ(report.best, (std::vector<std::size_t>{0, 2}));
  question.share = 0.5;
  EXPECT_EQ(report_sweep(SweepSelection(merged), question).within, 3u);
}

TEST(SweepReport, OnlyTheMetricsThatAreAskedForAreShown) {
  const MadeUpSweep sweep;
  const MergedSweep merged = six(sweep, kRows);
  SweepQuestion question;
  question.metrics = {"metal_contacts"};
  EXPECT_EQ(report_sweep(SweepSelection(merged), question).metrics.size(), 1u);
  question.best = Goal{"travel_max", false};  // what is judged by is shown
  EXPECT_EQ(report_sweep(SweepSelection(merged), question).metrics.size(), 2u);
}

// Of 0.11, failed and 0.12, the second rider's; rides keep their numbers.
TEST(SweepReport, ASelectionIsReportedAlone) {
  const MadeUpSweep sweep;
  const MergedSweep merged = six(sweep, kRows);
  SweepQuestion question;
  question.best = Goal{"travel_max", true};
  const SweepReport report =
      report_sweep(SweepSelection(merged, "--where", {"rider=wren"}), question);
  EXPECT_EQ(report.rides, 3u);
  EXPECT_EQ(report.failed, 1u);
  EXPECT_EQ(report.reasons[0].ride, 4u);
  EXPECT_EQ(report.metrics[0].least_at, 3u);
  EXPECT_EQ(report.metrics[0].most_at, 5u);
  EXPECT_DOUBLE_EQ(report.metrics[0].median, 0.115);
  EXPECT_EQ(report.best, (std::vector<std::size_t>{5, 3}));
  ASSERT_EQ(report.metrics[0].sensitivity.inputs.size(), 1u);  // one rider is no input
}

TEST(SweepReport, AStopEndsIt) {
  const MadeUpSweep sweep;
  const MergedSweep merged = six(sweep, kRows);
  EXPECT_TRUE(report_sweep(SweepSelection(merged), {}, [] { return true; }).stopped);
  EXPECT_FALSE(report_sweep(SweepSelection(merged), {}, [] { return false; }).stopped);
}

TEST(SweepReport, AMapIsTheMeanOverAllElse) {
  const MadeUpSweep sweep;
  const MergedSweep merged = six(sweep, kRows);
  std::string metric;
  const SweepMap map =
      map_sweep(SweepSelection(merged), "--map", "travel_max:fork.spacers,rider", metric);
  EXPECT_EQ(metric, "travel_max");
  ASSERT_EQ(map.values.size(), 6u);
  for (const std::size_t cell : {0u, 1u, 2u, 3u, 5u})
    EXPECT_EQ(map.values[cell], kRows[cell].first);
  EXPECT_TRUE(std::isnan(map.values[4]));
  const SweepMap other =
      map_sweep(SweepSelection(merged), "--map", "travel_max:scene,rider", metric);
  ASSERT_EQ(other.values.size(), 2u);
  const SweepMap cut = map_sweep(SweepSelection(merged, "--where", {"fork.spacers=1..2"}), "--map",
                                 "travel_max:fork.spacers,rider", metric);
  ASSERT_EQ(cut.values.size(), 4u);
  EXPECT_EQ(cut.values[0], kRows[1].first);
  EXPECT_EQ(cut.values[3], kRows[5].first);
  EXPECT_DOUBLE_EQ(other.values[0], 0.12);   // of 0.10, 0.12, 0.14
  EXPECT_DOUBLE_EQ(other.values[1], 0.115);  // of 0.11 and 0.12: the failed one is left out
  EXPECT_EQ(complaint([&] {
              map_sweep(SweepSelection(merged), "--map", "travel_max:rider,bike", metric);
            }),
            "--map = travel_max:rider,bike: \"bike\" is not among the axes of the grid: scene, "
            "rider, fork.spacers");
}

}  // namespace
}  // namespace plunge::sweep_report_test
