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

}  // namespace
}  // namespace plunge::paints_test
