#include "sim/text/text_files.hpp"

#include <gtest/gtest.h>

#include <string>

#include "tests/scratch.hpp"

namespace plunge::text_files_test {
namespace {

TEST(MemoryFiles, HoldWhatTheyWereGiven) {
  MemoryFiles files;
  files.put("forks/reed.toml", "a fork");
  EXPECT_EQ(files.read("forks/reed.toml"), "a fork");
  EXPECT_EQ(complaint([&] { files.read("reed.toml"); }), "reed.toml: does not exist");
}

TEST(MemoryFiles, PathsAreBesideTheFileThatNamesThem) {
  const MemoryFiles files;
  EXPECT_EQ(files.folder_of("scenes/lip.toml"), "scenes");
  EXPECT_EQ(files.folder_of("lip.toml"), "");
  EXPECT_EQ(files.beside("scenes", "../forks/reed.toml"), "forks/reed.toml");
  EXPECT_EQ(files.beside("", "reed.toml"), "reed.toml");
  EXPECT_EQ(files.beside("a/b", "./c//d.toml"), "a/b/c/d.toml");
  EXPECT_EQ(files.beside("a", "../../up.toml"), "../up.toml");
  EXPECT_EQ(files.beside("a", "/b/../c.toml"), "/c.toml");
}

TEST(LaidFiles, GoBeforeWhatLiesBelow) {
  MemoryFiles below;
  below.put("a/fork.toml", "below");
  below.put("a/rider.toml", "a rider");
  LaidFiles files(below);
  files.put("a/fork.toml", "above");
  files.put("fork \"reed\" of x.log", "of a log");
  EXPECT_EQ(files.read("a/fork.toml"), "above");
  EXPECT_EQ(files.read("a/rider.toml"), "a rider");
  EXPECT_TRUE(files.has("fork \"reed\" of x.log"));
  EXPECT_FALSE(files.has("a/bike.toml"));
  EXPECT_EQ(files.beside("a", "fork \"reed\" of x.log"), "fork \"reed\" of x.log");
  EXPECT_EQ(files.beside("a", "rider.toml"), "a/rider.toml");
}

}  // namespace
}  // namespace plunge::text_files_test
