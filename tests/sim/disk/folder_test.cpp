#include "sim/disk/folder.hpp"

#include <fcntl.h>
#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <utility>

#include "tests/scratch.hpp"

namespace plunge::folder_test {
namespace {

TEST(Folder, AllThatAreMissingAreMade) {
  const ScratchDirectory directory;
  make_folders(directory / "a/b/../c//d/");
  EXPECT_TRUE(std::filesystem::is_directory(directory / "a/c/d"));
  make_folders(directory / "a/c/d");  // are there
  make_folders(".");
  std::ofstream(directory / "file") << "text";
  EXPECT_EQ(complaint([&] { make_folders(directory / "file/x"); }),
            "cannot make the folder " + (directory / "file/x") + ": Not a directory");
  EXPECT_EQ(complaint([&] { make_folders(directory / "file"); }),
            "cannot make the folder " + (directory / "file") + ": Not a directory");
}

TEST(Folder, OnlyPlainFilesAreOpened) {
  const ScratchDirectory directory;
  std::ofstream(directory / "file") << "text";
  std::filesystem::create_symlink("file", directory / "link");
  ASSERT_EQ(::mkfifo((directory / "pipe").c_str(), 0666), 0);
  EXPECT_TRUE(open_plain(directory / "file", O_RDWR).is_open());
  EXPECT_TRUE(open_plain(directory / "new", O_RDWR | O_CREAT).is_open());
  for (const char* name : {"link", "pipe", "no file"}) {
    EXPECT_FALSE(open_plain(directory / name, O_RDONLY).is_open()) << name;
  }
  EXPECT_FALSE(open_plain(directory.path(), O_RDONLY).is_open());
}

// Where a program begins with its standard output closed, the next file gets its number.
TEST(Folder, NoDescriptorStandsWhereThePrintedGoes) {
  const int before = ::dup(STDIN_FILENO);
  ::close(STDIN_FILENO);
  const Descriptor file(::open("/dev/null", O_RDONLY));
  const bool free = ::fcntl(STDIN_FILENO, F_GETFD) < 0;
  ::dup2(before, STDIN_FILENO);
  ::close(before);
  EXPECT_TRUE(free);
  EXPECT_GT(file.get(), 2);
}

TEST(Folder, ADescriptorIsClosedWithItsObject) {
  int number = -1;
  {
    Descriptor first(::open("/dev/null", O_RDONLY));
    number = first.get();
    const Descriptor second = std::move(first);
    EXPECT_FALSE(first.is_open());
    EXPECT_EQ(second.get(), number);
  }
  EXPECT_LT(::fcntl(number, F_GETFD), 0);
}

}  // namespace
}  // namespace plunge::folder_test
