// A whole answer: within the limits, the same whatever the threads, and honest where it cannot be.
#include "sim/search/suggestion.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "models/setup/statics.hpp"
#include "sim/disk/disk_files.hpp"

namespace plunge {
namespace {

BriefFlags quick_flags() {
  BriefFlags flags;
  flags.fork = "scenarios/forks/sorrel-120.toml";
  flags.rider = "scenarios/riders/wren.toml";
  flags.scenes = {"scenarios/scenes/square-edge.toml"};
  flags.complaints = {"harsh"};
  return flags;
}

void demand_within_limits(const Brief& brief, const ForkSettings& settings) {
  const ForkSetup& fork = brief.scenes.front().fork;
  EXPECT_GE(settings.spacers, 0.0);
  EXPECT_LE(settings.spacers, fork.spacer_limit);
  EXPECT_LE(settings.pressure, fork.pressure_limit);
}

TEST(Suggestion, IsTheSameWhateverTheThreadsAndKeepsToTheLimits) {
  Brief brief = read_brief(disk_files(), "", quick_flags());
  brief.demands = {{find_demand("sag"), 0.18, 0.25},
                   {find_demand("travel"), 0.20, 0.90},
                   {find_demand("metal"), 0.0, 0.0}};
  SearchWatch one;
  one.threads = 1;
  std::size_t most = 0;
  one.on_progress = [&](std::size_t ridden, std::size_t bound) {
    EXPECT_LE(ridden, bound);
    most = bound;
  };
  SearchWatch three;
  three.threads = 3;
  const Suggestion found = suggest(brief, one);
  const Suggestion again = suggest(brief, three);
  EXPECT_TRUE(found.can_be_met);
  EXPECT_TRUE(found.gives.empty());
  ASSERT_FALSE(found.choices.empty());
  EXPECT_LE(found.choices.size(), kMostChoices);
  EXPECT_LE(found.settings, kMostSettings);
  EXPECT_EQ(found.rides, again.rides);
  EXPECT_LT(found.rides, most);
  EXPECT_EQ(found.today.verdict.comfort, 1.0);
  ASSERT_EQ(found.choices.size(), again.choices.size());
  double chance = 1.1;
  for (std::size_t i = 0; i < found.choices.size(); ++i) {
    const Candidate& choice = found.choices[i];
    EXPECT_EQ(choice.settings, again.choices[i].settings);
    EXPECT_EQ(choice.chance.all, again.choices[i].chance.all);
    EXPECT_LE(choice.chance.all, chance + 0.02);
    chance = choice.chance.all;
    EXPECT_EQ(choice.effects.size(), 4U);
    demand_within_limits(brief, choice.settings);
  }
  EXPECT_EQ(found.next.candidate.settings, again.next.candidate.settings);
  demand_within_limits(brief, found.next.candidate.settings);
  ASSERT_EQ(found.complaints.size(), 1U);
  EXPECT_EQ(found.complaints[0].luck, again.complaints[0].luck);
}

TEST(Suggestion, SaysWhatWouldHaveToGive) {
  Brief brief = read_brief(disk_files(), "", quick_flags());
  brief.complaints.clear();
  // A step of some centimetres never takes a sagging fork to its end.
  brief.demands = {{find_demand("sag"), 0.18, 0.25}, {find_demand("travel"), 0.95, 0.99}};
  const Suggestion found = suggest(brief);
  EXPECT_FALSE(found.can_be_met);
  ASSERT_FALSE(found.gives.empty());
  const Give& give = found.gives.back();
  EXPECT_EQ(brief.demands[give.demand].row->key, "travel");
  EXPECT_LT(give.value, 0.95);
  EXPECT_GT(give.value, 0.20);
  demand_within_limits(brief, give.settings);
  EXPECT_EQ(found.next.reaches, found.next.candidate.chance.all >= found.next.asked);
}

// What is not known of the fork makes an answer less sure.
TEST(Suggestion, DrawsOfTheForkAreCountedIn) {
  Brief brief = read_brief(disk_files(), "", quick_flags());
  brief.complaints.clear();
  brief.demands = {{find_demand("sag"), 0.18, 0.25}, {find_demand("travel"), 0.0, 0.90}};
  const double area = brief.scenes.front().fork.air.main_area;
  const std::vector<KnobDraw> draws = {{{"fork.air.main_area", 0.9 * area}},
                                       {{"fork.air.main_area", area}},
                                       {{"fork.air.main_area", 1.1 * area}}};
  const Suggestion known = suggest(brief);
  const Suggestion guessed = suggest(brief, {}, draws);
  ASSERT_FALSE(known.choices.empty());
  ASSERT_FALSE(guessed.choices.empty());
  EXPECT_LT(guessed.choices.front().chance.all, known.choices.front().chance.all);
  EXPECT_EQ(known.forks, 0U);
  EXPECT_TRUE(std::isnan(known.known));
  EXPECT_FALSE(known.today.air.known());
  EXPECT_EQ(guessed.forks, kDraws);
  EXPECT_GT(guessed.known, guessed.choices.front().chance.all);
  const auto width = [](const Band& band) { return band.high - band.low; };
  EXPECT_GT(width(guessed.today.chance.sag), width(known.today.chance.sag));
  // The ends are what holds the sag in the forks of the largest and the smallest piston.
  const auto holding = [&](const KnobDraw& draw) {
    Luck luck;
    luck.fork = draw;
    plunge::Setup setup = setup_of(brief.scenes.front(), {guessed.today.settings, &luck});
    hold_sag(setup, guessed.today.sag);
    return setup.fork.pressure;
  };
  EXPECT_NEAR(guessed.today.air.low, holding(draws[2]), 1.0);
  EXPECT_NEAR(guessed.today.air.high, holding(draws[0]), 1.0);
  EXPECT_GT(guessed.look.ring_high - guessed.look.ring_low,
            known.look.ring_high - known.look.ring_low);
}

}  // namespace
}  // namespace plunge
