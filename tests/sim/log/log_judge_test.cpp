#include "sim/log/log_judge.hpp"

#include <gtest/gtest.h>

#include "tests/small_log.hpp"

namespace plunge::log_judge_test {
namespace {

bool says(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

class Judged : public testing::Test {
 protected:
  void SetUp() override { add_setting(log_); }

  // Refused with that message, and nothing is added.
  void refused(const char* kind, const std::vector<std::string>& words, const std::string& said) {
    const std::string before = bytes_of(log_.path());
    EXPECT_EQ(log_.refusal(kind, words), said);
    EXPECT_EQ(bytes_of(log_.path()), before);
  }

  const SmallLog log_;
};

TEST_F(Judged, ASettingKeepsToItsForksLimits) {
  refused("setting", {"parent=3", "fork.spacers=6"},
          "fork.spacers = 6: must be 0 to 5 (fork.spacer_limit)");
  refused("setting", {"parent=3", "fork.pressure=151psi"},
          "fork.pressure = 151 psi: must be at most 150 psi (fork.pressure_limit)");
  // The limits are those of scenarios/forks/teasel-150.toml, which are allowed themselves.
  EXPECT_EQ(log_.add("setting", {"parent=3", "fork.spacers=5", "fork.pressure=150psi"}), 4);
}

TEST_F(Judged, LimitsGivenByHandHoldAsWell) {
  log_.add("fork", {"rental", "travel=140mm", "spacer_limit=3", "pressure_limit=120psi"});
  refused("setting", {"fork=rental", "fork.spacers=4", "fork.pressure=121psi"},
          "fork.spacers = 4: must be 0 to 3 (fork.spacer_limit)\n"
          "fork.pressure = 121 psi: must be at most 120 psi (fork.pressure_limit)");
  log_.add("setting", {"fork=rental", "fork.spacers=3", "fork.pressure=120psi"});
}

TEST_F(Judged, ANumberIsInTheRangeOfItsParameter) {
  refused("setting", {"fork=teasel", "fork.pressure=0.5psi"},
          "fork.pressure = 0.5 psi: must be 1 psi to 700 psi");
  refused("setting", {"fork=teasel", "fork.spacers=1.5"},
          "fork.spacers = 1.5: must be a whole number");
  refused("rider", {"wren", "mass=5000kg"}, "rider.mass = 5000 kg: must be 1 kg to 500 kg");
  refused("rider", {"wren", "fork.spacers=1"},
          "fork.spacers: is nothing of a rider: its numbers are rider.*");
}

TEST_F(Judged, ANumberThatNothingOfTheForkReadsIsRefused) {
  EXPECT_TRUE(says(log_.refusal("setting", {"fork=teasel", "fork.coil.rate=5N/mm"}),
                   "nothing of fork \"teasel\" reads it: it belongs to"));
}

TEST_F(Judged, FieldsKeepToTheirRows) {
  refused("ride", {"3", "ring=2001mm"}, "ring = 2001 mm: must be 0 mm to 2000 mm");
  refused("ride", {"3", "bottom_outs=-1"}, "bottom_outs = -1: must be 0 to 1000");
  refused("ride", {"ring=100mm"}, "setting: must be given: how the fork was set up");
  refused("note", {""}, "text: must not be empty");
  refused("prediction", {"travel_max=100mm"},
          "setting: must be given, or a ride: what the prediction is for");
  refused("prediction", {"setting=3"},
          "travel_max: must be given, or a result file: what is predicted");
  refused("reading", {"sag", "fork=teasel", "value=33mm", "spread=2psi"},
          "spread = 13789.5 Pa: must be of the dimension of the value, [m]");
  refused("reading", {"sag", "fork=teasel", "value=33mm", "spread=0mm"},
          "spread = 0 m: must be above 0");
}

TEST_F(Judged, ANameIsItsOwn) {
  refused("fork", {"teasel", "travel=100mm"},
          "name = \"teasel\": is the name of another fork of the log, number 1");
  log_.add("bike", {"teasel", "mass=15kg"});  // of another kind
}

// Names that a terminal, a shell or SQL would take for something else.
TEST_F(Judged, HostileNamesAreRefusedOrKeptAsTheyAre) {
  for (const std::string name : {"a\nb", "a\x1b[2Jb",
                                 "\xe2\x80\xae"
                                 "abc",
                                 " a", "a\tb", "\x7f"}) {
    const std::string said = log_.refusal("rider", {"name=" + name, "mass=70kg"});
    if (name == " a") {
      EXPECT_EQ(said, "") << "blanks at the ends are left out";
    } else {
      EXPECT_TRUE(says(said, "must be one line of letters that show")) << said;
    }
  }
  for (const std::string name : {"caf\xe9", "\xff\xfe", "\xed\xa0\x80"}) {
    EXPECT_TRUE(says(log_.refusal("rider", {"name=" + name}), "must be UTF-8 without NUL"));
  }
  refused("rider", {std::string(201, 'x')},
          "name = \"" + std::string(60, 'x') + "…\": must be at most 200 letters, and has 201");
  refused("note", {std::string(10'001, 'x')},
          "text = \"" + std::string(60, 'x') + "…\": must be at most 10000 letters, and has 10001");
  for (const std::string name : {"it's", "say \"it\"", "'); DROP TABLE entry; --", "Röhre", "日本",
                                 "$(touch x)", "%s%n", "back\\slash", "{x}"}) {
    const std::int64_t number = log_.add("rider", {"name=" + name, "mass=70kg"});
    EXPECT_EQ(log_.read().demand(demand_kind("rider"), name, "").number, number);
    const std::string text = name + "\nsecond line\x01\t";
    const std::int64_t note = log_.add("note", {"text=" + text});
    EXPECT_EQ(log_.read().find(note)->text("text"), text);
  }
}

TEST_F(Judged, AFileIsOneOfItsKindThatIsSound) {
  EXPECT_TRUE(says(log_.refusal("rider", {"wren", kTeasel}), "must be \"rider\""));
  const std::string broken = log_.directory() / "broken.toml";
  std::ofstream(broken) << bytes_of("scenarios/riders/hazel.toml") << "front_share = 3\n";
  EXPECT_TRUE(says(log_.refusal("rider", {"wren", "file=" + broken}), "broken.toml:"));
  EXPECT_TRUE(says(log_.refusal("rider", {"wren", "file=nowhere.toml"}), "does not exist"));
}

// An entry of another program's export may say anything.
TEST_F(Judged, WhatIsNoEntryOfALogIsRefused) {
  LogContent log = log_.read();
  const auto faults_of = [&](LogEntry entry) {
    LogContent more = log;
    entry.number = more.next_number();
    more.entries.push_back(std::move(entry));
    const Faults faults = judge_added(more, more.entries.size() - 1);
    return faults.empty() ? "" : to_string(faults.front());
  };
  LogEntry ride{0, "", find_kind("ride"), "", {{"setting", std::int64_t{3}}}, {}};
  EXPECT_EQ(faults_of(ride), "");
  ride.fields["setting"] = std::int64_t{1};
  EXPECT_EQ(faults_of(ride), "setting = 1: must be a setting, and is a fork");
  ride.fields["setting"] = std::int64_t{9};
  EXPECT_EQ(faults_of(ride), "setting = 9: must be an entry that is there before it");
  ride.fields["setting"] = std::int64_t{3};
  ride.fields["ring"] = kUnset;
  EXPECT_TRUE(says(faults_of(ride), "ring = ")) << "not a number is in no range";
  ride.fields.erase("ring");
  ride.numbers["fork.pressure"] = 1e5;
  EXPECT_EQ(faults_of(ride), "fork.pressure: is no field of a ride");
  const LogEntry undo{0, "", find_kind("undo"), "", {{"entry", std::int64_t{1}}}, {}};
  EXPECT_TRUE(says(faults_of(undo), "must not be undone while setting 3 is not"));
  const LogEntry redo{0, "", find_kind("redo"), "", {{"undo", std::int64_t{1}}}, {}};
  EXPECT_TRUE(says(faults_of(redo), "must be an undo, and is a fork"));
}

}  // namespace
}  // namespace plunge::log_judge_test
