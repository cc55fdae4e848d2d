#include "sim/disk/atomic_file.hpp"

#include <fcntl.h>
#include <fmt/core.h>
#include <gtest/gtest.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <sys/wait.h>
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

mode_t mode_of(const std::string& path) {
  struct stat status = {};
  ::stat(path.c_str(), &status);
  return status.st_mode & 07777;
}

TEST(AtomicFile, ANewFileObeysTheUmaskAndAReplacedOneKeepsItsMode) {
  const ScratchDirectory directory;
  const mode_t before = ::umask(027);
  for (const Part part : {Part::unnamed, Part::named}) {
    const std::string path = directory / (part == Part::named ? "named" : "unnamed");
    const auto write = [&] {
      NewFile file(path, Links::followed, part);
      file.append("x");
      file.take_name();
    };
    write();
    EXPECT_EQ(mode_of(path), 0640u);
    ::chmod(path.c_str(), 0606);
    write();
    EXPECT_EQ(mode_of(path), 0606u);
  }
  ::umask(before);
}

// Root may write what nobody is meant to.
TEST(AtomicFile, AReadOnlyFileIsNotReplaced) {
  const ScratchDirectory directory;
  const std::string path = directory / "a.h5";
  write_file_atomically(path, "old");
  ::chmod(path.c_str(), 0444);
  EXPECT_EQ(complaint([&] { write_file_atomically(path, "new"); }),
            "cannot write " + path + ": it is marked as read-only");
  EXPECT_EQ(bytes_of(path), "old");
  EXPECT_EQ(directory.entries(), 1u);
}

TEST(AtomicFile, NamesThatNoFileCanHaveAreRefusedBeforeAnythingIsWritten) {
  const ScratchDirectory directory;
  std::filesystem::create_symlink("nowhere", directory / "broken");
  const std::pair<std::string, std::string> rows[] = {
      {directory / "a.h5/", "it is the name of a folder"},
      {directory / std::string(300, 'a'), "File name too long"},
      {directory / "broken", "it is a link to a file that is not there"},
      {"", "it is no name of a file"},
  };
  for (const auto& [path, why] : rows) {
    const std::string said = complaint([&, &name = path] { demand_writable(name); });
    EXPECT_NE(said.find(why), std::string::npos) << said;
  }
  EXPECT_EQ(directory.entries(), 1u);
}

TEST(AtomicFile, ALinkIsRefusedWhereAsked) {
  const ScratchDirectory directory;
  write_file_atomically(directory / "real", "old");
  std::filesystem::create_symlink("real", directory / "link");
  const std::string path = directory / "link";
  EXPECT_EQ(complaint([&] { write_file_atomically(path, "new", Links::refused); }),
            "cannot write " + path + ": it is a link, and links are not followed here");
  EXPECT_EQ(bytes_of(directory / "real"), "old");
  // Otherwise it would have been written through.
  write_file_atomically(path, "new", Links::followed);
  EXPECT_EQ(bytes_of(directory / "real"), "new");
}

TEST(AtomicFile, AFullDiskKeepsTheOldFileAndNothingElse) {
  const ScratchDirectory directory;
  const SmallDisk disk(directory.path());
  if (!disk.mounted()) GTEST_SKIP() << "no file system can be mounted here";
  const std::string path = directory / "a.h5";
  write_file_atomically(path, "old");
  EXPECT_EQ(complaint([&] { write_file_atomically(path, std::string(200'000, 'x')); }),
            "cannot write " + path + ": No space left on device");
  EXPECT_EQ(bytes_of(path), "old");
  EXPECT_EQ(directory.entries(), 1u);
}

TEST(AtomicFile, TheStandardOutputGetsAllAtTheEnd) {
  const ScratchDirectory directory;
  const std::string path = directory / "piped";
  const int before = ::dup(STDOUT_FILENO);
  const int to = ::open(path.c_str(), O_WRONLY | O_CREAT, 0666);
  std::string half;
  {
    NewFile file(kStandardOutput);
    ::dup2(to, STDOUT_FILENO);
    file.append(std::string(3'000'000, 'x'));
    half = bytes_of(path);
    file.take_name();
    ::dup2(before, STDOUT_FILENO);
  }
  ::close(to);
  ::close(before);
  EXPECT_EQ(half, "");
  EXPECT_EQ(bytes_of(path), std::string(3'000'000, 'x'));
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
  const std::vector<std::string> others = {
      "mine.part",       ".plunge-notes.part", ".plunge-1.part",     ".plunge-1-a.part",
      ".plunge-1-.part", ".plunge--1.part",    ".plunge-1-1-1.part", ".plunge-.part"};
  for (const std::string& name : others) std::ofstream(directory / name) << "not ours";
  const std::string held = directory / ".plunge-1-1.part";
  const int descriptor = ::open(held.c_str(), O_WRONLY | O_CREAT, 0666);
  ASSERT_EQ(::flock(descriptor, LOCK_EX), 0);
  remove_left_parts(directory.path());
  EXPECT_FALSE(std::filesystem::exists(directory / ".plunge-1-0.part"));
  EXPECT_TRUE(std::filesystem::exists(held));
  for (const std::string& name : others) {
    EXPECT_EQ(bytes_of(directory / name), "not ours") << name;
  }
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

// Whether the file system of a folder knows files without a name.
bool knows_unnamed(const ScratchDirectory& directory) {
  return Descriptor(::open(directory.path().c_str(), O_TMPFILE | O_RDWR | O_CLOEXEC, 0600))
      .is_open();
}

TEST(AtomicFile, ANewFileThatTakesNoNameIsRemoved) {
  const ScratchDirectory directory;
  for (const Part part : {Part::unnamed, Part::named}) {
    {
      NewFile file(directory / "a", Links::followed, part);
      file.append("half");
      const bool unnamed = part == Part::unnamed && knows_unnamed(directory);
      EXPECT_EQ(directory.entries(), unnamed ? 0u : 1u);
    }
    EXPECT_EQ(directory.entries(), 0u);
  }
}

// A child that ends without a word, in the middle of a file.
void write_half_and_die(const std::string& path, Part part) {
  const pid_t child = ::fork();
  if (child == 0) {
    NewFile file(path, Links::followed, part);
    file.append("half");
    ::_exit(0);
  }
  int status = 0;
  ::waitpid(child, &status, 0);
}

TEST(AtomicFile, AKilledProcessLeavesAtMostWhatTheNextOneRemoves) {
  const ScratchDirectory directory;
  write_half_and_die(directory / "a", Part::unnamed);
  EXPECT_EQ(directory.entries(), knows_unnamed(directory) ? 0u : 1u);
  remove_left_parts(directory.path());
  EXPECT_EQ(directory.entries(), 0u);
  write_half_and_die(directory / "a", Part::named);
  EXPECT_EQ(directory.entries(), 1u);
  remove_left_parts(directory.path());
  EXPECT_EQ(directory.entries(), 0u);
}

}  // namespace
}  // namespace plunge::atomic_file_test
