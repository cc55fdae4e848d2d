#include "sim/disk/text_file.hpp"

#include <gtest/gtest.h>

#include <string>

#include "sim/text/utf8.hpp"
#include "tests/scratch.hpp"

namespace plunge::text_file_test {
namespace {

TEST(TextFile, OnlyWellFormedUtf8IsText) {
  // Unicode 15, table 3-7: first and last of each row, then what lies just outside.
  for (const char* good : {"a", "\xC2\x80", "\xDF\xBF", "\xE0\xA0\x80", "\xED\x9F\xBF",
                           "\xEF\xBF\xBF", "\xF0\x90\x80\x80", "\xF4\x8F\xBF\xBF"}) {
    EXPECT_EQ(complaint([&] { demand_utf8(good, "x"); }), "");
  }
  for (const char* bad : {"\x80", "\xC1\xBF", "\xE0\x9F\xBF", "\xED\xA0\x80", "\xF0\x8F\xBF\xBF",
                          "\xF4\x90\x80\x80", "\xF5\x80\x80\x80", "\xC2", "\xE2\x82", "\xC2\x41"}) {
    EXPECT_NE(complaint([&] { demand_utf8(bad, "x"); }), "");
  }
  EXPECT_EQ(complaint([&] { demand_utf8("a\n\xC3\xA9\xFF", "x"); }),
            "x:2:2: byte 0xff: is not text: the file must be UTF-8");
}

TEST(TextFile, WhatIsNoFileIsNamed) {
  const ScratchDirectory scratch;
  const auto about = [&](const std::string& name) {
    return complaint([&] { read_text_file(name); });
  };
  EXPECT_EQ(about(scratch / "none"), (scratch / "none") + ": does not exist");
  EXPECT_EQ(about(scratch.path().string()),
            scratch.path().string() + ": is a directory, not a file");
  EXPECT_EQ(about("/dev/zero"), "/dev/zero: is not a regular file");
  EXPECT_EQ(about(""), "is no name of a file");
  std::ofstream(scratch / "marked") << "\xEF\xBB\xBFtext\n";
  EXPECT_EQ(read_text_file(scratch / "marked"), "text\n");
  std::ofstream(scratch / "empty");
  EXPECT_EQ(read_text_file(scratch / "empty"), "");
}

}  // namespace
}  // namespace plunge::text_file_test
