// What a workshop turns on Kestrel Hollow's forks, and the lattice of it.
#include "sim/search/settings.hpp"

#include <gtest/gtest.h>

#include <utility>

#include "models/setup/parameters.hpp"
#include "models/setup/statics.hpp"
#include "tests/search_case.hpp"

namespace plunge {
namespace {

TEST(ForkSettings, APsiIsTheOneOfTheUnits) {
  EXPECT_EQ(kPsiStep, find_common_unit("psi")->to_si(1.0));
}

TEST(ForkSettings, ComeBackAsTheyWerePut) {
  for (const SearchCase& a_case : search_cases()) {
    ForkSetup fork = scenes_of(a_case).front().fork;
    const bool compression = has_clicks(fork.compression);
    const ForkSettings put{3.0, 5e5, compression ? 4.0 : 0.0, 7.0};
    put_settings(fork, put);
    EXPECT_EQ(settings_of(fork), put);
  }
}

TEST(ForkSettings, AFixedDamperHasOneLevel) {
  const plunge::Setup sorrel = scenes_of(search_cases()[1]).front();
  EXPECT_FALSE(has_clicks(sorrel.fork.compression));
  const Lattice lattice = lattice_of(sorrel);
  EXPECT_EQ(lattice.size(2), 1U);
  EXPECT_EQ(lattice.size(3), 17U);  // 0 to 16 clicks, as its table has them
}

TEST(ForkSettings, TheLatticeKeepsToTheMakersLimitsAndToSagsThatAreRidden) {
  for (const SearchCase& a_case : search_cases()) {
    plunge::Setup setup = scenes_of(a_case).front();
    const Lattice lattice = lattice_of(setup);
    EXPECT_EQ(lattice.levels[0].front(), 0.0);
    EXPECT_EQ(lattice.levels[0].back(), setup.fork.spacer_limit);
    EXPECT_LE(lattice.levels[1].back(), setup.fork.pressure_limit);
    // The least pressure is that of the most spacers, which ask for less air at one sag.
    for (const auto& [pressure, spacers] :
         {std::pair(lattice.levels[1].front(), setup.fork.spacer_limit),
          std::pair(lattice.levels[1].back(), 0.0)}) {
      setup.fork.spacers = spacers;
      setup.fork.pressure = pressure;
      const double share = sag(assemble_ridden(setup)) / setup.fork.travel;
      EXPECT_GE(share, kLeastSearchedSag - 0.01) << a_case.fork;
      EXPECT_LE(share, kMostSearchedSag + 0.01) << a_case.fork;
    }
  }
}

TEST(ForkSettings, ALowRatingCutsTheLattice) {
  plunge::Setup setup = scenes_of(search_cases().front()).front();
  setup.fork.pressure_limit = 70.0 * kPsiStep;
  EXPECT_LE(lattice_of(setup).levels[1].back(), setup.fork.pressure_limit);
}

TEST(ForkSettings, TheNearestPointIsTheSettingItself) {
  const Lattice lattice = lattice_of(scenes_of(search_cases().front()).front());
  const Point point{2, 5, 3, 9};
  EXPECT_EQ(lattice.nearest(lattice.at(point)), point);
  EXPECT_EQ(lattice.only(1, 4.2e5).at({2, 0, 3, 9}).pressure, 4.2e5);
}

}  // namespace
}  // namespace plunge
