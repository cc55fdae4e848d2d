#include "sim/report/open_text.hpp"

#include <gtest/gtest.h>

#include "models/laws/constants.hpp"

namespace plunge::open_text_test {
namespace {

const Label kSag{"sag", "m", "", "mm", 1, "sag"};

// Between 28 and 40 mm.
OpenNumber open_sag(double applies) {
  OpenNumber open;
  open.name = "sag";
  open.band = {0.028, 0.040};
  open.applies = applies;
  return open;
}

TEST(OpenText, IsRoundedToWhatIsKnownInTheUnitThatPeopleSay) {
  EXPECT_EQ(open_text(0.0342, kSag, open_sag(1.0)), "34 ± 6");
  const Label kPressure{"pressure", "Pa", "", "psi", 1, "pressure"};
  OpenNumber open;
  open.band = {61.0 * 6894.757, 77.0 * 6894.757};
  open.applies = 1.0;
  EXPECT_EQ(open_text(69.0 * 6894.757, kPressure, open), "69 ± 8");
  EXPECT_EQ(open_text(69.0 * 6894.757, in_bar(kPressure, true), open), "4.8 ± 0.6");
}

TEST(OpenText, SaysInHowManyDrawsTheNumberIsThere) {
  EXPECT_EQ(open_text(0.0342, kSag, open_sag(0.64)), "34 ± 6 in 64 %");
  EXPECT_EQ(open_text(kUnset, kSag, open_sag(0.64)), "28 to 40 in 64 %");
  EXPECT_EQ(open_text(0.0342, kSag, open_sag(0.98)), "34 ± 6");
}

TEST(OpenText, NamesTheCausesOfHalfOfIt) {
  OpenNumber open;
  EXPECT_EQ(cause_words(open), "");
  open.causes = {{"bore", 0.4}, {"friction", 0.3}, {"air volumes", 0.2}};
  EXPECT_EQ(cause_words(open), "bore, friction");
  open.causes.front().share = 0.6;
  EXPECT_EQ(cause_words(open), "bore");
}

TEST(OpenText, PressureAloneIsSaidInBar) {
  EXPECT_EQ(in_bar(kSag, true).said, "mm");
  EXPECT_EQ(in_bar({"pressure", "Pa", "", "psi", 1, ""}, false).said, "psi");
}

}  // namespace
}  // namespace plunge::open_text_test
