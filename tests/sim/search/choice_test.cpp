// The front, the chances and what is shown of them.
#include "sim/search/choice.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numeric>

#include "tests/search_case.hpp"

namespace plunge {
namespace {

const SearchCase kDropAndRoots = {"teasel-150", "hazel", "trail", {"drop-to-flat", "roots"}};

Verdict verdict_of(double margin, double comfort) {
  Verdict verdict;
  verdict.worst = std::max(0.0, -margin);
  verdict.margin = margin;
  verdict.comfort = comfort;
  verdict.merit = 10.0 * verdict.worst + 5.0 * comfort;
  return verdict;
}

Candidate candidate_of(double chance, double comfort, double pressure) {
  Candidate candidate;
  candidate.settings.pressure = pressure;
  candidate.chance.all = chance;
  candidate.verdict = verdict_of(1.0, comfort);
  return candidate;
}

TEST(Choice, TheFrontHasNothingThatIsBeatenInBoth) {
  std::vector<ForkSettings> settings;
  std::vector<Verdict> verdicts;
  // By hand: b beats c; d breaks a demand while others don't.
  for (const auto& [margin, comfort] :
       {std::pair(3.0, 1.00), {2.0, 0.90}, {1.5, 0.95}, {-1.0, 0.50}, {0.5, 0.85}}) {
    settings.push_back({static_cast<double>(settings.size()), 5e5, 0.0, 0.0});
    verdicts.push_back(verdict_of(margin, comfort));
  }
  const auto front = front_of(settings, verdicts, 8);
  EXPECT_EQ(front, (std::vector<ForkSettings>{settings[0], settings[1], settings[4]}));
  // Of few that are asked for both ends.
  EXPECT_EQ(front_of(settings, verdicts, 2), (std::vector<ForkSettings>{settings[0], settings[4]}));
}

TEST(Choice, WhereAllBreakTheLeastBreachIsTheFront) {
  const std::vector<ForkSettings> settings = {{0.0, 5e5, 0.0, 0.0}, {1.0, 5e5, 0.0, 0.0}};
  const std::vector<Verdict> verdicts = {verdict_of(-2.0, 0.8), verdict_of(-1.0, 1.1)};
  EXPECT_EQ(front_of(settings, verdicts, 8), std::vector<ForkSettings>{settings[1]});
}

TEST(Choice, AnEdgeIsNeverShownWithoutTheSurest) {
  const auto shown = choose({candidate_of(0.26, 0.85, 1e5), candidate_of(0.99, 0.95, 2e5),
                             candidate_of(0.60, 0.97, 3e5)});
  ASSERT_EQ(shown.size(), 2U);  // the third is beaten in both
  EXPECT_EQ(shown[0].chance.all, 0.99);
  EXPECT_EQ(shown[1].chance.all, 0.26);
}

TEST(Choice, AtMostFiveAreShownBothEndsAmongThem) {
  std::vector<Candidate> many;
  for (int i = 0; i < 9; ++i) many.push_back(candidate_of(0.1 * (9 - i), 1.0 - 0.02 * i, i * 1e4));
  const auto shown = choose(many);
  ASSERT_EQ(shown.size(), kMostChoices);
  EXPECT_NEAR(shown.front().chance.all, 0.9, 1e-12);
  EXPECT_NEAR(shown.back().chance.all, 0.1, 1e-12);
}

TEST(Choice, DrawsHaveTheSpreadsThatTheHeaderSays) {
  const auto luck = luck_of_days(1024);
  const auto spread = [&](auto value) {
    double sum = 0.0;
    for (const Luck& draw : luck) sum += value(draw) * value(draw);
    return std::sqrt(sum / static_cast<double>(luck.size()));
  };
  // Cut at three deviations a normal is 0.9866 as wide (computed: 1 - 6 phi(3)/(2 Phi(3) - 1)).
  EXPECT_NEAR(spread([](const Luck& d) { return d.gauge; }) / kGaugeSpread, 0.9866, 5e-3);
  EXPECT_NEAR(spread([](const Luck& d) { return d.mass; }) / kMassSpread, 0.9866, 5e-3);
  EXPECT_NEAR(spread([](const Luck& d) { return d.speed - 1.0; }) / kSpeedSpread, 0.9866, 5e-3);
  EXPECT_EQ(luck.front().heights, 1.0);
}

TEST(Choice, DrawsOfTheForkAreTakenInTurn) {
  const std::vector<KnobDraw> fork = {{{"fork.friction.seal", 10.0}},
                                      {{"fork.friction.seal", 20.0}}};
  const auto luck = luck_of_days(4, fork);
  EXPECT_EQ(luck[3].fork, fork[1]);
  EXPECT_EQ(luck[2].fork, fork[0]);
}

class ChoiceOfRides : public ::testing::Test {
 protected:
  ChoiceOfRides()
      : rides_(scenes_of(kDropAndRoots),
               {"travel_use", "hand_force_rms", "tyre_load_variation", "sag_share"}) {}

  Judge judge(double low, double high) {
    return Judge({{find_demand("sag"), low, high}}, 0.5, rides_.metrics(), rides_.ride(set_));
  }

  const ForkSettings set_{1.0, 80.0 * kPsiStep, 8.0, 9.0};
  TrialRides rides_;
};

TEST_F(ChoiceOfRides, AChanceIsTheShareOfDrawsThatMeetAll) {
  const auto luck = luck_of_days(64);
  const ForkSettings one[] = {set_};
  EXPECT_NEAR(chances(rides_, judge(0.05, 0.60), one, luck).front().all, 1.0, 1e-12);
  const Chance none = chances(rides_, judge(0.50, 0.60), one, luck).front();
  EXPECT_EQ(none.all, 0.0);
  EXPECT_NEAR(none.broken.front(), 1.0, 1e-12);
  EXPECT_LT(none.travel.low, none.travel.high);
  EXPECT_LT(none.sag.low, none.sag.high);
  // A bound where the setting itself is halves the draws.
  const double sag = rides_.ride(set_).scenes[0][3];
  EXPECT_NEAR(chances(rides_, judge(0.05, sag), one, luck).front().all, 0.5, 0.1);
}

TEST_F(ChoiceOfRides, MoreAirLessSagMoreWeightMoreSag) {
  auto candidate =
      with_chances(rides_, judge(0.05, 0.60), std::array{set_}, luck_of_days(8)).front();
  add_effects(rides_, judge(0.05, 0.60), candidate);
  ASSERT_EQ(candidate.effects.size(), 4U);
  EXPECT_LT(candidate.effects[0].sag, candidate.sag);  // +3 psi
  EXPECT_GT(candidate.effects[1].sag, candidate.sag);
  EXPECT_GT(candidate.effects[2].sag, candidate.sag);  // +5 kg
  EXPECT_LT(candidate.effects[3].sag, candidate.sag);
}

}  // namespace
}  // namespace plunge
