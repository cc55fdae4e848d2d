// The table of complaints.
#include "sim/search/complaint_rows.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <set>

#include "sim/measure/metrics.hpp"

namespace plunge {
namespace {

TEST(ComplaintRows, EachIsTiedToAMetricByWordsOfItsOwn) {
  std::set<std::string_view> words;
  for (const ComplaintRow& row : complaint_rows()) {
    ASSERT_NE(find_metric(row.metric), nullptr) << row.metric;
    EXPECT_TRUE(words.insert(row.words).second);
    EXPECT_EQ(find_complaint(row.words), &row);
    // A share of the travel is a limit of a length.
    EXPECT_TRUE(!row.of_travel || find_metric(row.metric)->unit == "m");
  }
  EXPECT_EQ(words.size(), 10U);
  EXPECT_EQ(find_complaint("too blue"), nullptr);
}

}  // namespace
}  // namespace plunge
