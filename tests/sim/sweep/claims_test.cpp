#include "sim/sweep/claims.hpp"

#include <gtest/gtest.h>

#include <filesystem>

#include "tests/scratch.hpp"

namespace plunge::claims_test {
namespace {

// Two objects on one folder are as far apart as two processes.
class ClaimsTest : public testing::Test {
 protected:
  ClaimsTest() { std::filesystem::create_directory(directory_ / "work"); }
  Claims claims() { return {directory_.path().string(), ByteLocks::For::taking}; }
  const ScratchDirectory directory_;
};

TEST_F(ClaimsTest, AShardHasOneRiderUntilItIsGivenBack) {
  Claims one = claims();
  Claims other = claims();
  EXPECT_TRUE(one.take_shard(41));
  EXPECT_FALSE(other.take_shard(41));
  EXPECT_TRUE(other.take_shard(42));
  one.give_shard(41);
  EXPECT_TRUE(other.take_shard(41));
  EXPECT_TRUE(one.work());
}

TEST_F(ClaimsTest, AWorkerTakesTheFirstFreePlaceAndLeavesItAtItsEnd) {
  Claims one = claims();
  EXPECT_EQ(one.take_place(), 0u);
  {
    Claims other = claims();
    EXPECT_EQ(other.take_place(), 1u);
    EXPECT_TRUE(one.place_taken(1));
  }
  EXPECT_FALSE(one.place_taken(1));
  const Claims looking(directory_.path().string(), ByteLocks::For::looking);
  EXPECT_TRUE(looking.place_taken(0));
  EXPECT_FALSE(looking.place_taken(1));
}

// Place 0, shard 0 and the set-up are bytes of their own.
TEST_F(ClaimsTest, ShardsPlacesAndTheSetUpDoNotMeet) {
  Claims one = claims();
  Claims other = claims();
  one.take_place();
  one.wait_for_setup();
  EXPECT_TRUE(other.take_shard(0));
}

}  // namespace
}  // namespace plunge::claims_test
