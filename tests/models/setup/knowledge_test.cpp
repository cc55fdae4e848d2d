#include "models/setup/knowledge.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "models/setup/families.hpp"

namespace plunge::knowledge_test {
namespace {

KnownNumber number(const char* name, Evidence evidence = Evidence::guessed) {
  return {name, evidence, "a test"};
}

// ln q = ln p + e: the variance of q is that of p and of e, their covariance that of p.
TEST(Knowledge, AShareVariesWithWhatItIsAShareOf) {
  Knowledge known;
  known.add(number("p"), 0.3);
  known.add_share(number("q"), 0.4, 0);
  known.add_share(number("r"), 0.0, 1);
  EXPECT_DOUBLE_EQ(known.spread(1), 0.5);
  EXPECT_DOUBLE_EQ(known.covariance(1, 0), 0.09);
  EXPECT_DOUBLE_EQ(known.covariance(0, 1), 0.09);
  EXPECT_DOUBLE_EQ(known.spread(2), 0.5);
  EXPECT_DOUBLE_EQ(known.covariance(2, 1), 0.25);
}

TEST(Knowledge, RemovesANumberWithItsCovariances) {
  Knowledge known;
  known.add(number("p"), 0.3);
  known.add(number("q", Evidence::measured), 0.0);
  known.add_share(number("r"), 0.4, 0);
  known.remove(1);
  ASSERT_EQ(known.size(), 2u);
  EXPECT_EQ(known.find("r"), 1u);
  EXPECT_EQ(known.find("q"), known.size());
  EXPECT_DOUBLE_EQ(known.covariance(0, 1), 0.09);
  EXPECT_EQ(known.count(Evidence::measured), 0u);
  EXPECT_EQ(known.uncertain(), (std::vector<std::size_t>{0, 1}));
}

TEST(Knowledge, SaysHowManyNumbersAreNotMeasured) {
  Knowledge known;
  EXPECT_EQ(guesses_note(known), "");
  known.add(number("p", Evidence::measured), 0.1);
  EXPECT_EQ(guesses_note(known), "");
  known.add(number("q"), 0.1);
  known.add(number("r", Evidence::fitted), 0.1);
  EXPECT_NE(guesses_note(known).find("1 guessed, 1 fitted"), std::string::npos);
}

// L L^T by hand: {4, 2; 2, 10} = {2, 0; 1, 3} times its transpose.
TEST(LowerFactor, IsTheRootOfAMatrix) {
  EXPECT_EQ(lower_factor({4.0, 2.0, 2.0, 10.0}, 2), (std::vector<double>{2.0, 0.0, 1.0, 3.0}));
  EXPECT_TRUE(lower_factor({1.0, 2.0, 2.0, 1.0}, 2).empty());
  EXPECT_TRUE(lower_factor({1.0, 1.0, 1.0, 1.0}, 2).empty());
}

// Whatever a family guesses with a spread may be what a band comes from.
TEST(Knowledge, PeopleHaveAWordForWhatAFamilyGuesses) {
  for (const FamilyRow& row : family_rows()) {
    if (row.spread({}) > 0.0) {
      EXPECT_NE(plain_name(row.name), row.name);
    }
  }
  EXPECT_EQ(plain_name("fork.air.main_volume"), plain_name("fork.air.negative_volume"));
  EXPECT_EQ(plain_name("fork.spacers"), "fork.spacers");
}

}  // namespace
}  // namespace plunge::knowledge_test
