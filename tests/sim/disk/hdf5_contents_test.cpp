#include "sim/disk/hdf5_contents.hpp"

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "sim/disk/hdf5_reader.hpp"
#include "sim/disk/hdf5_writer.hpp"
#include "tests/scratch.hpp"

namespace plunge::hdf5_contents_test {
namespace {

// Numbers of the values in a box, the last axis fastest.
std::vector<std::uint64_t> values_in(const std::vector<std::uint64_t>& shape, const Hdf5Box& box) {
  std::vector<std::uint64_t> numbers;
  for (std::uint64_t n = 0; n < count_of(shape); ++n) {
    std::uint64_t rest = n;
    bool inside = true;
    for (std::size_t axis = shape.size(); axis-- > 0;) {
      const std::uint64_t at = rest % shape[axis];
      rest /= shape[axis];
      inside = inside && at >= box.start[axis] && at < box.start[axis] + box.size[axis];
    }
    if (inside) numbers.push_back(n);
  }
  return numbers;
}

TEST(Hdf5Contents, BoxesOfARunAreItsValuesInOrder) {
  for (const std::vector<std::uint64_t>& shape :
       {std::vector<std::uint64_t>{7}, {3, 4}, {2, 3, 4}, {1, 5, 1, 2}, {4, 1}}) {
    const std::uint64_t all = count_of(shape);
    for (std::uint64_t first = 0; first < all; ++first) {
      for (std::uint64_t count = 0; first + count <= all; ++count) {
        std::vector<std::uint64_t> expected, got;
        for (std::uint64_t n = first; n < first + count; ++n) expected.push_back(n);
        const std::vector<Hdf5Box> boxes = boxes_of_run(shape, first, count);
        for (const Hdf5Box& box : boxes) {
          for (const std::uint64_t n : values_in(shape, box)) got.push_back(n);
        }
        EXPECT_EQ(got, expected) << first << " " << count;
        EXPECT_LE(boxes.size(), 2 * shape.size());
      }
    }
  }
}

// More values than are handed on at once, in a table that is stored in pieces and one that is not.
TEST(Hdf5Contents, ARunOfALargeTableIsWhatStandsThere) {
  const ScratchDirectory directory;
  const std::size_t rows = 3, columns = kPieceValues / 2 + 777;
  std::vector<double> numbers(rows * columns);
  for (std::size_t i = 0; i < numbers.size(); ++i) numbers[i] = static_cast<double>(i) / 3.0;
  std::vector<int> wholes(numbers.size());
  for (std::size_t i = 0; i < wholes.size(); ++i) wholes[i] = static_cast<int>(i) - 5;
  Hdf5Writer writer;
  writer.dimension("/row", std::vector<int>(rows), {});
  writer.dimension("/column", std::vector<int>(columns), {});
  writer.variable("/reals", {"/row", "/column"}, numbers, {});
  writer.variable("/wholes", {"/row", "/column"}, wholes, {});
  writer.save(directory / "a.h5");
  const Hdf5Reader reader(directory / "a.h5");
  EXPECT_TRUE(reader.numbers("/reals") == numbers);
  EXPECT_TRUE(reader.integers("/wholes") == wholes);
  for (const std::size_t first : {std::size_t{0}, columns - 3, columns, 2 * columns + 5}) {
    for (const std::size_t count : {std::size_t{0}, std::size_t{1}, std::size_t{7}, columns - 6}) {
      const auto begin = static_cast<std::ptrdiff_t>(first);
      const auto end = static_cast<std::ptrdiff_t>(first + count);
      EXPECT_TRUE(reader.numbers("/reals", first, count) ==
                  std::vector<double>(numbers.begin() + begin, numbers.begin() + end));
      EXPECT_TRUE(reader.integers("/wholes", first, count) ==
                  std::vector<int>(wholes.begin() + begin, wholes.begin() + end));
    }
  }
  EXPECT_EQ(complaint([&] { reader.numbers("/reals", 3 * columns, 1); }),
            (directory / "a.h5") + ": /reals: must have more values");
}

}  // namespace
}  // namespace plunge::hdf5_contents_test
