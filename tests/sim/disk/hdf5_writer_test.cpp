#include "sim/disk/hdf5_writer.hpp"

#include <gtest/gtest.h>

#include <cerrno>
#include <chrono>
#include <cmath>
#include <cstring>
#include <filesystem>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

#include "sim/disk/hdf5_reader.hpp"
#include "sim/disk/packed.hpp"
#include "tests/scratch.hpp"
#include "tests/small_hdf5.hpp"

namespace plunge::hdf5_writer_test {
namespace {

// HDF5 would note when a group was made, in whole seconds.
TEST(Hdf5Writer, TheBytesDoNotTellWhenTheyWereWritten) {
  const std::string now = small_file().bytes();
  std::this_thread::sleep_for(std::chrono::milliseconds(1100));
  EXPECT_TRUE(small_file().bytes() == now);
}

TEST(Hdf5Writer, LargeTracesAreCompressedWithoutLoss) {
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

// Octave and NCO stop at attributes of variable length.
TEST(Hdf5Writer, TextOfAttributesHasAFixedLengthAndIsAsciiWhereItCanBe) {
  const ScratchDirectory directory;
  const std::string path = directory / "a.h5";
  // Past 64 KiB an attribute does not fit the header of its object.
  const std::string large(200'000, 'x');
  Hdf5Writer writer;
  writer.attributes("/", {{"units", "m"}, {"name", "naïve µ"}, {"none", ""}, {"plan", large}});
  writer.save(path);
  const Hdf5Reader reader(path);
  EXPECT_EQ(reader.text_attribute("/", "units"), "m");
  EXPECT_EQ(reader.text_attribute("/", "name"), "naïve µ");
  EXPECT_EQ(reader.text_attribute("/", "none"), "");
  EXPECT_EQ(reader.text_attribute("/", "plan"), large);
  const auto dump = [&](const std::string& name) {
    return output_of("h5dump -a " + name + " " + path);
  };
  EXPECT_NE(dump("units").find("STRSIZE 2;"), std::string::npos) << dump("units");
  EXPECT_NE(dump("units").find("H5T_CSET_ASCII"), std::string::npos);
  EXPECT_NE(dump("name").find("H5T_CSET_UTF8"), std::string::npos) << dump("name");
  for (const char* name : {"units", "name", "none", "plan"}) {
    EXPECT_EQ(dump(name).find("H5T_VARIABLE"), std::string::npos) << name;
  }
}

TEST(Hdf5Writer, TheSameContentsGiveTheSameBytes) {
  const ScratchDirectory directory;
  small_file().save(directory / "a.h5");
  small_file().save(directory / "b.h5");
  EXPECT_EQ(bytes_of(directory / "a.h5"), bytes_of(directory / "b.h5"));
}

TEST(Hdf5Writer, OtherToolsFindUnitsAndScales) {
  const ScratchDirectory directory;
  small_file().save(directory / "a.h5");
  const std::string dump = output_of("h5dump -d /travel " + (directory / "a.h5"));
  for (const char* word : {"H5T_IEEE_F64LE", "ATTRIBUTE \"units\"", "\"m\"", "( 2, 3 )",
                           "ATTRIBUTE \"DIMENSION_LIST\"", "/time\"", "_FillValue"}) {
    EXPECT_NE(dump.find(word), std::string::npos) << word << " in " << dump;
  }
}

TEST(Hdf5Writer, RowsAreWrittenOneAtATime) {
  const ScratchDirectory directory;
  Hdf5Writer writer;
  writer.dimension("/ride", std::vector<int>{0, 1}, {});
  writer.dimension("/row", std::vector<int>{0, 1, 2}, {});
  writer.rows("/rate", {"/ride", "/row"}, {});
  writer.text_rows("/kind", {"/ride", "/row"}, {});
  writer.write_row("/rate", 1, std::vector<double>{4, 5, 6});
  writer.write_row("/rate", 0, std::vector<double>{1, 2, 3});
  writer.write_row("/kind", 1, std::vector<std::string>{"brake", "", "naïve µ"});
  EXPECT_THROW(writer.write_row("/rate", 2, std::vector<double>{1, 2, 3}), std::invalid_argument);
  EXPECT_THROW(writer.write_row("/rate", 0, std::vector<double>{1, 2}), std::invalid_argument);
  EXPECT_THROW(writer.write_row("/row", 0, std::vector<double>{1}), std::invalid_argument);
  writer.save(directory / "a.h5");
  const Hdf5Reader reader(directory / "a.h5");
  EXPECT_EQ(reader.numbers("/rate"), (std::vector<double>{1, 2, 3, 4, 5, 6}));
  EXPECT_EQ(reader.texts("/kind"), (std::vector<std::string>{"", "", "", "brake", "", "naïve µ"}));
}

TEST(Hdf5Writer, ADimensionIsCutDownWithAllThatStandsOnIt) {
  const ScratchDirectory directory;
  Hdf5Writer writer;
  writer.dimension("/ride", std::vector<int>{0, 1, 2}, {}, true);
  writer.dimension("/time", std::vector<double>{0, 1, 2, 3}, {}, true);
  writer.pieces("/travel", {"/ride", "/time"}, {1, 4}, {});
  for (std::size_t ride = 0; ride < 3; ++ride) {
    writer.write_piece("/travel", {ride, 0},
                       packed(std::vector<double>(4, 1.0 + static_cast<double>(ride))));
  }
  EXPECT_THROW(writer.shorten("/ride", 4), std::invalid_argument);
  EXPECT_THROW(writer.shorten("/ride", 0), std::invalid_argument);
  writer.shorten("/ride", 2);
  writer.shorten("/time", 3);
  writer.variable("/label", {"/ride"}, std::vector<std::string>{"a", "b"}, {});
  writer.save(directory / "a.h5");
  const Hdf5Reader reader(directory / "a.h5");
  EXPECT_EQ(reader.integers("/ride"), (std::vector<int>{0, 1}));
  EXPECT_EQ(reader.numbers("/time"), (std::vector<double>{0, 1, 2}));
  EXPECT_EQ(reader.shape("/travel"), (std::vector<std::size_t>{2, 3}));
  EXPECT_EQ(reader.numbers("/travel"), (std::vector<double>{1, 1, 1, 2, 2, 2}));
}

TEST(Hdf5Writer, RefusesContentsThatContradictThemselves) {
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

TEST(Hdf5Writer, AFullDiskKeepsTheOldFileAndSaysSo) {
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

TEST(Hdf5Writer, ADottedNameBecomesOneWithUnderscores) {
  EXPECT_EQ(hdf5_name("fork.spacers"), "fork_spacers");
  EXPECT_EQ(hdf5_name("event[2].at"), "event_2__at");
  EXPECT_EQ(hdf5_name("travel_max"), "travel_max");
}

}  // namespace
}  // namespace plunge::hdf5_writer_test
