#include "sim/log/log_content.hpp"

#include <gtest/gtest.h>

#include "tests/small_log.hpp"

namespace plunge::log_content_test {
namespace {

std::string refused(const SmallLog& log, const char* kind, const char* word) {
  return complaint([&] { log.read().demand(demand_kind(kind), word, "it"); });
}

TEST(LogContent, FindsByNameAndByNumberWhatIsNotUndone) {
  const SmallLog log;
  add_setting(log);
  log.add("fork", {"3", kTeasel});
  const LogContent content = log.read();
  EXPECT_EQ(content.demand(demand_kind("fork"), "teasel", "").number, 1);
  EXPECT_EQ(content.demand(demand_kind("fork"), "1", "").number, 1);
  EXPECT_EQ(content.demand(demand_kind("fork"), "3", "").number, 4) << "a name goes first";
  EXPECT_EQ(content.demand("hazel", "").number, 2);
  EXPECT_EQ(content.demand("2", "").number, 2);
  EXPECT_EQ(refused(log, "fork", "taesel"),
            "it = \"taesel\": is no name and no number of a fork in the log; did you mean "
            "\"teasel\"?");
  EXPECT_EQ(refused(log, "setting", "2"), "it = 2: must be a setting, and is a rider");
  EXPECT_EQ(log.undo(), 4);
  EXPECT_EQ(refused(log, "fork", "4"), "it = 4: is a fork that was undone");
  EXPECT_NE(refused(log, "fork", "-1"), "");
  EXPECT_NE(refused(log, "fork", "99999999999999999999"), "");
}

TEST(LogContent, ANameOfTwoKindsAsksForTheNumber) {
  const SmallLog log;
  log.add("fork", {"sorrel", "travel=120mm"});
  log.add("bike", {"sorrel", "mass=14kg"});
  EXPECT_EQ(complaint([&] { log.read().demand("sorrel", "entry"); }),
            "entry = \"sorrel\": is the name of fork 1, bike 2: give the number");
}

// Undo marks the last entry, redo takes the last undo back, each as often as there is something.
TEST(LogContent, UndoAndRedoGoBackAndForthAndRemoveNothing) {
  const SmallLog log;
  for (const char* const text : {"a", "b", "c"}) log.add("note", {text});
  EXPECT_EQ(log.undo(), 3);
  EXPECT_EQ(log.undo(), 2);
  EXPECT_EQ(log.read().of("note").size(), 1u);
  EXPECT_EQ(log.read().entries.size(), 5u);
  EXPECT_EQ(log.redo(), 2);
  EXPECT_EQ(log.redo(), 3);
  EXPECT_NE(complaint([&] { log.redo(); }).find("has no undo to take back"), std::string::npos);
  EXPECT_EQ(log.read().of("note").size(), 3u);
  EXPECT_EQ(log.undo(), 3);
  log.add("note", {"d"});
  EXPECT_NE(complaint([&] { log.redo(); }).find("since the last addition"), std::string::npos);
  EXPECT_EQ(log.undo(), 8 + 1);
  EXPECT_EQ(log.undo(), 2);
  EXPECT_EQ(log.undo(), 1);
  EXPECT_NE(complaint([&] { log.undo(); }).find("nothing that could be undone"), std::string::npos);
  EXPECT_EQ(log.redo(), 1);
  const LogContent content = log.read();
  EXPECT_EQ(content.entries.back().kind->name, "redo");
  for (std::size_t i = 0; i < content.entries.size(); ++i) {
    EXPECT_EQ(content.entries[i].number, static_cast<std::int64_t>(i + 1));
  }
}

// What is undone gives its name free; what rests on it can't come back before it.
TEST(LogContent, AnUndoneNameIsFree) {
  const SmallLog log;
  log.add("rider", {"wren", "mass=58kg"});
  log.undo();
  EXPECT_EQ(log.add("rider", {"wren", "mass=59kg"}), 3);
  EXPECT_EQ(log.read().demand("wren", "").number, 3);
}

}  // namespace
}  // namespace plunge::log_content_test
