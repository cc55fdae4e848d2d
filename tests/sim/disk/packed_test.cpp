#include "sim/disk/packed.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <vector>

#include "sim/disk/hdf5_reader.hpp"
#include "sim/disk/hdf5_writer.hpp"
#include "tests/scratch.hpp"

namespace plunge::packed_test {
namespace {

// HDF5's own filters unpack them: numbers of every kind, in pieces that reach past both ends.
TEST(Packed, TheLibraryReadsWhatWasPackedToTheLastBit) {
  const ScratchDirectory directory;
  constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();
  Hdf5Writer writer;
  writer.dimension("/ride", std::vector<int>{0, 1, 2}, {});
  writer.dimension("/time", std::vector<double>{0, 1, 2, 3, 4}, {});
  writer.pieces("/travel", {"/ride", "/time"}, {1, 3}, {});
  const std::vector<double> first = {1e-300, -0.0, std::sqrt(2.0)};
  writer.write_piece("/travel", {0, 0}, packed(first));
  writer.write_piece("/travel", {0, 3}, packed(std::vector<double>{4.0, 5.0, kNaN}));
  writer.write_piece("/travel", {2, 3}, packed(std::vector<double>{6.0, 7.0, kNaN}));
  writer.save(directory / "a.h5");
  const std::vector<double> read = Hdf5Reader(directory / "a.h5").numbers("/travel");
  ASSERT_EQ(read.size(), 15u);
  for (std::size_t i = 0; i < 3; ++i) EXPECT_EQ(read[i], first[i]);
  EXPECT_TRUE(std::signbit(read[1]));
  EXPECT_EQ(read[3], 4.0);
  EXPECT_EQ(read[4], 5.0);
  for (std::size_t i = 5; i < 13; ++i) EXPECT_TRUE(std::isnan(read[i])) << i;  // never written
  EXPECT_EQ(read[13], 6.0);
  EXPECT_EQ(read[14], 7.0);
}

// A slow sine's high bytes repeat: shuffled they fall to less than the six low bytes that differ.
TEST(Packed, SmoothTracesGetSmaller) {
  std::vector<double> values(16384);
  for (std::size_t i = 0; i < values.size(); ++i)
    values[i] = 2.0 + std::sin(1e-4 * static_cast<double>(i));
  EXPECT_LT(static_cast<double>(packed(values).size()), 6.5 * static_cast<double>(values.size()));
}

}  // namespace
}  // namespace plunge::packed_test
