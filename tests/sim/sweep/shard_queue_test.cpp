#include "sim/sweep/shard_queue.hpp"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include "tests/scratch.hpp"

namespace plunge::shard_queue_test {
namespace {

// Six shards of two rides. Two objects on one folder are as far apart as two processes.
class ShardQueueTest : public testing::Test {
 protected:
  ShardQueueTest() {
    std::filesystem::create_directory(directory_ / "work");
    folder_.path = directory_.path().string();
    folder_.rides = 12;
    folder_.shard_size = 2;
    folder_.shards = 6;
  }
  void write(std::size_t shard) { std::ofstream(shard_path(folder_, shard)) << "rows"; }

  const ScratchDirectory directory_;
  SweepFolder folder_;
};

TEST_F(ShardQueueTest, ShardsAreGivenInOrderOnceEach) {
  Claims claims(folder_.path, ByteLocks::For::taking);
  ShardQueue queue(folder_, claims, 0, 1);
  write(1);
  queue.mark(shards_there(folder_));
  EXPECT_EQ(queue.done_shards(), std::vector<std::size_t>{1});
  EXPECT_EQ(queue.missing(), 5u);
  for (const std::size_t expected : {0u, 2u, 3u, 4u, 5u}) {
    EXPECT_FALSE(queue.all_asked_for());
    EXPECT_EQ(queue.next(), expected);
  }
  EXPECT_EQ(queue.next(), std::nullopt);
  EXPECT_TRUE(queue.all_asked_for());
  EXPECT_FALSE(queue.others_ride());
}

TEST_F(ShardQueueTest, PartsShareTheShardsOut) {
  Claims claims(folder_.path, ByteLocks::For::taking);
  ShardQueue queue(folder_, claims, 1, 3);
  EXPECT_EQ(queue.missing(), 2u);
  EXPECT_EQ(queue.next(), 1u);
  EXPECT_EQ(queue.next(), 4u);
  EXPECT_EQ(queue.next(), std::nullopt);
}

TEST_F(ShardQueueTest, AShardOfAProcessThatEndedIsDoneHere) {
  Claims claims(folder_.path, ByteLocks::For::taking);
  ShardQueue queue(folder_, claims, 0, 2);  // 0, 2, 4
  {
    Claims others(folder_.path, ByteLocks::For::taking);
    EXPECT_TRUE(others.take_shard(2));
    EXPECT_EQ(queue.next(), 0u);
    EXPECT_EQ(queue.next(), 4u);
    EXPECT_EQ(queue.next(), std::nullopt);
    EXPECT_TRUE(queue.others_ride());
  }
  EXPECT_EQ(queue.next(), 2u);
  EXPECT_FALSE(queue.others_ride());
}

TEST_F(ShardQueueTest, WhatAnotherProcessWroteIsDone) {
  Claims claims(folder_.path, ByteLocks::For::taking);
  ShardQueue queue(folder_, claims, 0, 6);
  Claims others(folder_.path, ByteLocks::For::taking);
  others.take_shard(0);
  EXPECT_EQ(queue.next(), std::nullopt);
  write(0);
  EXPECT_TRUE(queue.others_ride());
  EXPECT_EQ(queue.next(), std::nullopt);
  EXPECT_FALSE(queue.others_ride());
  EXPECT_TRUE(queue.done(0));
}

TEST_F(ShardQueueTest, AFinishedShardIsFreeAndDone) {
  Claims claims(folder_.path, ByteLocks::For::taking);
  ShardQueue queue(folder_, claims, 0, 1);
  ASSERT_EQ(queue.next(), 0u);
  Claims others(folder_.path, ByteLocks::For::taking);
  EXPECT_FALSE(others.take_shard(0));
  queue.finish(0);
  EXPECT_TRUE(others.take_shard(0));
  EXPECT_TRUE(queue.done(0));
  queue.mark_missing(0);
  EXPECT_FALSE(queue.done(0));
}

}  // namespace
}  // namespace plunge::shard_queue_test
