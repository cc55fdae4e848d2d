#include "sim/report/sweep_choices.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include "tests/made_up_sweep.hpp"

namespace plunge::sweep_choices_test {
namespace {

constexpr double kInf = std::numeric_limits<double>::infinity();

// 2 riders by 3 spacer counts, which are chosen: ride 3 r + s.
class SweepChoicesTest : public ::testing::Test {
 protected:
  // Travel of each ride; none: it failed.
  const SweepSelection& with(const std::vector<std::optional<double>>& travel,
                             const std::vector<double>& contacts = {0, 0, 0, 0, 0, 0}) {
    sweep_.write_all([&](std::size_t ride) {
      RideRow row;
      row.origin = travel[ride] ? Origin::lanes : Origin::failed;
      row.failure = travel[ride] ? "" : "the made-up fork broke";
      row.metrics = {travel[ride].value_or(kUnset), travel[ride] ? contacts[ride] : kUnset};
      return row;
    });
    sweep_.merge("all.h5");
    merged_.emplace(sweep_.file("all.h5"));
    selection_.emplace(*merged_);
    return *selection_;
  }

  MadeUpSweep sweep_{"", "", spacers_are_chosen()};
  std::optional<MergedSweep> merged_;
  std::optional<SweepSelection> selection_;
};

TEST_F(SweepChoicesTest, RolesComeThroughTheMergedFile) {
  with({0.1, 0.1, 0.1, 0.1, 0.1, 0.1});
  EXPECT_TRUE(has_roles(*merged_));
  EXPECT_EQ(merged_->grid()[0].role, Role::varies);  // the scenes
  EXPECT_EQ(merged_->grid()[1].role, Role::varies);
  EXPECT_EQ(merged_->grid()[2].role, Role::chosen);
  const MadeUpSweep unmarked;
  unmarked.write_all();
  unmarked.merge("all.h5");
  EXPECT_FALSE(has_roles(MergedSweep(unmarked.file("all.h5"))));
}

// By hand, of two values a and b: the median (a + b)/2, the 90th percentile a + 0.9 (b − a).
TEST_F(SweepChoicesTest, EachChoiceIsSummedUpOverWhatVaries) {
  const SweepChoices choices(with({0.10, 0.20, 0.05, 0.12, 0.10, 0.06}));
  ASSERT_EQ(choices.size(), 3u);
  EXPECT_EQ(choices.circumstances(), 2u);
  EXPECT_EQ(choices.ride(1), 1u);
  const std::vector<Tail> tails = choices.tails("travel_max", false);
  EXPECT_DOUBLE_EQ(tails[0].median, 0.11);
  EXPECT_DOUBLE_EQ(tails[0].bad, 0.118);
  EXPECT_DOUBLE_EQ(tails[1].median, 0.15);
  EXPECT_DOUBLE_EQ(tails[1].bad, 0.19);
  EXPECT_DOUBLE_EQ(tails[2].bad, 0.059);
  EXPECT_EQ(tails[2].rides, 2u);
  // Where less is worse the bad end is the other one.
  EXPECT_DOUBLE_EQ(choices.tails("travel_max", true)[1].bad, 0.11);
  EXPECT_DOUBLE_EQ(choices.tails("travel_max", true)[1].median, 0.15);
}

TEST_F(SweepChoicesTest, ALostRideIsWorseThanEveryNumber) {
  const SweepChoices choices(with({0.10, 0.20, 0.05, 0.12, std::nullopt, 0.06}));
  EXPECT_EQ(choices.lost(), (std::vector<std::size_t>{0, 1, 0}));
  const std::vector<Tail> more = choices.tails("travel_max", false);
  EXPECT_EQ(more[1].bad, kInf);
  EXPECT_EQ(more[1].median, kInf);
  EXPECT_EQ(more[1].rides, 1u);
  EXPECT_EQ(choices.tails("travel_max", true)[1].bad, -kInf);
  EXPECT_DOUBLE_EQ(more[0].bad, 0.118);
}

// Contacts stand for a number that some rides do not have, as a brake dive where nobody brakes.
TEST_F(SweepChoicesTest, ANumberThatNoChoiceHasThereIsLeftOut) {
  // Of the second rider no choice has it: what is left is the first alone.
  const SweepChoices none(
      with({0.1, 0.1, 0.1, 0.1, 0.1, 0.1}, {3.0, 4.0, 5.0, kUnset, kUnset, kUnset}));
  EXPECT_DOUBLE_EQ(none.tails("metal_contacts", false)[1].bad, 4.0);
  EXPECT_EQ(none.shares({{"metal_contacts", Relation::at_most, 4.0, ""}}),
            (std::vector<double>{1.0, 1.0, 0.0}));
  // Where another choice has it, it is missing.
  const SweepChoices some(
      with({0.1, 0.1, 0.1, 0.1, 0.1, 0.1}, {3.0, 4.0, 5.0, 1.0, kUnset, kUnset}));
  EXPECT_EQ(some.tails("metal_contacts", false)[1].bad, kInf);
  EXPECT_DOUBLE_EQ(some.tails("metal_contacts", false)[0].bad, 2.8);
  EXPECT_EQ(some.shares({{"metal_contacts", Relation::at_most, 4.0, ""}}),
            (std::vector<double>{1.0, 0.5, 0.0}));
}

TEST_F(SweepChoicesTest, SharesCountTheRidesOfAChoice) {
  const SweepChoices choices(
      with({0.10, 0.20, 0.05, 0.12, std::nullopt, 0.06}, {0, 2, 0, 1, 0, 0}));
  const std::vector<Limit> limits{{"travel_max", Relation::at_most, 0.11, ""},
                                  {"metal_contacts", Relation::equal, 0.0, ""}};
  EXPECT_EQ(choices.shares(limits), (std::vector<double>{0.5, 0.0, 1.0}));
  // Of the rides that have it: the one that failed is not among them.
  EXPECT_EQ(choices.shares_above_none("metal_contacts"), (std::vector<double>{0.5, 1.0, 0.0}));
}

TEST_F(SweepChoicesTest, ASelectionLeavesItsOwnCircumstances) {
  with({0.10, 0.20, 0.05, 0.12, 0.10, 0.06});
  const SweepSelection wren(*merged_, "--where", {"rider=wren", "fork.spacers=1..2"});
  const SweepChoices choices(wren);
  ASSERT_EQ(choices.size(), 2u);
  EXPECT_EQ(choices.circumstances(), 1u);
  EXPECT_EQ(choices.ride(0), 4u);
  EXPECT_EQ(choices.tails("travel_max", false)[0].bad, 0.10);
}

// The rows of a sample that varies are circumstances too: 2 riders by 4 rows.
TEST(SweepChoices, ASampleVaries) {
  const MadeUpSweep sweep(
      "[[axis]]\nname = \"ride.speed\"\nrole = \"varies\"\ndistribution = \"uniform\"\n"
      "low = \"4 m/s\"\nhigh = \"6 m/s\"\n[sample]\nmethod = \"sobol\"\npoints = 4\n",
      "", spacers_are_chosen());
  sweep.write_all([](std::size_t ride) {
    RideRow row;
    row.origin = Origin::lanes;
    row.metrics = {static_cast<double>(ride), 0.0};
    return row;
  });
  sweep.merge("all.h5");
  const MergedSweep merged(sweep.file("all.h5"));
  const SweepSelection selection(merged);
  const SweepChoices choices(selection);
  ASSERT_EQ(choices.size(), 3u);
  EXPECT_EQ(choices.circumstances(), 8u);
  // Spacers 1: rides 4 5 6 7 and 16 17 18 19.
  EXPECT_DOUBLE_EQ(choices.tails("travel_max", false)[1].median, 11.5);
}

}  // namespace
}  // namespace plunge::sweep_choices_test
