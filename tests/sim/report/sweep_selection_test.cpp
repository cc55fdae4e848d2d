#include "sim/report/sweep_selection.hpp"

#include <gtest/gtest.h>

#include <numeric>
#include <optional>
#include <string>
#include <vector>

#include "tests/made_up_sweep.hpp"

namespace plunge::sweep_selection_test {
namespace {

constexpr char kSample[] =
    "[[axis]]\nname = \"fork.pressure\"\nvalues = [\"60 psi\", \"72.5 psi\", \"80 psi\"]\n"
    "[[axis]]\nname = \"ride.speed\"\ndistribution = \"uniform\"\nlow = \"4 m/s\"\n"
    "high = \"6 m/s\"\n[sample]\nmethod = \"sobol\"\npoints = 4\n";

// 2 riders, 3 spacer counts, 3 pressures, 4 rows: ride ((r 3 + s) 3 + p) 4 + row.
class SweepSelectionTest : public ::testing::Test {
 protected:
  SweepSelectionTest() {
    sweep_.write_all();
    sweep_.merge("all.h5");
    merged_.emplace(sweep_.file("all.h5"));
  }
  std::vector<std::size_t> rides(const std::vector<std::string>& conditions) const {
    const SweepSelection selection(*merged_, "--where", conditions);
    std::vector<std::size_t> all(selection.size());
    for (std::size_t at = 0; at < all.size(); ++at) all[at] = selection.ride(at);
    return all;
  }
  std::string refusal(const std::string& condition) const {
    return complaint([&] { SweepSelection(*merged_, "--where", {condition}); });
  }

  const MadeUpSweep sweep_{kSample};
  std::optional<MergedSweep> merged_;
};

TEST_F(SweepSelectionTest, NamesAllowValuesInPeoplesUnits) {
  EXPECT_EQ(rides({}).size(), 72u);
  EXPECT_TRUE(SweepSelection(*merged_, "--where", {}).whole());
  EXPECT_EQ(rides({"rider=wren", "fork.spacers=2", "fork.pressure=72.5psi"}),
            (std::vector<std::size_t>{64, 65, 66, 67}));
  EXPECT_EQ(rides({"rider=wren", "fork.spacers=2", "fork.pressure=72.5 psi"}).size(), 4u);
  EXPECT_EQ(rides({"rider = wren", "fork.spacers=2", "fork.pressure=4.999bar"}).size(), 4u);
  EXPECT_EQ(rides({"fork.spacers=0,2", "rider=alder", "fork.pressure=60psi"}),
            (std::vector<std::size_t>{0, 1, 2, 3, 24, 25, 26, 27}));
  // The same name again allows more.
  EXPECT_EQ(rides({"rider=wren", "rider=alder"}).size(), 72u);
  EXPECT_EQ(rides({"fork.pressure=70psi..80psi"}).size(), 48u);
  EXPECT_EQ(rides({"fork.pressure=70..80psi"}).size(), 48u);
  EXPECT_EQ(rides({"fork.spacers=1..2"}).size(), 48u);
}

// The Sobol rows are 5, 5.5, 4.5 and 4.75 m/s.
TEST_F(SweepSelectionTest, ARangeTakesRowsOfTheSample) {
  const SweepSelection selection(*merged_, "--where", {"ride.speed=4.6m/s..5.2m/s"});
  EXPECT_EQ(selection.rows(), (std::vector<std::size_t>{0, 3}));
  EXPECT_FALSE(selection.all_rows());
  EXPECT_EQ(selection.size(), 36u);
  EXPECT_EQ(selection.ride(1), 3u);
  EXPECT_EQ(rides({"ride.speed=5m/s"}).size(), 18u);
}

TEST_F(SweepSelectionTest, ColumnsAreCutToTheSelection) {
  std::vector<int> numbers(72);
  std::iota(numbers.begin(), numbers.end(), 0);
  const SweepSelection selection(*merged_, "--where",
                                 {"rider=wren", "fork.spacers=2", "fork.pressure=60psi"});
  EXPECT_EQ(selection.of(numbers), (std::vector<int>{60, 61, 62, 63}));
}

TEST_F(SweepSelectionTest, WhatIsNotThereIsRefusedWithTheNearest) {
  EXPECT_EQ(refusal("riders=wren"),
            "--where = riders=wren: the sweep has no axis \"riders\"; did you mean \"rider\"?");
  EXPECT_EQ(refusal("bike=trail"),
            "--where = bike=trail: the sweep has no axis \"bike\"; its axes are scene, rider, "
            "fork.spacers, fork.pressure, ride.speed");
  EXPECT_EQ(refusal("rider=wern"),
            "--where = rider=wern: there is no rider \"wern\"; did you mean \"wren\"? There is "
            "alder, wren");
  EXPECT_EQ(refusal("rider=x"), "--where = rider=x: there is no rider \"x\"; there is alder, wren");
  EXPECT_EQ(refusal("fork.pressure=70psi"),
            "--where = fork.pressure=70psi: 70psi is no value of fork.pressure: the nearest is "
            "72.5 psi; there is 60, 72.5, 80 psi");
  EXPECT_EQ(refusal("fork.pressure=90psi..99psi"),
            "--where = fork.pressure=90psi..99psi: no value of fork.pressure lies in it; there is "
            "60, 72.5, 80 psi");
  EXPECT_EQ(refusal("ride.speed=7m/s..8m/s"),
            "--where = ride.speed=7m/s..8m/s: no row of the sample lies in it; the sample goes "
            "from 16.2 to 19.8 km/h");
  EXPECT_NE(refusal("ride.speed=5.1m/s").find("a range takes what lies between"),
            std::string::npos);
  EXPECT_NE(refusal("fork.pressure=72.5").find("such as \"72 psi\""), std::string::npos);
  EXPECT_NE(refusal("fork.pressure=80psi..60psi").find("must rise"), std::string::npos);
  EXPECT_NE(refusal("rider").find("must be an axis and a value"), std::string::npos);
  EXPECT_NE(refusal("=wren").find("must be an axis and a value"), std::string::npos);
  EXPECT_NE(refusal("rider=").find("must be an axis and a value"), std::string::npos);
  EXPECT_EQ(complaint([&] {
              SweepSelection(*merged_, "--where", {"ride.speed=5m/s", "ride.speed=4.5m/s"});
            }),
            "");
}

}  // namespace
}  // namespace plunge::sweep_selection_test
