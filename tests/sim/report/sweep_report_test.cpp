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
  const SweepReport report = report_sweep(six(sweep, kRows), {});
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
  EXPECT_DOUBLE_EQ(report_sweep(six(sweep, rows), {}).metrics[0].median, 0.1225);
}

TEST(SweepReport, FailuresThatDifferInTheirNumbersAreOneKind) {
  const MadeUpSweep sweep;
  auto rows = kRows;
  rows[1] = {kUnset, kUnset};
  const SweepReport report = report_sweep(six(sweep, rows), {});
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
  const SweepReport report = report_sweep(merged, question);
  EXPECT_EQ(report.within, 3u);
  EXPECT_EQ(report.best, (std::vector<std::size_t>{1, 5, 3}));  // equal ones by their numbers
  question.best->largest = false;
  EXPECT_EQ(report_sweep(merged, question).best, (std::vector<std::size_t>{3, 1, 5}));
}

TEST(SweepReport, NoRideOfTheFrontIsBeatenByAnother) {
  const MadeUpSweep sweep;
  const MergedSweep merged = six(sweep, kRows);
  SweepQuestion question;
  question.front = parse_goals("--front", "travel_max:min,metal_contacts:min", merged.metrics());
  // (0.10, 3), (0.11, 1) and (0.14, 0); 0.12 with 1 contact loses to 0.11 with 1.
  EXPECT_EQ(report_sweep(merged, question).front, (std::vector<std::size_t>{0, 3, 2}));
  question.front->second.largest = true;  // most contacts: the first has least travel as well
  EXPECT_EQ(report_sweep(merged, question).front, (std::vector<std::size_t>{0}));
  question.front->first.largest = true;  // from the least of the first metric on
  EXPECT_EQ(report_sweep(merged, question).front, (std::vector<std::size_t>{0, 1, 2}));
  question.limits = {parse_limit("--limit", "metal_contacts<2", merged.metrics())};
  EXPECT_EQ(report_sweep(merged, question).front, (std::vector<std::size_t>{1, 2}));
}

TEST(SweepReport, WhatDiffersByRoundingIsEqual) {
  const MadeUpSweep sweep;
  auto rows = kRows;
  rows[1] = {0.11 - 1e-12, 1.0};  // less than ride 3 has, by nothing that counts
  rows[5] = {0.11, 1.0 - 1e-12};
  const MergedSweep merged = six(sweep, rows);
  SweepQuestion question;
  question.front = parse_goals("--front", "travel_max:min,metal_contacts:min", merged.metrics());
  EXPECT_EQ(report_sweep(merged, question).front, (std::vector<std::size_t>{0, 1, 2}));
}

TEST(SweepReport, ALimitReadsUnitsAndSigns) {
  const MadeUpSweep sweep;
  const MergedSweep merged = six(sweep, kRows);
  const auto limit = [&](const char* text) {
    return parse_limit("--limit", text, merged.metrics());
  };
  EXPECT_DOUBLE_EQ(limit("travel_max>=4 in").value, 0.1016);  // an inch is 25.4 mm
  EXPECT_TRUE(holds(limit("travel_max<=100 mm"), 0.1 + 1e-14));
  EXPECT_FALSE(holds(limit("travel_max<100 mm"), 0.1));
  EXPECT_TRUE(holds(limit("travel_max>100 mm"), 0.11));
  EXPECT_TRUE(holds(limit("metal_contacts=0"), 0.0));
  for (const Limit& any :
       {limit("metal_contacts=0"), limit("metal_contacts<=0"), limit("metal_contacts>0")}) {
    EXPECT_FALSE(holds(any, kUnset)) << any.text;
  }
  EXPECT_EQ(complaint([&] { limit("travel_max"); }),
            "--limit = travel_max: must be a metric, a sign and a value, such as "
            "\"travel_use<=95%\"");
  EXPECT_EQ(complaint([&] { limit("travel<=5 mm"); }),
            "--limit = travel<=5 mm: \"travel\" is not among the metrics that the sweep kept: "
            "travel_max, metal_contacts");
  EXPECT_NE(complaint([&] { limit("travel_max<=5 N"); }), "");
  EXPECT_NE(complaint([&] { limit("travel_max<=5"); }), "");
  EXPECT_EQ(complaint([&] { parse_goal("--best", "travel_max", merged.metrics()); }),
            "--best = travel_max: must be a metric and min or max, such as "
            "\"hand_force_max:min\"");
  // Fewer metal contacts are better, so that need not be said; it can be said otherwise.
  EXPECT_FALSE(parse_goal("--best", "metal_contacts", merged.metrics()).largest);
  EXPECT_TRUE(parse_goal("--best", "metal_contacts:max", merged.metrics()).largest);
  EXPECT_NE(complaint([&] { parse_goal("--best", "rim_strikes", merged.metrics()); }), "");
  EXPECT_NE(complaint([&] { parse_goals("--front", "travel_max:min", merged.metrics()); }), "");
}

TEST(SweepReport, AMapIsTheMeanOverAllElse) {
  const MadeUpSweep sweep;
  const MergedSweep merged = six(sweep, kRows);
  std::string metric;
  const SweepMap map = map_sweep(merged, "--map", "travel_max:fork.spacers,rider", metric);
  EXPECT_EQ(metric, "travel_max");
  ASSERT_EQ(map.values.size(), 6u);
  for (const std::size_t cell : {0u, 1u, 2u, 3u, 5u})
    EXPECT_EQ(map.values[cell], kRows[cell].first);
  EXPECT_TRUE(std::isnan(map.values[4]));
  const SweepMap other = map_sweep(merged, "--map", "travel_max:scene,rider", metric);
  ASSERT_EQ(other.values.size(), 2u);
  EXPECT_DOUBLE_EQ(other.values[0], 0.12);   // of 0.10, 0.12, 0.14
  EXPECT_DOUBLE_EQ(other.values[1], 0.115);  // of 0.11 and 0.12: the failed one is left out
  EXPECT_EQ(complaint([&] { map_sweep(merged, "--map", "travel_max:rider,fork", metric); }),
            "--map = travel_max:rider,fork: \"fork\" is not among the axes of the grid: scene, "
            "rider, fork.spacers");
}

}  // namespace
}  // namespace plunge::sweep_report_test
