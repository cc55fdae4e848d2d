// One line of the table that tools/check prints: a value that this project did not make, beside
// what plunge finds.
//
//   |got − expected| <= tolerance      in the units of `expected`; NaN fails
//
// The line goes to the file that the environment names in PLUNGE_CHECK_TABLE, where there is one,
// as tab-separated text with the fields in the order below (tests/outside/record.py reads it).
#pragma once

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cstdio>
#include <cstdlib>
#include <string>

namespace plunge {

struct OutsideCheck {
  std::string check;   // what is compared, with its unit: "rms stroke on a class B road [m]"
  std::string source;  // "Sayers 1995", "closed form", "computed", "memory" or "common practice"
  double expected;
  double got;
  double tolerance;  // absolute
};

inline void record(const OutsideCheck& line) {
  EXPECT_NEAR(line.got, line.expected, line.tolerance) << line.check << " (" << line.source << ")";
  const char* table = std::getenv("PLUNGE_CHECK_TABLE");
  if (table == nullptr) return;
  const std::string text = fmt::format("{}\t{}\t{}\t{}\t{}\n", line.check, line.source,
                                       line.expected, line.got, line.tolerance);
  // Tests run side by side: one write in append mode keeps lines whole.
  std::FILE* file = std::fopen(table, "a");
  if (file == nullptr || std::fputs(text.c_str(), file) < 0 || std::fclose(file) != 0) {
    ADD_FAILURE() << "cannot write " << table;
  }
}

}  // namespace plunge
