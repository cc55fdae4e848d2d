#include "sim/disk/atomic_file.hpp"

#include <fcntl.h>
#include <fmt/core.h>
#include <gtest/gtest.h>
#include <sys/file.h>
#include <unistd.h>

#include "tests/scratch.hpp"

namespace plunge::atomic_file_test {
namespace {

TEST(AtomicFile, ReplacesTheOldFileAndLeavesNothingElse) {
  const ScratchDirectory directory;
  const std::string path = directory / "a.txt";
  write_file_atomically(path, "first, and rather long");
  write_file_atomically(path, "second");
  EXPECT_EQ(bytes_of(path), "second");
  EXPECT_EQ(directory.entries(), 1u);
}

TEST(AtomicFile, FollowsALinkToTheFileItNames) {
  const ScratchDirectory directory;
  write_file_atomically(directory / "real.txt", "old");
  std::filesystem::create_symlink("real.txt", directory / "link.txt");
  write_file_atomically(directory / "link.txt", "new");
  EXPECT_TRUE(std::filesystem::is_symlink(directory / "link.txt"));
  EXPECT_EQ(bytes_of(directory / "real.txt"), "new");
}

TEST(AtomicFile, SaysWhyItCannotWrite) {
  const ScratchDirectory directory;
  const std::string nowhere = directory / "nowhere/a.h5";
  EXPECT_EQ(complaint([&] { write_file_atomically(nowhere, "x"); }),
            "cannot write " + nowhere + ": No such file or directory");
  const std::string folder = directory.path().string();
  EXPECT_EQ(complaint([&] { write_file_atomically(folder, "x"); }),
            "cannot write " + folder + ": it is not a regular file");
  EXPECT_EQ(complaint([&] { write_file_atomically("/dev/null", "x"); }),
            "cannot write /dev/null: it is not a regular file");
  // What is asked beforehand gives the same answer.
  for (const std::string& path : {nowhere, folder, std::string("/dev/null")}) {
    EXPECT_EQ(complaint([&] { demand_writable(path); }),
              complaint([&] { write_file_atomically(path, "x"); }));
  }
  EXPECT_EQ(complaint([&] { demand_writable(directory / "a.h5"); }), "");
  EXPECT_EQ(directory.entries(), 0u);
}

// In a container a process often has the number of the one that was killed before it.
TEST(AtomicFile, WritesBesideWhatAKilledProcessOfItsNumberLeft) {
  const ScratchDirectory directory;
  for (int k = 0; k < 100; ++k) {
    const std::string name = fmt::format(".plunge-{}-{}.part", ::getpid(), k);
    std::ofstream(directory / name) << "half";
  }
  write_file_atomically(directory / "a.txt", "whole");
  EXPECT_EQ(bytes_of(directory / "a.txt"), "whole");
  EXPECT_EQ(directory.entries(), 101u);
}

TEST(AtomicFile, PartsThatNobodyWritesAreRemovedAndOnlyThose) {
  const ScratchDirectory directory;
  std::ofstream(directory / ".plunge-1-0.part") << "left";
  std::ofstream(directory / "mine.part") << "not ours";
  const std::string held = directory / ".plunge-1-1.part";
  const int descriptor = ::open(held.c_str(), O_WRONLY | O_CREAT, 0666);
  ASSERT_EQ(::flock(descriptor, LOCK_EX), 0);
  remove_left_parts(directory.path());
  EXPECT_FALSE(std::filesystem::exists(directory / ".plunge-1-0.part"));
  EXPECT_TRUE(std::filesystem::exists(held));
  EXPECT_TRUE(std::filesystem::exists(directory / "mine.part"));
  ::close(descriptor);
  remove_left_parts(directory.path());
  EXPECT_FALSE(std::filesystem::exists(held));
  remove_left_parts(directory / "no such folder");
}

TEST(AtomicFile, ANewFileIsWrittenAnywhereAndReadBack) {
  const ScratchDirectory directory;
  const std::string path = directory / "a";
  {
    NewFile file(path);
    file.reserve(1000);
    file.write_at(3, "def");
    file.write_at(0, "abc");
    EXPECT_EQ(file.read_at(1, 4), "bcde");
    EXPECT_EQ(file.size(), 1000u);
    file.append("end");
    EXPECT_FALSE(std::filesystem::exists(path));
    file.take_name();
  }
  const std::string bytes = bytes_of(path);
  EXPECT_EQ(bytes, "abcdef" + std::string(994, '\0') + "end");
  EXPECT_EQ(directory.entries(), 1u);
}

TEST(AtomicFile, ANewFileThatTakesNoNameIsRemoved) {
  const ScratchDirectory directory;
  { NewFile(directory / "a").append("half"); }
  EXPECT_EQ(directory.entries(), 0u);
}

}  // namespace
}  // namespace plunge::atomic_file_test
