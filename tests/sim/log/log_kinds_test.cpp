#include "sim/log/log_kinds.hpp"

#include <gtest/gtest.h>

#include <set>

#include "models/setup/parameters.hpp"
#include "sim/log/log_schema.hpp"
#include "sim/text/units.hpp"
#include "tests/scratch.hpp"

namespace plunge::log_kinds_test {
namespace {

TEST(LogKinds, EveryFieldIsToldInFull) {
  std::set<std::string_view> names;
  for (const LogKind& kind : log_kinds()) {
    EXPECT_TRUE(names.insert(kind.name).second) << kind.name;
    EXPECT_FALSE(kind.meaning.empty());
    ASSERT_FALSE(kind.fields.empty());
    std::set<std::string_view> fields;
    for (const LogField& field : kind.fields) {
      EXPECT_TRUE(fields.insert(field.name).second) << kind.name << "." << field.name;
      EXPECT_FALSE(field.meaning.empty()) << field.name;
      // What stands beside the fields of an entry in an export.
      for (const char* const taken : {"number", "key", "kind", "at", "numbers"}) {
        EXPECT_NE(field.name, taken);
      }
      EXPECT_EQ(find_parameter(field.name), nullptr);
      if (field.type == FieldType::quantity) {
        EXPECT_NE(find_common_unit(field.said), nullptr) << field.name;
        EXPECT_EQ(si_unit_of(field.said), field.unit) << field.name;
      }
      if (field.type == FieldType::quantity || field.type == FieldType::whole) {
        EXPECT_LT(field.low, field.high) << field.name;
      }
      EXPECT_TRUE(field.refers.empty() || find_kind(field.refers) != nullptr) << field.name;
    }
  }
  // A ring may read as far as the longest fork moves: the table of parameters says how far.
  EXPECT_EQ(find_kind("ride")->find("ring")->high, find_parameter("fork.travel")->high);
}

TEST(LogKinds, AreFoundByOneOrByMany) {
  EXPECT_EQ(find_kind("ride"), find_kind("rides"));
  EXPECT_EQ(&demand_kind("forks"), find_kind("fork"));
  EXPECT_EQ(find_kind("ridess"), nullptr);
  EXPECT_EQ(complaint([] { demand_kind("forc"); }),
            "kind = forc: is no kind of entry; did you mean \"fork\"?");
}

TEST(LogKinds, NumbersHaveTheUnitsOfTheirTables) {
  EXPECT_EQ(unit_of_number("fork.pressure").unit, "Pa");
  EXPECT_EQ(unit_of_number("fork.pressure").said, "psi");
  EXPECT_EQ(unit_of_number("travel_max").unit, "m");
  EXPECT_EQ(unit_of_number("fork.presure").unit, "");
}

TEST(LogKinds, ThePageHoldsEveryFieldAndEveryTableOfTheDatabase) {
  const std::string page = bytes_of("scenarios/log.md");
  EXPECT_NE(page.find(log_page()), std::string::npos) << "must hold:\n" << log_page();
  for (const std::string& table : log_format().tables) {
    // Triggers are told once: all tables have the same.
    if (table.starts_with("CREATE TRIGGER") && !table.starts_with("CREATE TRIGGER entry_"))
      continue;
    EXPECT_NE(page.find(table + ";\n"), std::string::npos) << "must hold:\n" << table << ";";
  }
  EXPECT_NE(page.find("user_version " + std::to_string(kLogVersion)), std::string::npos);
}

}  // namespace
}  // namespace plunge::log_kinds_test
