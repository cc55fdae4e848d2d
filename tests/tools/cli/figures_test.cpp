#include "tools/cli/figures.hpp"

#include <fmt/core.h>
#include <gtest/gtest.h>

#include "sim/figure/palette.hpp"
#include "tests/scratch.hpp"

namespace plunge::figures_test {
namespace {

// A spring of 10 N/mm up to 100 mm, by hand, with a rider who sags 25 mm into it.
CurveTable spring(const std::string& label, double spacers, double sag) {
  CurveTable curve;
  curve.label = label;
  curve.set = {{"fork.spacers", "1", spacers}};
  curve.metrics = {{"sag", "m", "", sag}};
  for (int i = 0; i <= 100; ++i) {
    curve.travel.push_back(0.001 * i);
    curve.slow.push_back(10.0 * i);
    curve.fast.push_back(14.0 * i);
  }
  return curve;
}

std::string drawn(const std::vector<CurveTable>& curves) {
  const ScratchDirectory directory;
  draw_curves(curves, "a fork", directory / "a.svg");
  return bytes_of(directory / "a.svg");
}

std::size_t count(const std::string& text, const std::string& what) {
  std::size_t found = 0;
  for (std::size_t at = 0; (at = text.find(what, at)) != std::string::npos; ++at) ++found;
  return found;
}

TEST(Figures, ACurveShowsWhereTheRiderRestsAndItsThirds) {
  const std::string svg = drawn({spring("1 spacer", 1.0, 0.025)});
  EXPECT_EQ(count(svg, ">sag 25.0 mm<"), 1u);
  EXPECT_EQ(count(svg, ">the rider's load at rest, 250 N<"), 1u);  // by hand: 25 mm of 10 N/mm
  for (const char* third : {">start<", ">middle<", ">end<"}) EXPECT_EQ(count(svg, third), 2u);
  EXPECT_EQ(count(svg, ">slow<"), 1u);
  EXPECT_EQ(count(svg, ">stiffness [N/mm]<"), 1u);
}

TEST(Figures, CurvesHeldAtOneSagNameItOnce) {
  const std::string held = drawn({spring("0 spacers", 0.0, 0.025), spring("1 spacer", 1.0, 0.025)});
  EXPECT_EQ(count(held, ">sag 25.0 mm<"), 1u);
  EXPECT_EQ(count(held, ">0 spacers<"), 1u);
  EXPECT_EQ(count(held, "stiffness [N/mm]; slow, and dashed: fast<"), 1u);
}

TEST(Figures, CurvesOfSeveralSagsSayFromWhereToWhere) {
  const std::string svg = drawn({spring("0 spacers", 0.0, 0.026), spring("1 spacer", 1.0, 0.0255)});
  EXPECT_EQ(count(svg, ">sag 25.5 to 26.0 mm<"), 1u);
}

// The palest of lines, as SVG names it.
std::string palest() {
  const Rgb colour = rgb_of(colour_of({-1, 0.0}));
  return fmt::format("stroke=\"#{:02x}{:02x}{:02x}\"", colour[0], colour[1], colour[2]);
}

TEST(Figures, OrderedVariantsAreDrawnInShadesOfOneRamp) {
  const std::string svg = drawn({spring("0 spacers", 0.0, 0.025), spring("1 spacer", 1.0, 0.025)});
  EXPECT_GT(count(svg, palest()), 0u);
  DamperCurves damper;
  for (DirectionCurve& direction : damper.directions) {
    direction.speed = {0.0, 1.0, 2.0};
    direction.force = {0.0, 100.0, 150.0};
  }
  std::vector<DamperCurves> dampers = {damper, damper};
  for (std::size_t i = 0; i < dampers.size(); ++i) {
    dampers[i].set = {{"fork.rebound.clicks", "1", static_cast<double>(i)}};
  }
  const ScratchDirectory directory;
  draw_dampers(dampers, "a damper", directory / "a.svg");
  EXPECT_GT(count(bytes_of(directory / "a.svg"), palest()), 0u);
}

TEST(Figures, ACurveWithoutARiderHasNoSag) {
  EXPECT_EQ(count(drawn({spring("1 spacer", 1.0, kUnset)}), "sag"), 0u);
}

}  // namespace
}  // namespace plunge::figures_test
