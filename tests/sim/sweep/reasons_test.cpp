#include "sim/sweep/reasons.hpp"

#include <gtest/gtest.h>

namespace plunge::reasons_test {
namespace {

TEST(Reasons, NumbersAreLeftOutWithTheirSigns) {
  EXPECT_EQ(without_numbers("fork.pressure = -3.5e+2 Pa"), "fork#pressure = #e# Pa");
  EXPECT_EQ(without_numbers("stuck"), "stuck");
  EXPECT_EQ(without_numbers(""), "");
}

TEST(Reasons, ThoseThatDifferInNumbersOnlyAreOneAndTheFirstRideSpeaks) {
  ReasonCounts counts;
  counts.count(9, "too deep by 3 mm");
  counts.count(4, "stuck");
  counts.count(2, "too deep by 17 mm");
  const std::vector<SweepReason> list = counts.by_frequency();
  ASSERT_EQ(list.size(), 2u);
  EXPECT_EQ(list[0].text, "too deep by 17 mm");
  EXPECT_EQ(list[0].ride, 2u);
  EXPECT_EQ(list[0].rides, 2u);
  EXPECT_EQ(list[1].text, "stuck");
}

TEST(Reasons, OfEquallyFrequentOnesTheFirstRideComesFirst) {
  ReasonCounts counts;
  counts.count(5, "a");
  counts.count(3, "b");
  const std::vector<SweepReason> list = counts.by_frequency();
  EXPECT_EQ(list[0].text, "b");
  EXPECT_EQ(list[1].text, "a");
}

TEST(Reasons, PastTheMostKindsTheRestIsOther) {
  ReasonCounts counts(2);
  for (const char* text : {"a", "b", "c", "d", "a"}) counts.count(1, text);
  const std::vector<SweepReason> list = counts.by_frequency();
  ASSERT_EQ(list.size(), 3u);
  std::size_t other = 0;
  for (const SweepReason& reason : list) other += reason.text == "other reasons" ? reason.rides : 0;
  EXPECT_EQ(other, 2u);
}

}  // namespace
}  // namespace plunge::reasons_test
