#include "sim/figure/ticks.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace plunge::ticks_test {
namespace {

using Labels = std::vector<std::string>;

Labels labels_of(const std::vector<Tick>& ticks) {
  Labels labels;
  for (const Tick& tick : ticks) labels.push_back(tick.label);
  return labels;
}

// By hand: the finest of 1, 2 and 5 times a power of ten of which no more than so many fit.
TEST(Ticks, NumbersAreRound) {
  EXPECT_EQ(labels_of(linear_ticks({0.0, 53.0}, 6)), (Labels{"0", "10", "20", "30", "40", "50"}));
  EXPECT_EQ(labels_of(linear_ticks({0.0, 53.0}, 4)), (Labels{"0", "20", "40"}));
  EXPECT_EQ(labels_of(linear_ticks({-0.3, 0.3}, 5)), (Labels{"−0.2", "0.0", "0.2"}));
  EXPECT_EQ(labels_of(linear_ticks({1e6, 3e6}, 3)), (Labels{"1·10⁶", "2·10⁶", "3·10⁶"}));
  EXPECT_EQ(labels_of(linear_ticks({0.0, 3e-6}, 4)), (Labels{"0", "1·10⁻⁶", "2·10⁻⁶", "3·10⁻⁶"}));
}

TEST(Ticks, AnyRangeHasTicksWithinIt) {
  const std::vector<Range> ranges = {{0.0, 1.0},         {-1e300, 1e300},     {1e-300, 2e-300},
                                     {1e12, 1e12 + 4.0}, {0.1, 0.1000001},    {-5.0, -4.9},
                                     {0.0, 1e-12},       {99.999, 100.00001}, {-1e9, 1.0}};
  for (const Range& range : ranges) {
    for (const std::size_t most : {2u, 3u, 5u, 12u}) {
      const std::vector<Tick> ticks = linear_ticks(range, most);
      EXPECT_FALSE(ticks.empty()) << range.low << " " << most;
      EXPECT_LE(ticks.size(), most);
      for (const Tick& tick : ticks) {
        const double slack = 1e-6 * (range.high - range.low);
        EXPECT_GE(tick.at, range.low - slack);
        EXPECT_LE(tick.at, range.high + slack);
      }
      for (std::size_t i = 1; i < ticks.size(); ++i) EXPECT_NE(ticks[i].label, ticks[i - 1].label);
    }
  }
}

// Closer than the digits of a double tell apart.
TEST(Ticks, ARangeThatNumbersCannotTellHasNone) {
  EXPECT_TRUE(linear_ticks({1e15, 1e15 + 4.0}, 5).empty());
}

TEST(Ticks, FewDecadesAreLabelledAtOneTwoAndFiveManyAtDecades) {
  EXPECT_EQ(labels_of(log_ticks({1.0, 10.0}, 8)), (Labels{"1", "2", "5", "10"}));
  EXPECT_EQ(labels_of(log_ticks({1.0, 1e5}, 6)),
            (Labels{"1", "10", "100", "1000", "10000", "10⁵"}));
  EXPECT_EQ(labels_of(log_ticks({1.0, 1e5}, 3)), (Labels{"1", "100", "10000"}));
  EXPECT_EQ(labels_of(log_ticks({1e-7, 1e-6}, 5)), (Labels{"10⁻⁷", "2·10⁻⁷", "5·10⁻⁷", "10⁻⁶"}));
  EXPECT_EQ(labels_of(log_ticks({3.1, 3.9}, 5)), (Labels{"3.2", "3.4", "3.6", "3.8"}));
  EXPECT_EQ(log_ticks({1e-300, 1e300}, 4).size(), 3u);  // every 151 decades
}

TEST(Ticks, TimesAreMinutesAndSeconds) {
  EXPECT_EQ(labels_of(clock_ticks({0.0, 150.0}, 6)),
            (Labels{"0:00", "0:30", "1:00", "1:30", "2:00", "2:30"}));
  EXPECT_EQ(labels_of(clock_ticks({0.0, 7300.0}, 4)), (Labels{"0:00", "1:00:00", "2:00:00"}));
  EXPECT_EQ(labels_of(clock_ticks({0.0, 2.0}, 3)), (Labels{"0", "1", "2"}));
}

TEST(Ticks, APlaceOnAnAxisGoesFromItsLowToItsHighEnd) {
  EXPECT_EQ(position_on({2.0, 4.0}, 3.0, false), 0.5);
  EXPECT_DOUBLE_EQ(position_on({1.0, 100.0}, 10.0, true), 0.5);
}

}  // namespace
}  // namespace plunge::ticks_test
