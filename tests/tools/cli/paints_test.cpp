#include "tools/cli/paints.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace plunge::paints_test {
namespace {

using Variants = std::vector<std::vector<NamedValue>>;

NamedValue spacers(double count) { return {"fork.spacers", "1", count}; }
NamedValue clicks(double count) { return {"fork.rebound.clicks", "1", count}; }

bool has_shades(const Variants& variants) {
  const std::vector<Paint> paints = paints_of(variants);
  EXPECT_EQ(paints.size(), variants.size());
  for (const Paint& paint : paints) EXPECT_NE(std::isfinite(paint.shade), paint.colour >= 0);
  return std::isfinite(paints.front().shade);
}

TEST(Paints, OneNumberThatRisesOrFallsHasARamp) {
  const std::vector<Paint> paints = paints_of({{spacers(0)}, {spacers(1)}, {spacers(4)}});
  EXPECT_EQ(paints[0].shade, 0.0);
  EXPECT_EQ(paints[1].shade, 0.5);
  EXPECT_EQ(paints[2].shade, 1.0);
  EXPECT_TRUE(has_shades({{spacers(4)}, {spacers(0)}}));
  EXPECT_TRUE(has_shades({{spacers(0), clicks(3)}, {spacers(1), clicks(3)}}));  // set in both
}

TEST(Paints, WhatHasNoOrderHasColours) {
  EXPECT_FALSE(has_shades({{spacers(0)}, {spacers(4)}, {spacers(2)}}));
  EXPECT_FALSE(has_shades({{spacers(0)}, {spacers(0)}}));
  EXPECT_FALSE(has_shades({{spacers(0), clicks(2)}, {spacers(1), clicks(3)}}));
  EXPECT_FALSE(has_shades({{spacers(0)}, {clicks(3)}}));
  EXPECT_FALSE(has_shades({{}, {spacers(1)}}));
  EXPECT_FALSE(has_shades({{}}));
}

// By hand: seven colours, each once as a line and once in dashes and dots.
TEST(Paints, FourteenColoursAndDashesStayApart) {
  const auto of_no_order = [](int count) {
    Variants variants;
    for (int i = 0; i < count; ++i) variants.push_back({spacers(i % 4), clicks(i)});
    return paints_of(variants);
  };
  EXPECT_FALSE(look_alike(of_no_order(14)));
  EXPECT_TRUE(look_alike(of_no_order(15)));
  Variants ordered;
  for (int i = 0; i < 40; ++i) ordered.push_back({clicks(i)});
  EXPECT_FALSE(look_alike(paints_of(ordered)));
}

TEST(Paints, WhatHasNoOrderIsShadedByWhatComesOfIt) {
  const std::vector<Paint> paints = shades_by({0.3, kUnset, 0.1, 0.3, 0.2});
  ASSERT_EQ(paints.size(), 5u);
  EXPECT_EQ(paints[0].shade, 1.0);
  EXPECT_EQ(paints[1].shade, 0.0);
  EXPECT_EQ(paints[2].shade, 0.0);
  EXPECT_EQ(paints[3].shade, 1.0);
  EXPECT_EQ(paints[4].shade, 0.5);
  EXPECT_EQ(shades_by({0.2, 0.2})[1].shade, 0.0);
}

}  // namespace
}  // namespace plunge::paints_test
