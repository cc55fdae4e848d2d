#include "sim/disk/hdf5_stream.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <stdexcept>
#include <thread>
#include <vector>

#include "models/setup/fault.hpp"
#include "sim/disk/hdf5_reader.hpp"
#include "tests/scratch.hpp"

namespace plunge::hdf5_stream_test {
namespace {

void lay_out(Hdf5Stream& stream) {
  Hdf5Writer& head = stream.head();
  head.attributes("/", {{"title", std::string("two by three")}});
  head.dimension("/rider", std::vector<std::string>{"alder", "wren"}, {});
  head.dimension("/time", std::vector<double>{0.0, 0.5, 1.0}, {{"units", std::string("s")}});
  head.reserve("/travel", {"/rider", "/time"}, Hdf5Number::real, {{"units", std::string("m")}});
  head.reserve("/force", {"/rider", "/time"}, Hdf5Number::single, {});
  head.reserve("/count", {"/rider"}, Hdf5Number::whole, {});
}

void write_small(const std::string& path) {
  Hdf5Stream stream(path, 100);
  lay_out(stream);
  // Runs in any order, across the end of a row.
  stream.write("/travel", 2, std::span<const double>(std::vector<double>{3, 4, 5, 6}));
  stream.write("/travel", 0, std::span<const double>(std::vector<double>{1, 2}));
  stream.write("/count", 1, std::span<const int>(std::vector<int>{7}));
  stream.write("/force", 3, std::span<const float>(std::vector<float>{0.5f, 1.5f, 2.5f}));
  stream.save();
}

TEST(Hdf5Stream, RunsLandWhereTheyBelong) {
  const ScratchDirectory directory;
  const std::string path = directory / "a.h5";
  write_small(path);
  const Hdf5Reader reader(path);  // which looks at the seal as well
  EXPECT_EQ(reader.numbers("/travel"), (std::vector<double>{1, 2, 3, 4, 5, 6}));
  EXPECT_EQ(reader.numbers("/force"), (std::vector<double>{0, 0, 0, 0.5, 1.5, 2.5}));
  EXPECT_EQ(reader.integers("/count"), (std::vector<int>{0, 7}));
  EXPECT_EQ(reader.texts("/rider"), (std::vector<std::string>{"alder", "wren"}));
  EXPECT_EQ(directory.entries(), 1u);
}

TEST(Hdf5Stream, OtherToolsReadIt) {
  const ScratchDirectory directory;
  write_small(directory / "a.h5");
  const std::string dump = output_of("h5dump -d /force " + (directory / "a.h5"));
  for (const char* word : {"H5T_IEEE_F32LE", "( 2, 3 )", "DIMENSION_LIST", "_FillValue", "1.5"}) {
    EXPECT_NE(dump.find(word), std::string::npos) << word << " in " << dump;
  }
}

TEST(Hdf5Stream, TheSameContentsGiveTheSameBytes) {
  const ScratchDirectory directory;
  write_small(directory / "a.h5");
  std::this_thread::sleep_for(std::chrono::milliseconds(1100));  // the library's clock has seconds
  write_small(directory / "b.h5");
  EXPECT_EQ(bytes_of(directory / "a.h5"), bytes_of(directory / "b.h5"));
}

TEST(Hdf5Stream, AnyDamagedByteIsNoticed) {
  const ScratchDirectory directory;
  write_small(directory / "a.h5");
  const std::string whole = bytes_of(directory / "a.h5");
  for (std::size_t i = 0; i < whole.size(); i += 97) {
    std::string damaged = whole;
    damaged[i] = static_cast<char>(damaged[i] ^ 1);
    std::ofstream(directory / "b.h5", std::ios::binary) << damaged;
    EXPECT_THROW(Hdf5Reader reader(directory / "b.h5"), InputError) << "byte " << i;
  }
}

TEST(Hdf5Stream, ThreadsThatWriteAtOnceLeaveTheSameBytes) {
  constexpr std::size_t kValues = 4096;
  std::vector<int> values(kValues);
  for (std::size_t i = 0; i < kValues; ++i) values[i] = static_cast<int>(i * i);
  const ScratchDirectory directory;
  const auto write = [&](const std::string& path, std::size_t threads) {
    Hdf5Stream stream(path, 0);
    stream.head().reserve_dimension("/ride", kValues, Hdf5Number::whole, {});
    stream.begin();
    std::vector<std::thread> team;
    for (std::size_t t = 0; t < threads; ++t) {
      team.emplace_back([&, t] {
        for (std::size_t at = 7 * t; at < kValues; at += 7 * threads) {
          const std::size_t count = std::min<std::size_t>(7, kValues - at);
          stream.write("/ride", at, std::span<const int>(values).subspan(at, count));
        }
      });
    }
    for (std::thread& thread : team) thread.join();
    stream.save();
  };
  write(directory / "1.h5", 1);
  EXPECT_EQ(Hdf5Reader(directory / "1.h5").integers("/ride"), values);  // and its seal fits
  for (const std::size_t threads : {2U, 3U, 8U}) {
    write(directory / "n.h5", threads);
    EXPECT_EQ(bytes_of(directory / "1.h5"), bytes_of(directory / "n.h5")) << threads;
  }
}

TEST(Hdf5Stream, RefusesToWriteMoreThanItsRoom) {
  const ScratchDirectory directory;
  Hdf5Stream stream(directory / "a.h5", 0);
  lay_out(stream);
  const std::vector<int> two = {1, 2};
  stream.write("/count", 0, std::span(two));
  EXPECT_THROW(stream.write("/count", 0, std::span(two)), std::invalid_argument);
}

TEST(Hdf5Stream, RefusesARunThatHasNoRoom) {
  const ScratchDirectory directory;
  Hdf5Stream stream(directory / "a.h5", 0);
  lay_out(stream);
  const std::vector<double> two = {1.0, 2.0};
  EXPECT_THROW(stream.write("/travel", 5, std::span(two)), std::invalid_argument);
  EXPECT_THROW(stream.write("/time", 0, std::span(two)), std::invalid_argument);
}

TEST(Hdf5Stream, WhatIsNotSavedLeavesNothing) {
  const ScratchDirectory directory;
  {
    Hdf5Stream stream(directory / "a.h5", 0);
    lay_out(stream);
  }
  EXPECT_EQ(directory.entries(), 0u);
}

TEST(Hdf5Stream, AFullDiskKeepsTheOldFileAndSaysSo) {
  const ScratchDirectory directory;
  const SmallDisk disk(directory.path());
  if (!disk.mounted()) GTEST_SKIP() << "cannot mount a small disk: " << std::strerror(errno);
  const std::string path = directory / "a.h5";
  std::ofstream(path) << "the old one";
  const std::string message = complaint([&] { Hdf5Stream stream(path, 1'000'000); });
  EXPECT_EQ(message, "cannot write " + path + ": No space left on device");
  EXPECT_EQ(bytes_of(path), "the old one");
  EXPECT_EQ(directory.entries(), 1u);
}

}  // namespace
}  // namespace plunge::hdf5_stream_test
