#include "sim/report/sweep_question.hpp"

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "sim/measure/metrics.hpp"
#include "tests/scratch.hpp"

namespace plunge::sweep_question_test {
namespace {

// What a sweep kept.
const std::vector<Label>& kept() {
  static const std::vector<Label> labels = {*find_metric("travel_max"), *find_metric("travel_use"),
                                            *find_metric("metal_contacts"),
                                            *find_metric("hand_force_max")};
  return labels;
}

Limit limit(const std::string& text) { return parse_limit("--limit", text, kept()); }

std::string refusal(const std::string& text) {
  return complaint([&] { limit(text); });
}

TEST(SweepQuestion, ALimitReadsUnitsAndSigns) {
  EXPECT_DOUBLE_EQ(limit("travel_max>=4 in").value, 0.1016);  // an inch is 25.4 mm
  EXPECT_DOUBLE_EQ(limit("travel_use<=95%").value, 0.95);
  EXPECT_TRUE(holds(limit("travel_max<=100 mm"), 0.1 + 1e-14));
  EXPECT_FALSE(holds(limit("travel_max<100 mm"), 0.1));
  EXPECT_TRUE(holds(limit("travel_max>100 mm"), 0.11));
  EXPECT_TRUE(holds(limit("metal_contacts=0"), 0.0));
  for (const Limit& any :
       {limit("metal_contacts=0"), limit("metal_contacts<=0"), limit("metal_contacts>0")}) {
    EXPECT_FALSE(holds(any, kUnset)) << any.text;
  }
  EXPECT_EQ(refusal("travel_max"),
            "--limit = travel_max: must be a metric, a sign and a value, such as "
            "\"travel_use<=95%\"");
  EXPECT_NE(refusal("travel_max<=5 N"), "");
}

// 95 taken as 9500 % let every ride pass.
TEST(SweepQuestion, ABareNumberIsRefusedWherePeopleSayAUnit) {
  EXPECT_EQ(refusal("travel_use<=95"),
            "--limit = travel_use<=95: 95 needs its unit, such as \"95%\"");
  EXPECT_EQ(refusal("travel_use<=0.95"),
            "--limit = travel_use<=0.95: 0.95 needs its unit, such as \"0.95%\"");
  EXPECT_NE(refusal("travel_max<=5"), "");
  EXPECT_EQ(limit("metal_contacts<=5").value, 5.0);
}

TEST(SweepQuestion, AnUnknownMetricIsNamedWithTheNearest) {
  EXPECT_EQ(refusal("travel_used<=5 mm"),
            "--limit = travel_used<=5 mm: \"travel_used\" is no metric that the sweep kept; did "
            "you mean \"travel_use\"?");
  EXPECT_EQ(refusal("nothing<=5 mm"),
            "--limit = nothing<=5 mm: \"nothing\" is no metric that the sweep kept: travel_max, "
            "travel_use, metal_contacts, hand_force_max");
  EXPECT_EQ(refusal("rim_strikes=0"),
            "--limit = rim_strikes=0: \"rim_strikes\" was not kept by the sweep: its plan keeps "
            "travel_max, travel_use, metal_contacts, hand_force_max");
  // Before what is missing behind the metric.
  EXPECT_EQ(complaint([] { parse_goal("--best", "handforcemax", kept()); }),
            "--best = handforcemax: \"handforcemax\" is no metric that the sweep kept; did you "
            "mean \"hand_force_max\"?");
  EXPECT_EQ(complaint([] { parse_goal("--best", "handforce", kept()); }),
            "--best = handforce: \"handforce\" is no metric that the sweep kept; did you mean "
            "\"hand_force_max\"?");
  EXPECT_EQ(complaint([] { parse_goals("--front", "travel_max:min,hand_forc_max:min", kept()); }),
            "--front = travel_max:min,hand_forc_max:min: \"hand_forc_max\" is no metric that the "
            "sweep kept; did you mean \"hand_force_max\"?");
}

TEST(SweepQuestion, AGoalNeedsADirectionWhereNoneIsBetter) {
  EXPECT_EQ(complaint([] { parse_goal("--best", "travel_max", kept()); }),
            "--best = travel_max: must be a metric and min or max, such as \"travel_max:min\"");
  // Fewer metal contacts are better, so that need not be said; it can be said otherwise.
  EXPECT_FALSE(parse_goal("--best", "metal_contacts", kept()).largest);
  EXPECT_TRUE(parse_goal("--best", "metal_contacts:max", kept()).largest);
  EXPECT_NE(complaint([] { parse_goals("--front", "travel_max:min", kept()); }), "");
  EXPECT_NE(complaint([] { parse_goals("--front", "travel_max:min,travel_max:max", kept()); }), "");
}

TEST(SweepQuestion, MetricsStayInTheOrderOfTheSweep) {
  EXPECT_EQ(parse_metrics("--metrics", "metal_contacts, travel_max", kept()),
            (std::vector<std::string>{"travel_max", "metal_contacts"}));
  EXPECT_NE(complaint([] { parse_metrics("--metrics", "travel_max,", kept()); }), "");
}

TEST(SweepQuestion, AShareIsAboveNoneAndAtMostAll) {
  EXPECT_DOUBLE_EQ(parse_share("--met", "80%"), 0.8);
  EXPECT_DOUBLE_EQ(parse_share("--met", "100 %"), 1.0);
  for (const char* wrong : {"0%", "101%", "-5%", "0.9", "90", "9 mm", "all"}) {
    EXPECT_NE(complaint([&] { parse_share("--met", wrong); }), "") << wrong;
  }
}

}  // namespace
}  // namespace plunge::sweep_question_test
