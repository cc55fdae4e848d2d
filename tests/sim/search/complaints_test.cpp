// Complaints: shown or not, single changes in pairs, and no advice within luck.
#include "sim/search/complaints.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "tests/search_case.hpp"

namespace plunge {
namespace {

const SearchCase kHairpin = {"teasel-150", "alder", "trail", {"braking-bumps", "drop-to-flat"}};

class Complaints : public ::testing::Test {
 protected:
  Complaints()
      : rides_(scenes_of(kHairpin), {"travel_use", "hand_force_rms", "tyre_load_variation",
                                     "brake_dive_steady", "corner_dive_steady"}),
        lattice_(lattice_of(rides_.scenes().front())),
        judge_({{find_demand("travel"), 0.0, 0.99}}, 0.5, rides_.metrics(), rides_.ride(today_)) {}

  ComplaintAnswer answer(const char* words) {
    const ComplaintRow* const rows[] = {find_complaint(words)};
    const std::vector<ForkSettings> tried = {today_, {4.0, 105.0 * kPsiStep, 8.0, 9.0}};
    return answer_complaints(rides_, judge_, lattice_, today_, rows, tried).front();
  }

  const ForkSettings today_{0.0, 80.0 * kPsiStep, 8.0, 9.0};
  TrialRides rides_;
  Lattice lattice_;
  Judge judge_;
};

TEST_F(Complaints, SingleChangesStayOnTheFork) {
  const auto changes = single_changes(lattice_, today_);
  EXPECT_EQ(changes.size(), 7U);  // there is no spacer to take out
  for (const ForkSettings& change : changes) {
    const int turned = (change.spacers != today_.spacers) + (change.pressure != today_.pressure) +
                       (change.compression != today_.compression) +
                       (change.rebound != today_.rebound);
    EXPECT_EQ(turned, 1);
    EXPECT_GE(change.spacers, 0.0);
  }
}

// Common practice: a soft fork dives under braking, and air is what holds it up.
TEST_F(Complaints, ASoftForkDivesAndAirHoldsItUp) {
  const ComplaintAnswer found = answer("dives braking");
  EXPECT_TRUE(found.applies);
  EXPECT_EQ(found.scene, 0U);
  EXPECT_TRUE(found.shown);
  EXPECT_NEAR(found.limit, 0.20 * 0.150, 1e-12);
  EXPECT_NEAR(found.better, 0.5, 1e-12);  // one of the two that were tried
  EXPECT_GT(found.luck, 0.0);
  ForkSettings pumped = today_;
  pumped.pressure += kChangeOfAir;
  const auto air = std::ranges::find(found.changes, pumped, &Change::settings);
  ASSERT_NE(air, found.changes.end());
  EXPECT_LT(air->effect, 0.0);
  for (const Change& change : found.changes) {
    EXPECT_LT(change.effect, 0.0);
    EXPECT_EQ(change.advised, std::abs(change.effect) > found.luck && change.lessens >= kSureForks);
  }
  EXPECT_TRUE(std::ranges::is_sorted(found.changes, {}, &Change::effect));
}

// Luck is of the fork as it stands; what the fork may be tells how sure an effect is.
TEST_F(Complaints, ForksThatMayBeMakeAnEffectLessSureNotLuckLarger) {
  const double area = rides_.scenes().front().fork.air.main_area;
  std::vector<KnobDraw> forks;
  for (std::size_t i = 0; i < kLines; ++i) {
    forks.push_back({{"fork.air.main_area", area * (i % 2 == 0 ? 0.8 : 1.25)}});
  }
  const ComplaintRow* const rows[] = {find_complaint("dives braking")};
  const std::vector<ForkSettings> tried = {today_};
  const ComplaintAnswer known =
      answer_complaints(rides_, judge_, lattice_, today_, rows, tried).front();
  const ComplaintAnswer guessed =
      answer_complaints(rides_, judge_, lattice_, today_, rows, tried, forks).front();
  EXPECT_EQ(guessed.luck, known.luck);
  EXPECT_TRUE(std::isnan(known.shown_in));
  EXPECT_GE(guessed.shown_in, 0.4);
  EXPECT_LE(guessed.shown_in, 1.0);
  for (const Change& change : guessed.changes) {
    EXPECT_LE(change.lessens, 1.0);
    EXPECT_EQ(change.advised,
              std::abs(change.effect) > guessed.luck && change.lessens >= kSureForks);
  }
}

TEST_F(Complaints, WhatNoSceneTellsOfIsSaidSo) {
  const ComplaintAnswer found = answer("dives in corners");
  EXPECT_FALSE(found.applies);
  EXPECT_FALSE(found.shown);
  EXPECT_TRUE(found.changes.empty());
}

TEST_F(Complaints, MoreTravelIsWhatHelpsOneWhoNeverUsesIt) {
  const ComplaintAnswer found = answer("never uses it");
  EXPECT_FALSE(found.shown) << found.value;  // this one does
  for (const Change& change : found.changes) EXPECT_GT(change.effect, 0.0);
}

}  // namespace
}  // namespace plunge
