#include "sim/sweep/tallies.hpp"

#include <gtest/gtest.h>

#include <filesystem>

#include "tests/scratch.hpp"

namespace plunge::tallies_test {
namespace {

TEST(Tallies, WhatIsPutIsReadByAnotherProcessAndOneThatIsForgottenIsUnknown) {
  const ScratchDirectory directory;
  const std::string folder = directory.path().string();
  std::filesystem::create_directory(directory / "work");
  const Tallies writing(folder, 4, Tallies::For::writing);
  writing.put(1, ShardTally{3, {8, 9}, {"a", "b"}, 0});
  writing.put(3, ShardTally{});
  const Tallies reading(folder, 4, Tallies::For::reading);
  std::vector<Tallies::Entry> all = reading.all();
  ASSERT_EQ(all.size(), 4u);
  EXPECT_FALSE(all[0].known());
  EXPECT_TRUE(all[1].known());
  EXPECT_EQ(all[1].failed(), 2u);
  EXPECT_EQ(all[1].redone, 3u);
  EXPECT_TRUE(all[3].known());
  EXPECT_EQ(all[3].failed(), 0u);
  // 8 bytes a shard, as the header says.
  EXPECT_EQ(std::filesystem::file_size(directory / "work/tallies"), 32u);
  writing.forget(1);
  EXPECT_FALSE(reading.all()[1].known());
}

TEST(Tallies, ALinkIsNotWrittenThrough) {
  const ScratchDirectory directory;
  std::filesystem::create_directory(directory / "work");
  std::ofstream(directory / "mine") << "twelve bytes";
  std::filesystem::create_symlink("../mine", directory / "work/tallies");
  const Tallies tallies(directory.path(), 1, Tallies::For::writing);
  tallies.put(0, ShardTally{1, {8}, {"a"}, 0});
  EXPECT_FALSE(tallies.all()[0].known());
  EXPECT_EQ(bytes_of(directory / "mine"), "twelve bytes");
}

TEST(Tallies, AFileThatIsNotThereKnowsNothing) {
  const ScratchDirectory directory;
  const Tallies none(directory / "gone", 2, Tallies::For::reading);
  EXPECT_FALSE(none.all()[1].known());
  EXPECT_EQ(none.all()[1].failed(), 0u);
  const Tallies nowhere(directory / "gone", 2, Tallies::For::writing);
  nowhere.put(1, ShardTally{1, {8}, {"a"}, 0});
  EXPECT_FALSE(nowhere.all()[1].known());
}

}  // namespace
}  // namespace plunge::tallies_test
