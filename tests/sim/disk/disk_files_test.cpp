#include "sim/disk/disk_files.hpp"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <string>

#include "tests/scratch.hpp"

namespace plunge::disk_files_test {
namespace {

TEST(DiskFiles, ReadWhatIsThere) {
  const ScratchDirectory scratch;
  std::filesystem::create_directory(scratch / "forks");
  std::ofstream(scratch / "forks/reed.toml") << "a fork";
  const std::string path = disk_files().beside(scratch / "scenes", "../forks/reed.toml");
  EXPECT_EQ(disk_files().read(path), "a fork");
  EXPECT_NE(complaint([&] { disk_files().read(scratch / "no.toml"); }).find("does not exist"),
            std::string::npos);
}

// The same paths as texts in memory have, so that one tree of files reads alike in both.
TEST(DiskFiles, PathsAreThoseOfMemory) {
  const MemoryFiles memory;
  for (const char* folder : {"", "a", "a/b", "/a/b"}) {
    for (const char* path : {"c.toml", "../c.toml", "../../c.toml", "./d/c.toml", "/x/../c.toml"}) {
      EXPECT_EQ(disk_files().beside(folder, path), memory.beside(folder, path))
          << folder << " " << path;
      const std::string whole = memory.beside(folder, path);
      EXPECT_EQ(disk_files().folder_of(whole), whole == "/c.toml" ? "/" : memory.folder_of(whole));
    }
  }
}

}  // namespace
}  // namespace plunge::disk_files_test
