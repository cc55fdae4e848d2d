// What the trade knows about air forks, without a source for it, and a design point worked out
// independently of this program: tests/outside/data/worked-point.toml.
//
// Where practice says which way and not how far, the table holds of how many steps it is true.
#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <string>
#include <vector>

#include "models/setup/assemble.hpp"
#include "models/setup/statics.hpp"
#include "sim/measure/metrics.hpp"
#include "tests/outside/record.hpp"
#include "tests/ready_setup.hpp"
#include "tests/scene_files.hpp"
#include "tests/support.hpp"

namespace plunge::outside_practice_test {
namespace {

// The worked point with something set, its pressure solved so that the rider sags 22 %.
Setup at_equal_sag(const std::vector<std::string>& overrides) {
  return ready_setup("tests/outside/data/worked-point.toml", overrides);
}

// The same with 0 to 4 spacers.
std::vector<Setup> by_spacers() {
  std::vector<Setup> setups;
  for (int n = 0; n <= 4; ++n) {
    setups.push_back(at_equal_sag({"fork.spacers=" + std::to_string(n)}));
  }
  return setups;
}

TEST(WorkedPoint, PressuresAndForcesAtEqualSag) {
  // Computed independently, to the digits given.
  const double psi[] = {89.2, 88.1, 86.8, 85.4, 83.9};
  const double middle[] = {604.0, 612.0, 621.0, 632.0, 644.0};
  const double end[] = {1157.0, 1229.0, 1319.0, 1439.0, 1603.0};
  const auto setups = by_spacers();
  for (std::size_t n = 0; n < setups.size(); ++n) {
    const Rider rider = assemble(setups[n]);
    const std::string name = fmt::format("worked point, spacers {}: ", n);
    record({name + "pressure at 22 % sag [psi]", "computed", psi[n], setups[n].fork.pressure / kPsi,
            0.05});
    record({name + "slow force at 75 mm [N]", "computed", middle[n],
            slow_spring_force(rider, 0.075), 0.5});
    record({name + "slow force at 148 mm [N]", "computed", end[n], slow_spring_force(rider, 0.148),
            0.5});
  }
}

// In how many of the steps from one spacer to the next a value rises.
int rises(const std::function<double(const Setup&)>& value) {
  const std::vector<Setup> setups = by_spacers();
  int count = 0;
  for (std::size_t n = 0; n + 1 < setups.size(); ++n) {
    count += value(setups[n + 1]) > value(setups[n]) ? 1 : 0;
  }
  return count;
}

TEST(Practice, AtEqualSagASpacerAsksForLessAirAndRampsHarder) {
  const auto force_at = [](double travel) {
    return [travel](const plunge::Setup& s) { return slow_spring_force(assemble(s), travel); };
  };
  const auto less = [](const std::function<double(const plunge::Setup&)>& value) {
    return rises([&](const plunge::Setup& s) { return -value(s); });
  };
  const auto steps = [](const std::string& what, int found) {
    record({"equal sag, one spacer more (4 steps): " + what, "common practice", 4.0,
            static_cast<double>(found), 0.0});
  };
  steps("less pressure", less([](const plunge::Setup& s) { return s.fork.pressure; }));
  steps("moves off at less force",
        less([](const plunge::Setup& s) { return breakaway_force(assemble(s)); }));
  steps("softer at 10 mm", less(force_at(0.01)));
  steps("higher in mid-stroke, more force at 75 mm", rises(force_at(0.075)));
  steps("harder at the end, more force at 140 mm", rises(force_at(0.14)));
  steps("stiffer at 140 mm when fast, too",
        rises([](const plunge::Setup& s) { return fast_stiffness(assemble(s), 0.14); }));
}

// A spacer's volume of oil on top of the piston is a spacer, at any travel.
TEST(Practice, OilDoesWhatSpacersDo) {
  const auto spacer = at_equal_sag({"fork.spacers=1"});
  const auto oil = at_equal_sag({"fork.air.oil_volume=12 cm3"});
  record({"9 cm3 of oil in place of a spacer: pressure at equal sag [psi]", "common practice",
          spacer.fork.pressure / kPsi, oil.fork.pressure / kPsi, 1e-6});
  record({"9 cm3 of oil in place of a spacer: slow force at 140 mm [N]", "common practice",
          slow_force(assemble(spacer), 0.14), slow_force(assemble(oil), 0.14), 1e-6});
}

// Slow stiffness at 90 % of the travel over that at 50 %, of each fork that is shipped.
TEST(Practice, AirAloneIsProgressive) {
  int forks = 0;
  for (const char* scene : {"roots", "rock-garden", "corner"}) {
    forks += progression(assemble(shipped_setup(scene, {"fork.spacers=0"}))) > 1.0 ? 1 : 0;
  }
  record({"forks without spacers that stiffen from mid-stroke on (of 3)", "common practice", 3.0,
          static_cast<double>(forks), 0.0});
}

TEST(Practice, SpacersThatFit) {
  const ForkSetup tall = load_fork("scenarios/forks/bracken-200.toml");
  const ForkSetup small = load_fork("scenarios/forks/sorrel-120.toml");
  EXPECT_EQ(tall.travel, 0.2);
  EXPECT_EQ(small.travel, 0.12);
  record({"spacers that a long-travel double-crown fork takes", "common practice", 4.0,
          tall.spacer_limit, 1.0});
  record({"spacers that a 120 mm fork takes", "common practice", 6.0, small.spacer_limit, 1.0});
}

// Note the pressure before the pump comes off: screwed on again, its hose of 2 cm3 takes a share of
// the 195 cm3 of air.
TEST(Practice, AGaugeScrewedOnAgainReadsLess) {
  const auto setup = at_equal_sag({"fork.air.hose_volume=2 cm3"});
  double before = 0.0;
  double after = 0.0;
  for (const Metric& m : static_metrics(assemble(setup), setup)) {
    if (m.name == "pressure") before = m.value;
    if (m.name == "pressure_reattached") after = m.value;
  }
  record({"gauge screwed on again over what it read before", "closed form", 195.0 / 197.0,
          after / before, 1e-12});
}

}  // namespace
}  // namespace plunge::outside_practice_test
