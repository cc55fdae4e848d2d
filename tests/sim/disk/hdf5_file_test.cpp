#include "sim/disk/hdf5_file.hpp"

#include <gtest/gtest.h>

#include <cerrno>
#include <chrono>
#include <cmath>
#include <cstring>
#include <limits>
#include <thread>

#include "models/setup/fault.hpp"
#include "tests/scratch.hpp"

namespace plunge::hdf5_file_test {
namespace {

Hdf5Writer small_file() {
  Hdf5Writer writer;
  writer.attributes(
      "/", {{"title", std::string("two by three")}, {"format_version", std::vector<int>{1, 0}}});
  writer.dimension("/ride", std::vector<int>{0, 1}, {{"units", std::string("1")}});
  writer.dimension("/time", std::vector<double>{0.0, 0.5, 1.0}, {{"units", std::string("s")}});
  writer.variable("/travel", {"/ride", "/time"}, std::vector<double>{1, 2, 3, 4, 5, 6},
                  {{"units", std::string("m")}});
  writer.group("/energy");
  writer.variable("/energy/damper", {"/ride"}, std::vector<double>{7.0, 8.0}, {});
  writer.variable("/label", {"/ride"}, std::vector<std::string>{"naïve \"µ\"", ""}, {});
  return writer;
}

TEST(Hdf5File, WhatIsWrittenIsReadBackToTheLastBit) {
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

// HDF5 would note when a group was made, in whole seconds.
TEST(Hdf5File, TheBytesDoNotTellWhenTheyWereWritten) {
  const std::string now = small_file().bytes();
  std::this_thread::sleep_for(std::chrono::milliseconds(1100));
  EXPECT_TRUE(small_file().bytes() == now);
}

TEST(Hdf5File, LargeTracesAreCompressedWithoutLoss) {
  const ScratchDirectory directory;
  // 2^18 doubles are 2 MiB, over kCompressFrom; a slow sine leaves the high bytes compressible.
  std::vector<double> values(1u << 18);
  for (std::size_t i = 0; i < values.size(); ++i) {
    values[i] = std::round(1e6 * std::sin(1e-4 * static_cast<double>(i))) / 1048576.0;
  }
  Hdf5Writer writer;
  writer.dimension("/one", std::vector<int>{0}, {});
  writer.dimension("/time", values, {});
  writer.variable("/travel", {"/one", "/time"}, values, {});
  writer.save(directory / "a.h5");
  EXPECT_EQ(Hdf5Reader(directory / "a.h5").numbers("/travel"), values);
  EXPECT_LT(std::filesystem::file_size(directory / "a.h5"), values.size() * sizeof(double));
}

TEST(Hdf5File, KeepsTextShapesAttributesAndOrder) {
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

TEST(Hdf5File, TheSameContentsGiveTheSameBytes) {
  const ScratchDirectory directory;
  small_file().save(directory / "a.h5");
  small_file().save(directory / "b.h5");
  EXPECT_EQ(bytes_of(directory / "a.h5"), bytes_of(directory / "b.h5"));
}

TEST(Hdf5File, OtherToolsFindUnitsAndScales) {
  const ScratchDirectory directory;
  small_file().save(directory / "a.h5");
  const std::string dump = output_of("h5dump -d /travel " + (directory / "a.h5"));
  for (const char* word : {"H5T_IEEE_F64LE", "ATTRIBUTE \"units\"", "\"m\"", "( 2, 3 )",
                           "ATTRIBUTE \"DIMENSION_LIST\"", "/time\"", "_FillValue"}) {
    EXPECT_NE(dump.find(word), std::string::npos) << word << " in " << dump;
  }
}

TEST(Hdf5File, RefusesContentsThatContradictThemselves) {
  const std::vector<double> two = {1.0, 2.0};
  Hdf5Writer writer;
  writer.dimension("/ride", two, {});
  writer.variable("/travel", {"/ride"}, two, {});
  EXPECT_THROW(writer.variable("/travel", {"/ride"}, two, {}), std::invalid_argument);
  EXPECT_THROW(writer.variable("/force", {"/time"}, two, {}), std::invalid_argument);
  EXPECT_THROW(writer.variable("/force", {"/ride"}, std::vector<double>{1.0}, {}),
               std::invalid_argument);
  const std::vector<std::string> with_nul = {std::string("a\0b", 3), "c"};
  EXPECT_THROW(writer.variable("/label", {"/ride"}, with_nul, {}), std::invalid_argument);
}

TEST(Hdf5File, ReaderSaysWhatIsWrongWithAFile) {
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
  EXPECT_EQ(complaint([&] { reader.texts("/travel"); }),
            good + ": /travel: must hold text of variable length");
  EXPECT_EQ(complaint([&] { reader.text_attribute("/travel", "colour"); }),
            good + ": /travel: attribute colour is missing");
}

TEST(Hdf5File, AFileCutShortAnywhereIsRefusedInSilence) {
  const ScratchDirectory directory;
  small_file().save(directory / "whole.h5");
  const std::string whole = bytes_of(directory / "whole.h5");
  const std::string cut = directory / "cut.h5";
  testing::internal::CaptureStderr();
  for (std::size_t size = 0; size < whole.size(); size += 11) {
    std::ofstream(cut, std::ios::binary).write(whole.data(), static_cast<std::streamsize>(size));
    EXPECT_THROW(Hdf5Reader reader(cut), InputError) << size << " bytes of " << whole.size();
  }
  EXPECT_EQ(testing::internal::GetCapturedStderr(), "");
  std::ofstream(cut, std::ios::binary)
      .write(whole.data(), static_cast<std::streamsize>(whole.size() - 1));
  const std::string message = complaint([&] { Hdf5Reader reader(cut); });
  EXPECT_EQ(message.rfind(cut + ": is damaged or cut short: ", 0), 0u) << message;
}

TEST(Hdf5File, AnyDamagedByteIsNoticed) {
  const ScratchDirectory directory;
  small_file().save(directory / "whole.h5");
  const std::string whole = bytes_of(directory / "whole.h5");
  const std::string path = directory / "damaged.h5";
  for (std::size_t i = 0; i < whole.size(); i += 13) {
    std::string damaged = whole;
    damaged[i] = static_cast<char>(damaged[i] ^ 1);
    std::ofstream(path, std::ios::binary) << damaged;
    EXPECT_THROW(Hdf5Reader reader(path), InputError) << "byte " << i;
  }
}

TEST(Hdf5File, AFullDiskKeepsTheOldFileAndSaysSo) {
  const ScratchDirectory directory;
  const SmallDisk disk(directory.path());
  if (!disk.mounted()) GTEST_SKIP() << "cannot mount a small disk: " << std::strerror(errno);
  const std::string path = directory / "a.h5";
  small_file().save(path);
  const std::string before = bytes_of(path);

  const std::vector<double> values(20000, 0.1);  // 160 kB on a disk of 64 kB
  testing::internal::CaptureStderr();
  const std::string message = complaint([&] {
    Hdf5Writer writer;
    writer.dimension("/time", values, {});
    writer.save(path);
  });
  EXPECT_EQ(testing::internal::GetCapturedStderr(), "");
  EXPECT_EQ(message, "cannot write " + path + ": No space left on device");
  EXPECT_EQ(bytes_of(path), before);
  EXPECT_EQ(directory.entries(), 1u);
  small_file().save(path);  // the library still works
}

TEST(Hdf5File, ADottedNameBecomesOneWithUnderscores) {
  EXPECT_EQ(hdf5_name("fork.spacers"), "fork_spacers");
  EXPECT_EQ(hdf5_name("event[2].at"), "event_2__at");
  EXPECT_EQ(hdf5_name("travel_max"), "travel_max");
}

}  // namespace
}  // namespace plunge::hdf5_file_test
