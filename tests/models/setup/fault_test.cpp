#include "models/setup/fault.hpp"

#include <gtest/gtest.h>

namespace plunge::fault_test {
namespace {

TEST(Fault, SaysPlaceKeyValueAndRuleAsFarAsTheyAreKnown) {
  // By hand, the order that the header promises.
  const Fault full{"fork.spacers", "9", "must be 0 to 4", {"drop.toml", 12, 9}};
  EXPECT_EQ(to_string(full), "drop.toml:12:9: fork.spacers = 9: must be 0 to 4");
  EXPECT_EQ(to_string(Fault{"fork.travel", "", "must be given", {"a.toml", 0, 0}}),
            "a.toml: fork.travel: must be given");
  EXPECT_EQ(to_string(Fault{"", "x.toml", "cannot be read", {}}), "x.toml: cannot be read");
}

TEST(Fault, WhatAFileHidesInAValueDoesNotReachTheTerminal) {
  const std::string text = to_string(Fault{"name", "a\x1b[2Jb", "is odd", {}});
  EXPECT_EQ(text.find('\x1b'), std::string::npos);
}

TEST(InputError, TellsEveryFaultOnALineOfItsOwn) {
  const InputError error(Faults{{"a", "1", "is one", {}}, {"b", "2", "is two", {}}});
  EXPECT_STREQ(error.what(), "a = 1: is one\nb = 2: is two");
  EXPECT_EQ(error.faults().size(), 2u);
}

}  // namespace
}  // namespace plunge::fault_test
