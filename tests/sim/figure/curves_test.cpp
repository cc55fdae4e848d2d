#include "sim/figure/curves.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace plunge::curves_test {
namespace {

constexpr TextBox kBox = {0.0, 0.0, 10.0, 10.0};

// By hand: the line leaves through the top at x = 5 and comes back at x = 7.
TEST(Curves, ALineIsCutOffWhereItLeavesItsBox) {
  const auto parts = clipped({{0, 5}, {10, -5}, {4, 15}}, kBox);
  ASSERT_EQ(parts.size(), 2u);
  EXPECT_NEAR(parts[0].back().x, 5.0, 1e-12);
  EXPECT_NEAR(parts[0].back().y, 0.0, 1e-12);
  EXPECT_NEAR(parts[1].front().x, 8.5, 1e-12);
  EXPECT_NEAR(parts[1].back().x, 5.5, 1e-12);
  EXPECT_NEAR(parts[1].back().y, 10.0, 1e-12);
}

TEST(Curves, ALineInsideStaysWholeAndOneOutsideGoes) {
  const std::vector<DrawnPlace> line = {{1, 1}, {9, 9}, {2, 8}};
  ASSERT_EQ(clipped(line, kBox).size(), 1u);
  EXPECT_EQ(clipped(line, kBox)[0].size(), 3u);
  EXPECT_TRUE(clipped({{-5, -5}, {20, -1}}, kBox).empty());
  EXPECT_TRUE(clipped({{11, 3}}, kBox).empty());
  EXPECT_EQ(clipped({{3, 3}}, kBox).size(), 1u);
}

TEST(Curves, WhatIsLeftOutWasWithinTheTolerance) {
  std::vector<DrawnPlace> line;
  for (int i = 0; i <= 1000; ++i) line.push_back({0.1 * i, 20.0 * std::sin(0.01 * i)});
  const std::vector<DrawnPlace> few = simplified(line, 0.1);
  EXPECT_LT(few.size(), 60u);
  EXPECT_GT(few.size(), 8u);
  std::size_t k = 1;
  for (const DrawnPlace& place : line) {
    while (k + 1 < few.size() && few[k].x < place.x) ++k;
    const double share = (place.x - few[k - 1].x) / (few[k].x - few[k - 1].x);
    EXPECT_NEAR(place.y, few[k - 1].y + share * (few[k].y - few[k - 1].y), 0.25);
  }
  EXPECT_EQ(simplified({{0, 0}, {5, 0}, {10, 0}}, 0.1).size(), 2u);
  EXPECT_EQ(simplified({{0, 0}, {5, 3}, {0, 0}}, 0.1).size(), 3u);  // there and back
}

// By hand: two labels at one height go half a gap up and down; one far away stays.
TEST(Curves, LabelsAreMovedNoFartherThanTheyMust) {
  const std::vector<double> heights = spread({50, 50, 90}, 10.0, 0.0, 100.0);
  EXPECT_DOUBLE_EQ(heights[0], 45.0);
  EXPECT_DOUBLE_EQ(heights[1], 55.0);
  EXPECT_DOUBLE_EQ(heights[2], 90.0);
}

TEST(Curves, LabelsStayApartAndInside) {
  for (const std::vector<double>& wanted :
       {std::vector<double>{5, 5, 5, 5}, {95, 96, 97, 98}, {0, 100, 0, 100}, {3, 1, 2}}) {
    std::vector<double> heights = spread(wanted, 14.0, 7.0, 93.0);
    std::ranges::sort(heights);
    EXPECT_GE(heights.front(), 7.0);
    EXPECT_LE(heights.back(), 93.0);
    for (std::size_t i = 1; i < heights.size(); ++i) {
      EXPECT_GE(heights[i] - heights[i - 1], 14.0 - 1e-9);
    }
  }
}

}  // namespace
}  // namespace plunge::curves_test
