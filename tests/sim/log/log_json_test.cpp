#include "sim/log/log_json.hpp"

#include <gtest/gtest.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "models/setup/fault.hpp"
#include "tests/small_log.hpp"

namespace plunge::log_json_test {
namespace {

bool says(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

std::size_t import(const SmallLog& log, const std::string& text) {
  return WorkshopLog(log.path(), Absent::begun).import(text, "a.json");
}

// Every kind of entry, awkward texts and numbers, an undo and a redo.
void fill(const SmallLog& log) {
  add_setting(log);
  log.add("bike", {"it's \"one\"", "mass=15.3kg"});
  log.add("setting", {"softer", "parent=3", "bike=4", "fork.pressure=68.123456789psi"});
  log.add("ride", {"5", "ring=141mm", "bottom_outs=1", "remarks=harsh\n\x01\u202e, \"quoted\""});
  log.add("prediction", {"setting=5", "travel_max=0.1m", "scene=drop"});
  log.add("reading", {"sag", "fork=teasel", "value=33mm", "spread=1e-3m", "travel=33mm",
                      "fork.spacers=2", "load=76kg"});
  log.add("reading", {"share of weight", "fork=teasel", "value=0.41"});
  log.add("note", {"日本", "about=4"});
  log.undo();
  log.undo();
  log.redo();
}

TEST(LogJson, WhatIsExportedAndImportedIsTheSame) {
  const SmallLog log;
  fill(log);
  const std::string text = export_json(log.read());
  const SmallLog other;
  EXPECT_EQ(import(other, text), 13u);
  EXPECT_EQ(export_json(other.read()), text);
  const LogContent a = log.read();
  const LogContent b = other.read();
  ASSERT_EQ(a.entries.size(), b.entries.size());
  for (std::size_t i = 0; i < a.entries.size(); ++i) {
    EXPECT_EQ(a.entries[i].fields, b.entries[i].fields);
    EXPECT_EQ(a.entries[i].numbers, b.entries[i].numbers);  // to the last bit
    EXPECT_EQ(a.entries[i].undone, b.entries[i].undone);
  }
  EXPECT_TRUE(a.entries[9].undone);
  EXPECT_FALSE(a.entries[8].undone);
}

TEST(LogJson, WhatIsThereAlreadyIsNotDoubled) {
  const SmallLog log;
  fill(log);
  const std::string text = export_json(log.read());
  EXPECT_EQ(import(log, text), 0u);
  // Two logs that went on apart: each takes from the other what it lacks.
  const SmallLog other;
  import(other, text);
  log.add("note", {"here"});
  other.add("note", {"there"});
  other.add("rider", {"wren", "mass=58kg"});
  EXPECT_EQ(import(log, export_json(other.read())), 2u);
  EXPECT_EQ(import(other, export_json(log.read())), 1u);
  EXPECT_EQ(log.read().of("note").size(), other.read().of("note").size());
  EXPECT_EQ(log.read().demand("wren", "").key, other.read().demand("wren", "").key);
}

TEST(LogJson, AnUndoOfElsewhereHoldsHereToo) {
  const SmallLog log;
  add_setting(log);
  const SmallLog other;
  import(other, export_json(log.read()));
  other.undo();
  EXPECT_EQ(import(log, export_json(other.read())), 1u);
  EXPECT_TRUE(log.read().of("setting").empty());
  // Not where something here rests on what was undone there.
  const SmallLog third;
  import(third, export_json(other.read()));
  third.redo();
  third.add("ride", {"3"});
  other.undo();
  const std::string before = bytes_of(third.path());
  EXPECT_NE(complaint([&] { import(third, export_json(other.read())); }), "");
  EXPECT_EQ(bytes_of(third.path()), before);
}

TEST(LogJson, NamesThatClashAreRefusedAllOrNothing) {
  const SmallLog log;
  log.add("rider", {"hazel", "mass=76kg"});
  const SmallLog other;
  other.add("note", {"first"});
  other.add("rider", {"hazel", "mass=77kg"});
  const std::string before = bytes_of(log.path());
  EXPECT_EQ(complaint([&] { import(log, export_json(other.read())); }),
            "entries[1].name = \"hazel\": is the name of another rider of the log, number 1");
  EXPECT_EQ(bytes_of(log.path()), before);
}

class Edited : public testing::Test {
 protected:
  void SetUp() override {
    fill(log_);
    whole_ = nlohmann::ordered_json::parse(export_json(log_.read()));
  }

  // What importing an edited export into an empty log says; nothing is begun but an empty log.
  template <class Edit>
  std::string refusal(Edit edit) {
    nlohmann::ordered_json document = whole_;
    edit(document);
    return refused_text(document.dump());
  }
  std::string refused_text(const std::string& text) {
    const SmallLog other;
    const std::string said = complaint([&] { import(other, text); });
    EXPECT_TRUE(said.empty() || other.read().entries.empty());
    return said;
  }

  const SmallLog log_;
  nlohmann::ordered_json whole_;
};

using Json = nlohmann::ordered_json;

TEST_F(Edited, AFaultNamesEntryFieldValueAndRule) {
  EXPECT_EQ(refusal([](Json&) {}), "");
  const auto entry = [&](std::size_t at, const char* field, const Json& value) {
    return refusal([&](Json& document) { document["entries"][at][field] = value; });
  };
  EXPECT_EQ(entry(5, "ring", 2.5), "entries[5].ring = 2500 mm: must be 0 mm to 2000 mm");
  EXPECT_EQ(entry(5, "ring", "141mm"),
            "a.json: entries[5].ring = \"141mm\": must be a number in SI");
  EXPECT_EQ(entry(5, "rnig", 0.1), "a.json: entries[5].rnig: is no field of a ride");
  EXPECT_EQ(entry(5, "setting", "0"),
            "a.json: entries[5].setting = \"0\": must be the key of an entry before it");
  EXPECT_EQ(entry(5, "bottom_outs", 1.5),
            "a.json: entries[5].bottom_outs = 1.5: must be a whole number");
  EXPECT_EQ(entry(5, "at", "yesterday"),
            "a.json: entries[5].at = yesterday: must be a time such as 2026-11-26T20:06:48Z");
  EXPECT_EQ(entry(5, "kind", "rode"), "a.json: entries[5].kind = rode: is no kind of entry");
  EXPECT_EQ(entry(5, "key", "x"), "a.json: entries[5].key = x: must be 32 hexadecimal digits");
  EXPECT_TRUE(says(entry(5, "key", whole_["entries"][0]["key"]), "must be given once"));
  EXPECT_EQ(entry(2, "numbers", {{"fork.pressure", 2e6}}),
            "entries[2].fork.pressure = 290.075 psi: must be at most 150 psi "
            "(fork.pressure_limit)");
  EXPECT_EQ(entry(2, "numbers", {{"fork.presure", 2e5}}),
            "entries[2].fork.presure: is no known name; did you mean \"fork.pressure\"?");
  EXPECT_TRUE(says(entry(0, "file", "type = \"fork\""), "entries[0].file: format: must be given"));
  EXPECT_EQ(entry(7, "value", {{"value", 33.0}, {"unit", "mm"}}),
            "entries[7].value = \"mm\": must be in SI units");
  EXPECT_TRUE(says(entry(7, "value", 3), "must be {\"value\": a number in SI"));
  EXPECT_TRUE(
      says(refusal([](Json& document) { document["entries"][3] = 1; }), "must be an object"));
  EXPECT_TRUE(says(refusal([](Json& document) { document["entries"] = 1; }), "must be a list"));
  EXPECT_TRUE(says(refusal([](Json& document) { document["format"] = {2, 0}; }), "must be 1.x"));
  EXPECT_EQ(refusal([](Json& document) { document["format"] = {1, 7}; }), "");
  EXPECT_TRUE(says(refusal([](Json& document) { document["type"] = "plunge ride"; }),
                   "must be \"plunge log\""));
  // The same key here with other contents.
  EXPECT_TRUE(says(complaint([&] {
                     Json document = whole_;
                     document["entries"][1]["name"] = "somebody";
                     import(log_, document.dump());
                   }),
                   "is there already, as number 2, with other contents"));
}

TEST_F(Edited, WhatIsNoJsonIsRefusedWithItsPlace) {
  EXPECT_EQ(refused_text("{\n  \"type\": nonsense}"), "a.json:2:12: is no JSON from here on");
  EXPECT_TRUE(says(refused_text(""), "is no JSON"));
  EXPECT_TRUE(says(refused_text("[1, 2]"), "must be \"plunge log\""));
  EXPECT_TRUE(says(refused_text("{\"type\": 1e999}"), "too large"));
  EXPECT_TRUE(says(refused_text(std::string(2'000'000, '[')), "deeper than"));
  EXPECT_TRUE(says(refused_text("{\"a\":" + std::string(100, '[') + std::string(100, ']') + "}"),
                   "deeper than"));
}

// No cut of an export is taken, and none crashes.
TEST_F(Edited, ACutExportIsRefused) {
  const std::string text = export_json(log_.read());
  for (std::size_t size = 0; size + 3 < text.size(); size += 97) {
    EXPECT_THROW(imported_entries({}, text.substr(0, size), "a.json"), InputError) << size;
  }
}

}  // namespace
}  // namespace plunge::log_json_test
