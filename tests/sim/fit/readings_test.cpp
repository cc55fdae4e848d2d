#include "sim/fit/readings.hpp"

#include <gtest/gtest.h>

#include <string>

#include "sim/disk/text_file.hpp"

namespace plunge::readings_test {
namespace {

TEST(Readings, ThePageHoldsTheTables) {
  const std::string page = read_text_file("scenarios/format.md");
  const std::string begin = "<!-- from the readings: begin -->\n";
  const std::size_t start = page.find(begin);
  const std::size_t end = page.find("<!-- from the readings: end -->");
  ASSERT_NE(start, std::string::npos);
  EXPECT_EQ(page.substr(start + begin.size(), end - start - begin.size()), readings_page());
}

TEST(Readings, EveryKindHasItsRow) {
  for (const ReadingRow& row : reading_rows()) {
    EXPECT_EQ(&row_of(row.kind), &row) << row.name;
    EXPECT_LT(row.low, row.high);
    EXPECT_NE(find_common_unit(row.said), nullptr);
  }
}

}  // namespace
}  // namespace plunge::readings_test
