#include "sim/disk/regular_file.hpp"

#include <fcntl.h>
#include <gtest/gtest.h>
#include <sys/stat.h>

#include <filesystem>
#include <fstream>
#include <string>

#include "models/setup/fault.hpp"
#include "tests/as_nobody.hpp"
#include "tests/scratch.hpp"

namespace plunge::regular_file_test {
namespace {

TEST(RegularFile, GivesTheBytesThatAreAskedFor) {
  const ScratchDirectory directory;
  std::ofstream(directory / "a") << "0123456789";
  const RegularFile file(directory / "a");
  EXPECT_EQ(file.size(), 10u);
  EXPECT_EQ(file.read_at(0, 10), "0123456789");
  EXPECT_EQ(file.read_at(7, 2), "78");
  EXPECT_NE(::fcntl(file.descriptor(), F_GETFD) & FD_CLOEXEC, 0);
  std::filesystem::resize_file(directory / "a", 5);
  EXPECT_EQ(complaint([&] { file.read_at(4, 2); }),
            (directory / "a") + ": cannot be read: it became shorter meanwhile");
}

// A pipe without a writer would be waited for, and one with a writer would be taken from.
TEST(RegularFile, WhatIsNoRegularFileIsNotOpened) {
  const ScratchDirectory directory;
  const std::string pipe = directory / "pipe";
  ASSERT_EQ(::mkfifo(pipe.c_str(), 0600), 0);
  std::filesystem::create_symlink("pipe", directory / "link");
  for (const std::string& path :
       {pipe, directory / "link", directory.path().string(), std::string("/dev/zero")}) {
    EXPECT_EQ(complaint([&] { RegularFile file(path); }),
              path + ": cannot be read: it is not a regular file");
  }
  // Had the pipe been opened, even for a moment, nothing would show it now; that it has no reader
  // shows that it is not held open.
  EXPECT_LT(::open(pipe.c_str(), O_WRONLY | O_NONBLOCK), 0);
  EXPECT_EQ(complaint([&] { RegularFile file(directory / "none"); }),
            (directory / "none") + ": cannot be read: No such file or directory");
}

TEST(RegularFile, WhatTheSystemDoesNotGiveIsTroubleOfTheRunNotOfTheInput) {
  const ScratchDirectory directory;
  std::filesystem::permissions(directory.path(), std::filesystem::perms::all);
  const std::string path = directory / "closed";
  std::ofstream(path) << "mine";
  ASSERT_EQ(::chmod(path.c_str(), 0), 0);
  {
    const AsNobody nobody;
    EXPECT_THROW(RegularFile{path}, RunError);
    EXPECT_EQ(complaint([&] { RegularFile file(path); }),
              path + ": cannot be read: Permission denied");
    EXPECT_THROW(RegularFile(directory / "none"), InputError);
  }
  ASSERT_EQ(::chmod(path.c_str(), 0600), 0);
  EXPECT_EQ(RegularFile(path).size(), 4u);
}

}  // namespace
}  // namespace plunge::regular_file_test
