#include "sim/log/log_account.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/small_log.hpp"

namespace plunge::log_account_test {
namespace {

// By hand: errors of 4, 8 and 3 mm foretold; mean 5 mm; sample variance (1 + 9 + 4)/2 = 7 mm2.
TEST(LogAccount, SumsUpWhatWasForetold) {
  const SmallLog log;
  add_setting(log);
  log.add("prediction", {"setting=3", "travel_max=120mm"});
  log.add("ride", {"3", "ring=124mm"});
  log.add("ride", {"3", "ring=128mm"});
  log.add("ride", {"3", "ring=123mm"});
  log.add("ride", {"3", "remarks=nobody looked at the ring"});
  const LogAccount account = account_of(log.read());
  ASSERT_EQ(account.rows.size(), 3u);
  EXPECT_EQ(account.rows[1].ride, 6);
  EXPECT_EQ(account.rows[1].prediction, 4);
  EXPECT_NEAR(account.rows[1].error, 8e-3, 1e-12);
  EXPECT_EQ(account.foretold.rides, 3u);
  EXPECT_NEAR(account.foretold.mean, 5e-3, 1e-12);
  EXPECT_NEAR(account.foretold.spread, std::sqrt(7.0) * 1e-3, 1e-12);
  EXPECT_EQ(account.afterwards.rides, 0u);
  EXPECT_TRUE(std::isnan(account.afterwards.mean));
}

TEST(LogAccount, CountsTheRingsWithinTheirBand) {
  const SmallLog log;
  add_setting(log);
  log.add("prediction", {"setting=3", "travel_max=120mm", "ring_low=115mm", "ring_high=126mm"});
  log.add("ride", {"3", "ring=124mm"});
  log.add("ride", {"3", "ring=128mm"});
  const LogAccount account = account_of(log.read());
  EXPECT_EQ(account.foretold.banded, 2u);
  EXPECT_EQ(account.foretold.inside, 1u);
  EXPECT_NEAR(account.rows[0].low, 0.115, 1e-12);
  EXPECT_EQ(log.refusal("prediction",
                        {"setting=3", "travel_max=120mm", "ring_low=130mm", "ring_high=126mm"}),
            "ring_low = 130 mm: must not be above ring_high");
}

TEST(LogAccount, WhatCameAfterTheRideIsNotForetold) {
  const SmallLog log;
  add_setting(log);
  log.add("ride", {"3", "ring=130mm"});
  log.add("prediction", {"setting=3", "travel_max=130mm"});
  const LogAccount account = account_of(log.read());
  ASSERT_EQ(account.rows.size(), 1u);
  EXPECT_FALSE(account.rows[0].foretold);
  EXPECT_EQ(account.foretold.rides, 0u);
  EXPECT_EQ(account.afterwards.rides, 1u);
  EXPECT_TRUE(std::isnan(account.afterwards.spread)) << "one ride has no spread";
}

TEST(LogAccount, TheNearestPredictionCountsAndTheLastOfThose) {
  const SmallLog log;
  add_setting(log);
  log.add("setting", {"parent=3", "fork.pressure=80psi"});                 // 4
  log.add("prediction", {"setting=3", "travel_max=100mm"});                // 5
  log.add("prediction", {"setting=3", "travel_max=110mm", "scene=drop"});  // 6
  log.add("prediction", {"setting=3", "travel_max=111mm", "scene=drop"});  // 7
  log.add("prediction", {"setting=4", "travel_max=90mm", "scene=drop"});   // 8
  log.add("ride", {"3", "ring=120mm", "scene=drop"});                      // 9
  log.add("ride", {"3", "ring=120mm", "scene=roots"});                     // 10
  log.add("ride", {"4", "ring=120mm", "scene=roots"});                     // 11
  log.add("prediction", {"ride=10", "travel_max=119mm"});                  // 12
  const auto predictions = [&] {
    std::map<std::int64_t, std::int64_t> by_ride;
    for (const AccountRow& row : account_of(log.read()).rows) by_ride[row.ride] = row.prediction;
    return by_ride;
  };
  EXPECT_EQ(predictions(), (std::map<std::int64_t, std::int64_t>{{9, 7}, {10, 12}}));
  log.undo();
  EXPECT_EQ(predictions(), (std::map<std::int64_t, std::int64_t>{{9, 7}, {10, 5}}));
  log.add("prediction", {"setting=3", "hand_force_max=500N"});  // says nothing of travel
  EXPECT_EQ(predictions().at(10), 5);
}

}  // namespace
}  // namespace plunge::log_account_test
