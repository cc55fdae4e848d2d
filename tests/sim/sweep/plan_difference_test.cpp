#include "sim/sweep/plan_difference.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <string>

namespace plunge::plan_difference_test {
namespace {

// 60 psi are 413685.438 Pa, 5 psi 34473.786 Pa (1 psi = 6894.757293168361 Pa).
TEST(PlanDifference, AnAxisIsSaidInPeoplesUnits) {
  EXPECT_EQ("fork.pressure: was 60 to 70 psi in steps of 5, is 60, 70 psi\n",
            plan_difference(
                "axis fork.pressure: 413685.4375901016 448159.2240559434 482633.01052178524 [Pa]\n",
                "axis fork.pressure: 413685.4375901016 482633.01052178524 [Pa]\n"));
  EXPECT_EQ("fork.spacers: was 0 to 3 in steps of 1, is 0, 1, 3\n",
            plan_difference("axis fork.spacers: 0 1 2 3\n", "axis fork.spacers: 0 1 3\n"));
  EXPECT_EQ("hold.sag: was 20, 25 %, is 30 mm\n",
            plan_difference("axis hold.sag: 0.2 0.25\n", "axis hold.sag: 0.03 [m]\n"));
  EXPECT_EQ(
      "terrain[0].height: was 100 mm, is 200 mm\n",
      plan_difference("axis terrain[0].height: 0.1 [m]\n", "axis terrain[0].height: 0.2 [m]\n"));
  EXPECT_EQ("ambient.temperature: was 0, 20 degC, is 20 degC\n",
            plan_difference("axis ambient.temperature: 273.15 293.15 [K]\n",
                            "axis ambient.temperature: 293.15 [K]\n"));
}

TEST(PlanDifference, ManyValuesAreCutShort) {
  EXPECT_EQ("fork.rebound.clicks: was 1, 2, 4, 5, 7, 8, 10, 11 ... 14 (10 values), is 1\n",
            plan_difference("axis fork.rebound.clicks: 1 2 4 5 7 8 10 11 13 14\n",
                            "axis fork.rebound.clicks: 1\n"));
}

TEST(PlanDifference, ADistributionIsSaidWithUnits) {
  EXPECT_EQ(
      "rider.mass: was normal, mean 75 kg, deviation 12 kg, is normal, mean 80 kg, deviation 12 "
      "kg\n",
      plan_difference("axis rider.mass: normal, mean 75, deviation 12 [kg]\n",
                      "axis rider.mass: normal, mean 80, deviation 12 [kg]\n"));
  // A deviation of a temperature is a difference, that of a log-normal number has no unit.
  EXPECT_EQ(
      "ambient.temperature: was normal, mean 20 degC, deviation 5 K, is normal, mean 20 degC, "
      "deviation 6 K\n",
      plan_difference("axis ambient.temperature: normal, mean 293.15, deviation 5 [K]\n",
                      "axis ambient.temperature: normal, mean 293.15, deviation 6 [K]\n"));
  EXPECT_EQ(
      "rider.mass: was log_normal, median 75 kg, deviation 0.1, is log_normal, median 75 kg, "
      "deviation 0.2\n",
      plan_difference("axis rider.mass: log_normal, median 75, deviation 0.1 [kg]\n",
                      "axis rider.mass: log_normal, median 75, deviation 0.2 [kg]\n"));
}

TEST(PlanDifference, ASettingIsSaidAsInTheFileAndOnceForAllCombinations) {
  const auto text = [](const std::string& mass) {
    std::string all;
    for (const char* rider : {"hazel", "wren", "alder"}) {
      all += std::string("drop, ") + rider + " | bike.mass: \"" + mass + " kg\"\n";
    }
    return all;
  };
  EXPECT_EQ("bike.mass: was 15 kg, is 16 kg (in drop, hazel and 2 combinations more)\n",
            plan_difference(text("15"), text("16")));
  EXPECT_EQ("fork.spring: was \"air\", is \"coil\" (in drop)\n",
            plan_difference("drop | fork.spring: \"air\"\n", "drop | fork.spring: \"coil\"\n"));
  EXPECT_EQ("rider.body_share: was 80 %, is not there now (in drop)\n",
            plan_difference("drop | rider.body_share: 0.8\n", "drop | bike.mass: \"15 kg\"\n")
                .substr(0, 55));
}

// A fact of a combination that the other plan does not have says nothing that the axis does not.
TEST(PlanDifference, ACombinationThatIsGoneIsToldByItsAxis) {
  EXPECT_EQ("rider: no longer wren; new: alder\n",
            plan_difference("axis rider: hazel, wren\ndrop, wren | bike.mass: \"15 kg\"\n",
                            "axis rider: hazel, alder\ndrop, alder | bike.mass: \"15 kg\"\n"));
}

TEST(PlanDifference, OfAListWhatIsNewAndWhatIsGoneIsTold) {
  EXPECT_EQ("kept metrics: no longer b; new: d\n",
            plan_difference("kept metrics: a, b, c\n", "kept metrics: a, c, d\n"));
  EXPECT_EQ("kept metrics: was a, b, is b, a\n",
            plan_difference("kept metrics: a, b\n", "kept metrics: b, a\n"));
}

TEST(PlanDifference, ALongTextIsShownFromWhereItDiffers) {
  const std::string same(300, 'x');
  const std::string told =
      plan_difference("drop | fork.rebound.click_table: [" + same + " end 4]\n",
                      "drop | fork.rebound.click_table: [" + same + " end 5]\n");
  EXPECT_NE(told.find("end 4], is"), std::string::npos) << told;
  EXPECT_NE(told.find("end 5] (in drop)"), std::string::npos) << told;
}

TEST(PlanDifference, ManyDifferencesAreCutShort) {
  std::string before;
  std::string now;
  for (int i = 0; i < 25; ++i) before += "a" + std::to_string(i) + ": 1\n";
  for (int i = 0; i < 24; ++i) now += "a" + std::to_string(i) + ": 2\n";
  now += "b: " + std::string(500, '7') + "\n";
  const std::string told = plan_difference(before, now);
  EXPECT_EQ(21, std::ranges::count(told, '\n'));
  EXPECT_TRUE(told.ends_with("and 6 more\n")) << told;
  EXPECT_EQ("b: was not there, is " + std::string(80, '7') + "...\n",
            plan_difference("", "b: " + std::string(500, '7')));
  EXPECT_EQ("c: was 1, is not there now\n", plan_difference("c: 1\n", ""));
}

}  // namespace
}  // namespace plunge::plan_difference_test
