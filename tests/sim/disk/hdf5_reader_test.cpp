#include "sim/disk/hdf5_reader.hpp"

#include <gtest/gtest.h>

#include <cstring>
#include <fstream>
#include <limits>
#include <string>
#include <vector>

#include "sim/disk/hdf5_writer.hpp"
#include "tests/scratch.hpp"
#include "tests/small_hdf5.hpp"

namespace plunge::hdf5_reader_test {
namespace {

TEST(Hdf5Reader, WhatIsWrittenIsReadBackToTheLastBit) {
  const ScratchDirectory directory;
  // By hand: the corner cases of IEEE 754, negative zero, the smallest and the largest number.
  const std::vector<double> numbers = {0.1,
                                       -0.0,
                                       std::numeric_limits<double>::denorm_min(),
                                       std::numeric_limits<double>::max(),
                                       -std::numeric_limits<double>::infinity(),
                                       std::numeric_limits<double>::quiet_NaN()};
  Hdf5Writer writer;
  writer.dimension("/n", numbers, {});
  writer.variable("/copy", {"/n"}, numbers, {});
  writer.save(directory / "a.h5");
  const Hdf5Reader reader(directory / "a.h5");
  for (const char* name : {"/n", "/copy"}) {
    const std::vector<double> read = reader.numbers(name);
    ASSERT_EQ(read.size(), numbers.size());
    EXPECT_EQ(std::memcmp(read.data(), numbers.data(), numbers.size() * sizeof(double)), 0);
  }
}

TEST(Hdf5Reader, KeepsTextShapesAttributesAndOrder) {
  const ScratchDirectory directory;
  small_file().save(directory / "a.h5");
  const Hdf5Reader reader(directory / "a.h5");
  EXPECT_EQ(reader.variables("/"),
            (std::vector<std::string>{"ride", "time", "travel", "label"}));  // groups left out
  EXPECT_EQ(reader.shape("/travel"), (std::vector<std::size_t>{2, 3}));
  EXPECT_EQ(reader.texts("/label"), (std::vector<std::string>{"naïve \"µ\"", ""}));
  EXPECT_EQ(reader.integers("/ride"), (std::vector<int>{0, 1}));
  EXPECT_EQ(reader.text_attribute("/travel", "units"), "m");
  EXPECT_EQ(reader.integer_attribute("/", "format_version"), (std::vector<int>{1, 0}));
  EXPECT_TRUE(reader.has("/energy/damper"));
  EXPECT_FALSE(reader.has("/energy/gravity"));
  EXPECT_FALSE(reader.has("/nowhere/at/all"));
}

TEST(Hdf5Reader, ReaderSaysWhatIsWrongWithAFile) {
  const ScratchDirectory directory;
  const std::string missing = directory / "missing.h5";
  EXPECT_EQ(complaint([&] { Hdf5Reader reader(missing); }),
            missing + ": cannot be read: No such file or directory");
  EXPECT_EQ(complaint([&] { Hdf5Reader reader(directory.path().string()); }),
            directory.path().string() + ": cannot be read: it is not a regular file");
  for (const char* contents : {"", "x,y\n1,2\n"}) {
    const std::string text = directory / "text.h5";
    std::ofstream(text) << contents;
    EXPECT_EQ(complaint([&] { Hdf5Reader reader(text); }), text + ": is not an HDF5 file");
  }
  const std::string good = directory / "good.h5";
  small_file().save(good);
  const Hdf5Reader reader(good);
  EXPECT_EQ(complaint([&] { reader.numbers("/force"); }), good + ": /force: is missing");
  EXPECT_EQ(complaint([&] { reader.numbers("/label"); }), good + ": /label: must hold numbers");
  EXPECT_EQ(complaint([&] { reader.integers("/travel"); }),
            good + ": /travel: must hold whole numbers");
  EXPECT_EQ(complaint([&] { reader.texts("/travel"); }), good + ": /travel: must hold text");
  EXPECT_EQ(complaint([&] { reader.text_attribute("/travel", "colour"); }),
            good + ": /travel: attribute colour is missing");
}

}  // namespace
}  // namespace plunge::hdf5_reader_test
