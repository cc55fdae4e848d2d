#include "sim/text/band_text.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

namespace plunge::band_text_test {
namespace {

struct Row {
  double value;
  double low;
  double high;
  int decimals;
  const char* said;
};

// By hand from the header's rule.
TEST(BandText, RoundsToWhatIsKnown) {
  const Row rows[] = {
      {69.4, 61.2, 77.9, 1, "69 ± 8"},
      {69.4, 69.1, 69.7, 1, "69.4 ± 0.3"},
      {1234.0, 1101.0, 1369.0, 0, "1230 ± 130"},
      {1234.0, 934.0, 1534.0, 0, "1200 ± 300"},
      {12.34, 11.14, 13.54, 2, "12.3 ± 1.2"},
      {12.34, 11.42, 13.26, 2, "12.3 ± 0.9"},
      {12.34, 11.38, 13.30, 2, "12.3 ± 1.0"},
      {100.2, 90.4, 110.0, 1, "100 ± 10"},
      {0.5, 0.3, 0.7, 2, "0.5 ± 0.2"},
      {0.0, -2.0, 2.0, 1, "0 ± 2"},
      {-0.04, -2.0, 2.0, 1, "0 ± 2"},
      {-55.0, -75.0, -35.0, 1, "-60 ± 20"},
      // One side wider than the other by more than half.
      {0.312, 0.28, 0.45, 2, "0.31 (0.28 to 0.45)"},
      {0.0, 0.0, 3.0, 0, "0 (0 to 3)"},
      {5.0, 6.0, 9.0, 0, "5 (6 to 9)"},
      {1567.0, 1180.0, 6090.0, 0, "1600 (1200 to 6100)"},
      {191.0, 30.0, 6190.0, 0, "190 (30 to 6190)"},
      {1.93, 1.2, 6.04, 2, "1.9 (1.2 to 6.0)"},
      // Nothing finer than the number's own decimals.
      {33.04, 32.98, 33.06, 1, "33.0"},
      {33.0, 32.84, 33.16, 1, "33.0 ± 0.2"},
      {0.123, 0.1, 0.146, 2, "0.12 ± 0.02"},
      {7.0, 7.0, 7.0, 1, "7.0"},
      {7.0, std::nan(""), std::nan(""), 1, "7.0"},
  };
  for (const Row& row : rows) {
    EXPECT_EQ(with_band(row.value, row.low, row.high, row.decimals), row.said);
  }
}

TEST(BandText, PlacesTheLastDigitOfAWidth) {
  const std::pair<double, int> rows[] = {{1.0, -1},   {1.94, -1}, {1.96, 0}, {2.0, 0},
                                         {9.96, 0},   {10.0, 0},  {19.0, 0}, {20.0, 1},
                                         {0.012, -3}, {0.03, -2}, {450.0, 2}};
  for (const auto& [width, place] : rows) EXPECT_EQ(last_place(width), place) << width;
}

TEST(BandText, SaysTheBandAlone) {
  EXPECT_EQ(band_text(61.2, 77.9, 1), "61 to 78");
  EXPECT_EQ(band_text(0.0, 250.0, 0), "0 to 250");
  EXPECT_EQ(band_text(3.0, 3.0, 1), "3.0 to 3.0");
}

}  // namespace
}  // namespace plunge::band_text_test
