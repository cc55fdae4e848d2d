// Verdicts on made-up numbers, worked out by hand from the header's definitions.
#include "sim/search/demands.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <stdexcept>

#include "sim/measure/metrics.hpp"

namespace plunge {
namespace {

const std::vector<std::string> kNames = {"travel_use", "hand_force_rms",    "tyre_load_variation",
                                         "sag_share",  "brake_dive_steady", "return_time"};

Outcome two_scenes() {
  Outcome outcome;
  outcome.scenes = {{0.90, 100.0, 0.30, 0.22, kUnset, 0.40}, {0.70, 50.0, 0.20, 0.23, 0.031, 0.2}};
  return outcome;
}

TEST(Demands, EveryRowIsOfAMetricWithAPositiveTolerance) {
  for (const DemandRow& row : demand_rows()) {
    EXPECT_NE(find_metric(row.metric), nullptr) << row.metric;
    EXPECT_GT(row.tolerance, 0.0);
    EXPECT_EQ(find_demand(row.key), &row);
  }
  EXPECT_EQ(find_demand("weight"), nullptr);
}

TEST(Demands, EachRowCountsTheSceneThatItSays) {
  const Judge judge({{find_demand("sag"), 0.18, 0.25},
                     {find_demand("travel"), 0.85, 0.97},
                     {find_demand("brake_dive"), -HUGE_VAL, 0.030},
                     {find_demand("return"), 0.1, 0.5}},
                    0.5, kNames, two_scenes());
  const Verdict verdict = judge(two_scenes());
  EXPECT_DOUBLE_EQ(verdict.met[0].value, 0.23);  // nearer to a bound than 0.22
  EXPECT_NEAR(verdict.met[0].margin, 2.0, 1e-9);
  EXPECT_EQ(verdict.met[1].scene, 0U);  // the deepest
  EXPECT_NEAR(verdict.met[1].margin, 5.0, 1e-9);
  EXPECT_EQ(verdict.met[2].scene, 1U);  // the only one that brakes
  EXPECT_NEAR(verdict.met[2].margin, -0.5, 1e-9);
  EXPECT_DOUBLE_EQ(verdict.met[3].value, 0.40);  // of the deepest scene
  EXPECT_FALSE(verdict.all_met());
  // 10 0.5 + 0.5 + 5 1
  EXPECT_NEAR(verdict.merit, 10.5, 1e-9);
  EXPECT_EQ(verdict.tightest, 2U);
}

TEST(Demands, MarginAndComfortRankWhatBreaksNothing) {
  const Judge judge({{find_demand("travel"), 0.85, 0.97}}, 0.25, kNames, two_scenes());
  Outcome softer = two_scenes();
  softer.scenes[0][1] = 80.0;  // hands 0.8 of today's in one scene of two: 0.25 0.2/2 less
  const Verdict verdict = judge(softer);
  EXPECT_TRUE(verdict.all_met());
  EXPECT_NEAR(verdict.comfort, 0.975, 1e-12);
  EXPECT_NEAR(verdict.merit, 5.0 * 0.975 - 0.1 * 5.0, 1e-9);
}

TEST(Demands, ASceneWithoutTheMetricNeitherMeetsNorBreaks) {
  Outcome outcome = two_scenes();
  outcome.scenes[1][4] = kUnset;
  const Judge judge({{find_demand("brake_dive"), -HUGE_VAL, 0.030}}, 0.5, kNames, two_scenes());
  EXPECT_TRUE(std::isnan(judge(outcome).met[0].margin));
  EXPECT_TRUE(judge(outcome).all_met());
}

TEST(Demands, AFailedRideHasNoMerit) {
  Outcome outcome = two_scenes();
  outcome.failure = "locked";
  const Judge judge({{find_demand("sag"), 0.18, 0.25}}, 0.5, kNames, two_scenes());
  EXPECT_EQ(judge(outcome).merit, kNoMerit);
  EXPECT_FALSE(judge(outcome).all_met());
}

TEST(Demands, WhatIsJudgedMustHaveBeenKept) {
  EXPECT_THROW(Judge({{find_demand("corner_dive"), -HUGE_VAL, 0.03}}, 0.5, kNames, two_scenes()),
               std::invalid_argument);
}

}  // namespace
}  // namespace plunge
