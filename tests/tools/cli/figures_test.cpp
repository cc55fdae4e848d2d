#include "tools/cli/figures.hpp"

#include <fmt/core.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "sim/figure/palette.hpp"
#include "tests/scratch.hpp"

namespace plunge::figures_test {
namespace {

// 100 N at 1 m/s and 150 N at 2 m/s, each way.
DamperCurves damper() {
  DamperCurves damper;
  for (DirectionCurve& direction : damper.directions) {
    direction.speed = {0.0, 0.5, 1.0, 2.0};
    direction.force = {0.0, 50.0, 100.0, 150.0};
  }
  damper.directions[0].name = "compression";
  damper.directions[1].name = "rebound";
  return damper;
}

// Closed and open; a click that locks a damper has no forces.
ClickReadings ends(Adjusts adjusts, std::vector<double> closed, std::vector<double> open) {
  ClickReadings readings;
  readings.adjuster.adjusts = adjusts;
  readings.clicks = {{0.0, {}, std::move(closed)}, {8.0, {}, std::move(open)}};
  return readings;
}

const Series* line(const Panel& panel, const std::string& label) {
  const auto found = std::ranges::find(panel.series, label, &Series::label);
  return found == panel.series.end() ? nullptr : &*found;
}

// By hand: as set 50 N at the end of low speed and 150 N at the end of all; lines of other clicks
// end at three times that.
TEST(Figures, ADamperIsDrawnAsSetAndWithEachAdjusterClosedAndOpen) {
  DamperCurves one = damper();
  one.directions[0].adjusters = {
      ends(Adjusts::low_speed, {0.0, 140.0, 300.0, 460.0}, {0.0, 20.0, 70.0, 120.0}),
      ends(Adjusts::high_speed, {0.0, 60.0, 130.0, 250.0}, {0.0, 40.0, 60.0, 80.0})};
  one.directions[1].adjusters = {ends(Adjusts::low_speed, {}, {0.0, 10.0, 60.0, 110.0})};
  const Figure figure = damper_figure({one}, "a damper");
  ASSERT_EQ(figure.panels.size(), 2u);
  EXPECT_EQ(figure.panels[0].title, "low speed");
  EXPECT_EQ(figure.panels[1].title, "all speeds");
  const Panel& all = figure.panels[1];
  ASSERT_EQ(all.series.size(), 5u);
  const Series& set = *line(all, "as set");
  EXPECT_EQ(set.x, (std::vector<double>{-2.0, -1.0, -0.5, 0.0, 0.5, 1.0, 2.0}));
  EXPECT_EQ(set.y, (std::vector<double>{-150.0, -100.0, -50.0, 0.0, 50.0, 100.0, 150.0}));
  const Series& open = *line(all, "low speed open");
  EXPECT_EQ(open.mark, Mark::dashed);
  EXPECT_EQ(open.y, (std::vector<double>{-110.0, -60.0, -10.0, 0.0, 20.0, 70.0, 120.0}));
  const Series& closed = *line(all, "low speed closed");
  EXPECT_EQ(closed.mark, Mark::line);
  EXPECT_EQ(closed.paint, open.paint);
  EXPECT_FALSE(closed.paint == line(all, "high speed closed")->paint);
  EXPECT_FALSE(closed.paint == set.paint);
  // Rebound is locked when closed, and compression leaves at 450 N.
  EXPECT_EQ(closed.y, (std::vector<double>{0.0, 140.0, 300.0}));
  EXPECT_EQ(line(figure.panels[0], "low speed closed")->y, (std::vector<double>{0.0, 140.0}));
  EXPECT_EQ(line(figure.panels[0], "as set")->x, (std::vector<double>{-0.5, 0.0, 0.5}));
  for (const char* name : {"low speed closed", "low speed open", "high speed open"}) {
    EXPECT_NE(line(figure.panels[0], name), nullptr) << name;
  }
}

TEST(Figures, MoreDampersThanColoursAreShadedByTheirForce) {
  std::vector<DamperCurves> dampers(15, damper());
  for (std::size_t i = 0; i < dampers.size(); ++i) {
    const auto number = static_cast<double>(i);
    dampers[i].set = {{"fork.rebound.clicks", "1", std::fmod(7.0 * number, 15.0)}};
    dampers[i].directions[0].force.back() = 150.0 - number;
  }
  const auto title = [](const std::vector<DamperCurves>& drawn) {
    return damper_figure(drawn, "").panels[1].title;
  };
  EXPECT_EQ(title(dampers), "all speeds; the darker, the more compression force");
  const Figure figure = damper_figure(dampers, "");
  EXPECT_EQ(figure.panels[1].series.front().paint.shade, 1.0);
  EXPECT_EQ(figure.panels[1].series.back().paint.shade, 0.0);
  dampers.pop_back();
  EXPECT_EQ(title(dampers), "all speeds");
}

// The palest of lines, as SVG names it.
std::string palest() {
  const Rgb colour = rgb_of(colour_of({-1, 0.0}));
  return fmt::format("stroke=\"#{:02x}{:02x}{:02x}\"", colour[0], colour[1], colour[2]);
}

TEST(Figures, DampersOfAnOrderAreDrawnInShadesOfOneRamp) {
  std::vector<DamperCurves> dampers = {damper(), damper()};
  for (std::size_t i = 0; i < dampers.size(); ++i) {
    dampers[i].set = {{"fork.rebound.clicks", "1", static_cast<double>(i)}};
  }
  const ScratchDirectory directory;
  draw_dampers(dampers, "a damper", directory / "a.svg");
  EXPECT_NE(bytes_of(directory / "a.svg").find(palest()), std::string::npos);
}

}  // namespace
}  // namespace plunge::figures_test
