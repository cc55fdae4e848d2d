#include "sim/disk/disk_room.hpp"

#include <gtest/gtest.h>
#include <sys/stat.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <system_error>

#include "models/setup/fault.hpp"
#include "tests/scratch.hpp"

namespace plunge::disk_room_test {
namespace {

// Powers of ten, rounded to a tenth, by hand.
TEST(DiskRoom, BytesAreSaidInPowersOfTen) {
  EXPECT_EQ(say_bytes(0), "0 bytes");
  EXPECT_EQ(say_bytes(999), "999 bytes");
  EXPECT_EQ(say_bytes(1000), "1.0 kB");
  EXPECT_EQ(say_bytes(48'000'000'000), "48.0 GB");
  EXPECT_EQ(say_bytes(1'250'000), "1.2 MB");
  EXPECT_EQ(say_bytes(5'000'000'000'000'000'000), "5000.0 PB");
}

TEST(DiskRoom, WhatDoesNotFitIsRefusedWithBothNumbers) {
  const ScratchDirectory directory;
  const SmallDisk disk(directory.path());  // 64 KiB are 65 536 bytes
  if (!disk.mounted()) GTEST_SKIP() << "cannot mount a small disk: " << std::strerror(errno);
  const std::string path = directory / "a.h5";
  EXPECT_EQ(complaint([&] { demand_room(path, 65'536); }), "");
  EXPECT_EQ(
      complaint([&] { demand_room(path, 48'000'000'000); }),
      "cannot write " + path + ": it would take up to 48.0 GB, and 65.5 kB are free on its disk");
  std::ofstream(path) << "begun";
  EXPECT_EQ(complaint([&] { hold_room(path, path, 100'000'000); }).find("cannot write " + path),
            0u);
  EXPECT_EQ(bytes_of(path), "begun");
}

TEST(DiskRoom, RoomIsAskedForWhereALinkLeads) {
  const ScratchDirectory directory;
  const ScratchDirectory small;
  const SmallDisk disk(small.path());
  if (!disk.mounted()) GTEST_SKIP() << "cannot mount a small disk: " << std::strerror(errno);
  std::ofstream(small / "there") << "";
  std::filesystem::create_symlink(small / "there", directory / "to-small");
  std::filesystem::create_symlink(directory / "to-small", directory / "to-link");
  std::ofstream(directory / "there") << "";
  std::filesystem::create_symlink(directory / "there", small / "to-large");
  for (const char* name : {"to-small", "to-link"}) {
    EXPECT_NE(complaint([&] { demand_room(directory / name, 1'000'000); }), "") << name;
  }
  EXPECT_EQ(complaint([&] { demand_room(small / "to-large", 1'000'000); }), "");
  EXPECT_EQ(complaint([&] { demand_room(directory / "there", 1'000'000); }), "");
}

TEST(DiskRoom, WhatIsNoFileHasNoDiskToFill) {
  for (const char* name : {"/dev/null", "/proc/self/fd/0"}) {
    std::error_code error;
    if (std::filesystem::is_regular_file(name, error)) continue;
    EXPECT_EQ(complaint([&] { demand_room(name, 48'000'000'000'000); }), "") << name;
  }
}

TEST(DiskRoom, RoomIsHeldBehindTheEndAndGivenBack) {
  const ScratchDirectory directory;
  const std::string path = directory / "a.h5";
  std::ofstream(path) << "begun";
  const auto kilobytes_on_disk = [&] {
    struct stat status = {};
    EXPECT_EQ(::stat(path.c_str(), &status), 0);
    return status.st_blocks / 2;
  };
  hold_room(path, path, 1 << 20);
  if (kilobytes_on_disk() < 1024) GTEST_SKIP() << "this file system holds no room";
  EXPECT_EQ(bytes_of(path), "begun");
  give_back_room(path);
  EXPECT_LT(kilobytes_on_disk(), 1024);
  EXPECT_EQ(bytes_of(path), "begun");
}

}  // namespace
}  // namespace plunge::disk_room_test
