#include "sim/sweep/plan_estimate.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>

#include "sim/sweep/merge.hpp"
#include "sim/sweep/sweep.hpp"
#include "tests/scratch.hpp"

namespace plunge::plan_estimate_test {
namespace {

class Estimate : public ::testing::Test {
 protected:
  Plan plan(const std::string& rest, const std::string& scene = "drop-to-flat") const {
    const std::string path = scratch_ / "plan.toml";
    std::ofstream(path) << fmt::format(
        "type = \"plan\"\nformat = [1, 1]\nscenes = [\"{}/scenes/{}.toml\"]\n{}",
        std::filesystem::absolute("scenarios").string(), scene, rest);
    return load_plan(path);
  }
  // All bytes of a folder's shards.
  static double bytes_in(const SweepFolder& folder) {
    double bytes = 0.0;
    for (std::size_t shard = 0; shard < folder.shards; ++shard) {
      bytes += static_cast<double>(std::filesystem::file_size(shard_path(folder, shard)));
    }
    return bytes;
  }
  ScratchDirectory scratch_;
};

const char kSpacers[] = "[[axis]]\nname = \"fork.spacers\"\nvalues = \"0..4\"\n";
const char kPressure[] =
    "[[axis]]\nname = \"fork.pressure\"\nvalues = \"60 psi..95 psi:0.1 psi\"\n";

// The files themselves are the other side.
TEST_F(Estimate, SizesAreThoseOfTheFiles) {
  const Plan p = plan(std::string(kSpacers) + kPressure + "[set]\n\"ride.duration\" = \"0.5 s\"\n");
  ASSERT_EQ(p.size(), 5u * 351u);
  const PlanEstimate found = estimate(p);
  SweepOptions options;
  options.folder = scratch_ / "out";
  run_sweep(p, options);
  const SweepFolder folder = open_sweep(options.folder);
  merge_sweep(folder, p, scratch_ / "all.h5");
  const double shards = bytes_in(folder);
  const auto merged = static_cast<double>(std::filesystem::file_size(scratch_ / "all.h5"));
  EXPECT_NEAR(found.shard_bytes, shards, 0.25 * shards);
  EXPECT_NEAR(found.merged_bytes, merged, 0.25 * merged);
}

// By hand: 4 bytes a sample, 100 Hz over 2 s, 5 rides: 4 kB more than without, and the instants.
TEST_F(Estimate, TracesCountWithTheLengthOfTheRides) {
  const std::string shorter = "[set]\n\"ride.duration\" = \"2 s\"\n";
  const double without = estimate(plan(kSpacers + shorter)).merged_bytes;
  const Plan p =
      plan(kSpacers + shorter + "[keep]\ntraces = [\"travel\"]\ntrace_rate = \"100 Hz\"\n");
  const double with = estimate(p).merged_bytes - static_cast<double>(p.resolved().size());
  const double plain = without - static_cast<double>(plan(kSpacers + shorter).resolved().size());
  EXPECT_NEAR(with - plain, 5 * 4.0 * 200 + 8.0 * 200, 1e-6);
}

TEST_F(Estimate, RatesAreOfWholeRidesAndCores) {
  const Plan p = plan(std::string(kSpacers) + kPressure);
  const PlanEstimate one = estimate(p, 1);
  EXPECT_EQ(one.cores, 1u);
  EXPECT_GT(one.rate, 0.0);
  EXPECT_NEAR(one.seconds * one.rate, 1755.0, 1e-6);
  EXPECT_EQ(one.failed, 0u);
  EXPECT_EQ(estimate(p, 1000).cores, p.shards());  // no more than have a shard to ride
}

// A ride of eleven hours is tried over its first eight: this test ends.
TEST_F(Estimate, LongRidesAreTriedInPart) {
  const Plan p = plan(std::string(kSpacers) + "[set]\n\"ride.duration\" = \"40000 s\"\n");
  const PlanEstimate found = estimate(p);
  const PlanEstimate eight =
      estimate(plan(std::string(kSpacers) + "[set]\n\"ride.duration\" = \"8 s\"\n"));
  EXPECT_GT(found.seconds, 1e3 * eight.seconds);
}

TEST_F(Estimate, RidesThatCannotBeRiddenAreTold) {
  const Plan p = plan("[[axis]]\nname = \"fork.pressure\"\nvalues = [\"60 psi\", \"300 psi\"]\n");
  const PlanEstimate found = estimate(p);
  EXPECT_EQ(found.tried, 2u);
  EXPECT_EQ(found.failed, 1u);
  ASSERT_EQ(found.reasons.size(), 1u);
  EXPECT_EQ(found.reasons[0].ride, 1u);
  EXPECT_NE(found.reasons[0].text.find("fork.pressure"), std::string::npos);
  EXPECT_TRUE(std::isfinite(found.seconds));
}

}  // namespace
}  // namespace plunge::plan_estimate_test
