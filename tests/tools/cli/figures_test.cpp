#include "tools/cli/figures.hpp"

#include <fmt/core.h>
#include <gtest/gtest.h>

#include "sim/figure/palette.hpp"
#include "tests/scratch.hpp"

namespace plunge::figures_test {
namespace {

// The palest of lines, as SVG names it.
std::string palest() {
  const Rgb colour = colour_of({-1, 0.0});
  return fmt::format("stroke=\"#{:02x}{:02x}{:02x}\"", colour[0], colour[1], colour[2]);
}

TEST(Figures, DampersOfAnOrderAreDrawnInShadesOfOneRamp) {
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
  EXPECT_NE(bytes_of(directory / "a.svg").find(palest()), std::string::npos);
}

}  // namespace
}  // namespace plunge::figures_test
