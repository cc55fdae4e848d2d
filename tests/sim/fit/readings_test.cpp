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

TEST(Readings, AnIdFollowsFromWhatIsSaidAlone) {
  Reading sag;
  sag.kind = ReadingKind::sag;
  sag.reads = 0.025;
  sag.spread = 0.002;
  sag.pressure = 4.8e5;
  sag.weight = 26.0;
  Reading same = sag;
  same.label = "reading 7";
  EXPECT_EQ(reading_id(sag), reading_id(same));
  EXPECT_EQ(reading_id(sag).size(), 8u);
  for (const auto& change :
       {+[](Reading& r) { r.reads = 0.026; }, +[](Reading& r) { r.weight = 27; },
        +[](Reading& r) { r.instrument = "ruler, second evening"; },
        +[](Reading& r) { r.moving = Moving::up; }}) {
    Reading other = sag;
    change(other);
    EXPECT_NE(reading_id(sag), reading_id(other));
  }
}

}  // namespace
}  // namespace plunge::readings_test
