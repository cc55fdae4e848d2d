#include "sim/sweep/plan_file.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <map>
#include <set>
#include <stdexcept>
#include <string>
#include <vector>

#include "models/setup/assemble.hpp"
#include "models/setup/statics.hpp"
#include "sim/input/scene_text.hpp"
#include "sim/lanes/many_rides.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/sweep/plan_difference.hpp"
#include "sim/text/toml_file.hpp"
#include "tests/ready_setup.hpp"
#include "tests/scene_files.hpp"
#include "tests/scratch.hpp"
#include "tests/support.hpp"

namespace plunge::plan_file_test {
namespace {

// The scenes of the tests are those of scenarios/, named from anywhere.
std::string scenario(const std::string& name) {
  return toml_quoted((std::filesystem::path("scenarios") / name).string());
}

const std::string kDrop = scenario("scenes/drop-to-flat.toml");
const std::string kRoots = scenario("scenes/roots.toml");

class PlanFile : public ::testing::Test {
 protected:
  // A plan over the drop; `text` is all but its head.
  std::string path_of(const std::string& text, const std::string& scenes = kDrop) {
    const std::string path = scratch_ / "plan.toml";
    std::ofstream(path) << "type = \"plan\"\nformat = [1, 0]\nscenes = [" << absolute(scenes)
                        << "]\n"
                        << text;
    return path;
  }
  Plan plan(const std::string& text, const std::string& scenes = kDrop) {
    return load_plan(path_of(text, scenes));
  }
  std::string refusal(const std::string& text, const std::string& scenes = kDrop) {
    const std::string path = path_of(text, scenes);
    return complaint([&] { load_plan(path); });
  }

  // Paths in a plan are beside it: those of the tree are written in full.
  static std::string absolute(std::string text) {
    const std::string root = std::filesystem::current_path().string() + "/scenarios/";
    for (std::size_t at = 0; (at = text.find("\"scenarios/", at)) != std::string::npos;) {
      text.replace(at + 1, std::string("scenarios/").size(), root);
      at += root.size();
    }
    return text;
  }

  ScratchDirectory scratch_;
};

std::string axis(const std::string& name, const std::string& values) {
  return "[[axis]]\nname = \"" + name + "\"\nvalues = " + values + "\n";
}

std::string sampled(const std::string& name, const std::string& rest) {
  return "[[axis]]\nname = \"" + name + "\"\n" + rest + "\n";
}

const std::string kMass =
    sampled("rider.mass", "distribution = \"uniform\"\nlow = \"60 kg\"\nhigh = \"100 kg\"");
const std::string kSobol4 = "[sample]\nmethod = \"sobol\"\npoints = 4\n";

// By hand: 2 scenes x 3 spacers x 2 speeds x 4 rows; ride 29 = ((1 * 3 + 0) * 2 + 1) * 4 + 1.
TEST_F(PlanFile, RidesAreNumberedWithTheLastDimensionFastest) {
  const Plan p = plan(axis("fork.spacers", "\"0..2\"") + kMass +
                          axis("ride.speed", "[\"18 km/h\", \"22 km/h\"]") + kSobol4,
                      kDrop + ", " + kRoots);
  ASSERT_EQ(48U, p.size());
  ASSERT_EQ(3U, p.grid().size());
  EXPECT_EQ("scene", p.grid()[0].name);
  EXPECT_EQ((std::vector<std::string>{"drop-to-flat", "roots"}), p.grid()[0].labels);
  EXPECT_EQ("fork.spacers", p.grid()[1].name);
  EXPECT_EQ((std::vector<double>{0, 1, 2}), p.grid()[1].values);
  EXPECT_EQ("m s-1", p.grid()[2].unit);
  EXPECT_EQ((std::vector<std::size_t>{0, 0, 0, 0}), p.index(0));
  EXPECT_EQ((std::vector<std::size_t>{0, 0, 0, 1}), p.index(1));
  EXPECT_EQ((std::vector<std::size_t>{0, 0, 1, 0}), p.index(4));
  EXPECT_EQ((std::vector<std::size_t>{1, 0, 1, 1}), p.index(29));
  EXPECT_EQ((std::vector<std::size_t>{1, 2, 1, 3}), p.index(47));
  EXPECT_THROW(p.index(48), std::out_of_range);
  EXPECT_THROW(p.sample(4), std::out_of_range);

  // Row 1 of the sample is 60 kg + 0.75 * 40 kg: the second Sobol point.
  EXPECT_EQ((std::vector<double>{90.0}), p.sample(1));
  const PlannedRide ride = p.ride(29);
  EXPECT_EQ("", ride.failure);
  EXPECT_EQ(0.0, ride.setup.fork.spacers);
  EXPECT_NEAR(22.0 / 3.6, ride.setup.ride.speed, 1e-15);
  EXPECT_EQ(90.0, ride.setup.rider.mass);
  EXPECT_EQ("Kestrel Hollow, the loading ramp", p.ride(0).setup.name);
  EXPECT_NE(p.ride(0).setup.name, ride.setup.name);
}

TEST_F(PlanFile, OneRideASceneWithoutAxes) {
  const Plan p = plan("", kDrop + ", " + kRoots);
  EXPECT_EQ(2U, p.size());
  EXPECT_EQ(1U, p.points());
  EXPECT_EQ(Design::none, p.design());
  EXPECT_EQ(usual_metrics(), p.keep().metrics);
  EXPECT_TRUE(p.keep().traces.empty());
  EXPECT_FALSE(holds(p.hold()));
  EXPECT_EQ((std::vector<std::size_t>{1, 0}), p.index(1));
}

// A ride is what the command line makes of the same scene.
TEST_F(PlanFile, ARideIsTheSceneWithItsNumbers) {
  const Plan p = plan(axis("fork.spacers", "[0, 3]") + axis("terrain[1].height", "[\"30 cm\"]") +
                      "[set]\n\"ambient.temperature\" = \"5 degC\"\n");
  const plunge::Setup setup = shipped_setup(
      "drop-to-flat", {"ambient.temperature=5 degC", "fork.spacers=3", "terrain[1].height=30 cm"});
  EXPECT_EQ(to_scene_text(setup), to_scene_text(p.ride(1).setup));
}

TEST_F(PlanFile, SagIsHeldAsThePlanTheAxisOrTheSceneSays) {
  const auto share = [](const PlannedRide& ride) {
    const Rider rider = assemble(ride.setup);
    return sag(rider) / ride.setup.fork.travel;
  };
  EXPECT_NEAR(0.22, share(plan("").ride(0)), 1e-6);
  const Plan held = plan("[hold]\nsag = \"28 %\"\n");
  EXPECT_NEAR(0.28, share(held.ride(0)), 1e-6);
  EXPECT_EQ(0.28, held.hold().sag);
  const Plan by_length = plan("[hold]\nsag = \"36 mm\"\n");
  EXPECT_NEAR(0.036, share(by_length.ride(0)) * by_length.ride(0).setup.fork.travel, 1e-8);
  EXPECT_NE(by_length.resolved(), plan("[hold]\nsag = \"37 mm\"\n").resolved());
  const Plan lengths = plan(axis("hold.sag", "[\"30 mm\", \"36 mm\"]") +
                            axis("fork.travel", "[\"150 mm\", \"160 mm\"]"));
  EXPECT_EQ("m", lengths.grid()[1].unit);
  EXPECT_NEAR(0.036, share(lengths.ride(3)) * 0.160, 1e-8);
  EXPECT_NE(refusal("[hold]\nsag = \"200 mm\"\n")
                .find("plan.toml:5:7: hold.sag = 200 mm: must be 1.5 mm to 135 mm"),
            std::string::npos)
      << refusal("[hold]\nsag = \"200 mm\"\n");
  const Plan varied = plan(axis("hold.sag", "\"20 %..30 %:5 %\""));
  ASSERT_EQ(3U, varied.size());
  EXPECT_NEAR(0.20, share(varied.ride(0)), 1e-6);
  EXPECT_NEAR(0.30, share(varied.ride(2)), 1e-6);
  // 60 psi as given: the scene's own hold of 22 % gives way.
  EXPECT_NEAR(60.0 * kPsi, plan(axis("fork.pressure", "[\"60 psi\"]")).ride(0).setup.fork.pressure,
              1e-6);
  EXPECT_NEAR(60.0 * kPsi,
              plan("[set]\n\"fork.pressure\" = \"60 psi\"\n").ride(0).setup.fork.pressure, 1e-6);
}

TEST_F(PlanFile, FilesTakeThePlaceOfTheScenesOwn) {
  const Plan p = plan(absolute(axis("fork", "[" + scenario("forks/teasel-150.toml") + ", " +
                                                scenario("forks/bracken-200.toml") + "]") +
                               axis("rider.body_share", "[\"80 %\", \"70 %\"]") +
                               axis("rider", "[" + scenario("riders/alder.toml") + ", " +
                                                 scenario("riders/wren.toml") + "]")));
  ASSERT_EQ(8U, p.size());
  EXPECT_EQ((std::vector<std::string>{"teasel-150", "bracken-200"}), p.grid()[1].labels);
  // Ride 6 = (1 * 2 + 1) * 2 + 0: Bracken, 70 %, Alder.
  const PlannedRide ride = p.ride(6);
  const ForkSetup bracken = load_fork("scenarios/forks/bracken-200.toml");
  const RiderSetup alder = load_rider("scenarios/riders/alder.toml");
  EXPECT_EQ(bracken.travel, ride.setup.fork.travel);
  EXPECT_EQ(bracken.air.main_volume, ride.setup.fork.air.main_volume);
  EXPECT_EQ(alder.mass, ride.setup.rider.mass);
  EXPECT_EQ(0.7, ride.setup.rider.body_share);
  EXPECT_NE(bracken.travel, p.ride(0).setup.fork.travel);
  EXPECT_NE(alder.mass, p.ride(7).setup.rider.mass);
}

TEST_F(PlanFile, FilesOfOneNameAreToldApart) {
  std::filesystem::create_directory(scratch_.path() / "other");
  std::filesystem::copy_file("scenarios/forks/teasel-150.toml", scratch_ / "other/teasel-150.toml");
  const Plan p = plan(absolute(
      axis("fork", "[" + scenario("forks/teasel-150.toml") + ", \"other/teasel-150.toml\"]")));
  EXPECT_EQ((std::vector<std::string>{"teasel-150", "teasel-150-2"}), p.grid()[1].labels);
}

TEST_F(PlanFile, TheSameTextGivesTheSameRides) {
  for (const char* method : {"sobol", "latin_hypercube", "pick_freeze"}) {
    const std::string text = axis("fork.spacers", "\"0..3\"") + kMass + "[sample]\nmethod = \"" +
                             method + "\"\npoints = 8\nseed = 5\n";
    const Plan one = plan(text);
    const Plan two = plan(text);
    EXPECT_EQ(one.resolved(), two.resolved());
    EXPECT_EQ("", plan_difference(one.resolved(), two.resolved()));
    for (std::size_t number = 0; number < one.size(); ++number) {
      const PlannedRide a = one.ride(number);
      const PlannedRide b = two.ride(number);
      EXPECT_EQ(to_scene_text(a.setup), to_scene_text(b.setup));
      EXPECT_EQ(a.ground, b.ground);
      EXPECT_EQ(a.failure, b.failure);
    }
  }
}

// 2 numbers, 4 points: 4 * (2 + 2) rows. In each block of four the third row is A with the first
// number from B, the fourth A with the second (Saltelli and others 2010).
TEST_F(PlanFile, PickFreezeRowsExchangeOneNumber) {
  const Plan p =
      plan(kMass + sampled("fork.spacers", "distribution = \"uniform\"\nlow = 0\nhigh = 4") +
           "[sample]\nmethod = \"pick_freeze\"\npoints = 4\n");
  ASSERT_EQ(16U, p.size());
  EXPECT_EQ(16U, p.points());
  EXPECT_EQ(4U, p.base_points());
  for (std::size_t block = 0; block < 4; ++block) {
    const auto a = p.sample(4 * block);
    const auto b = p.sample(4 * block + 1);
    EXPECT_EQ((std::vector<double>{b[0], a[1]}), p.sample(4 * block + 2));
    EXPECT_EQ((std::vector<double>{a[0], b[1]}), p.sample(4 * block + 3));
  }
}

TEST_F(PlanFile, WholeNumbersAreRounded) {
  const Plan p = plan(sampled("fork.spacers", "distribution = \"uniform\"\nlow = 0\nhigh = 4") +
                      "[sample]\nmethod = \"sobol\"\npoints = 64\n");
  ASSERT_TRUE(p.sampled()[0].whole);
  std::map<double, int> counts;
  for (std::size_t row = 0; row < 64; ++row) ++counts[p.sample(row)[0]];
  // Of a uniform share, each end has 1/8 and the others 1/4: 8 and 16 of 64 Sobol points, one up
  // or down for the point 0 that is left out.
  ASSERT_EQ(5U, counts.size());
  for (const auto& [value, count] : counts) {
    EXPECT_NEAR(value == 0.0 || value == 4.0 ? 8 : 16, count, 1) << value;
  }
}

// Grounds follow from the terrain and the wheel, and from nothing else.
TEST_F(PlanFile, RidesShareAGroundWhereTheWheelsPathIsTheSame) {
  const Plan p =
      plan(axis("fork.spacers", "\"0..1\"") + axis("terrain[1].height", "[\"20 cm\", \"30 cm\"]") +
               axis("bike.mass", "[\"14 kg\", \"16 kg\"]"),
           kDrop);
  ASSERT_EQ(8U, p.size());
  EXPECT_EQ(p.ride(0).ground, p.ride(1).ground);
  EXPECT_NE(p.ride(0).ground, p.ride(2).ground);
  EXPECT_EQ(p.ride(0).ground, p.ride(4).ground);

  const Plan scenes =
      plan(axis("bike.wheel_radius", "[\"34 cm\", \"36 cm\"]"), kDrop + ", " + kRoots);
  std::set<std::uint64_t> grounds;
  for (std::size_t i = 0; i < 4; ++i) grounds.insert(scenes.ride(i).ground);
  EXPECT_EQ(4U, grounds.size());

  const Plan rows = plan(sampled("terrain[1].height",
                                 "distribution = \"uniform\"\n"
                                 "low = \"10 cm\"\nhigh = \"30 cm\"") +
                         axis("fork.spacers", "\"0..1\"") + kSobol4);
  std::set<std::uint64_t> each;
  for (std::size_t i = 0; i < 4; ++i) {
    each.insert(rows.ride(i).ground);
    EXPECT_EQ(rows.ride(i).ground, rows.ride(i + 4).ground);
  }
  EXPECT_EQ(4U, each.size());
}

TEST_F(PlanFile, OneBadCombinationFailsAlone) {
  // Teasel takes 5 spacers, Bracken 4.
  const Plan p = plan(absolute(axis("fork", "[" + scenario("forks/teasel-150.toml") + ", " +
                                                scenario("forks/bracken-200.toml") + "]") +
                               axis("fork.spacers", "\"4..5\"")));
  EXPECT_EQ("", p.ride(1).failure);
  EXPECT_EQ("", p.ride(2).failure);
  EXPECT_EQ("fork.spacers = 5: must be 0 to 4 (fork.spacer_limit)", p.ride(3).failure);
}

TEST_F(PlanFile, AGroundThatAWheelCannotClimbFailsItsRides) {
  // A wheel of radius R climbs R (1 - cos(atan 4)): 265 mm where R is 350 mm.
  const Plan p = plan(axis("terrain[1].height", "[\"25 cm\", \"40 cm\"]"),
                      scenario("scenes/square-edge.toml"));
  EXPECT_EQ("", p.ride(0).failure);
  EXPECT_NE(std::string::npos, p.ride(1).failure.find("terrain[1].height")) << p.ride(1).failure;
  EXPECT_EQ(p.ride(1).failure, p.ride(1).failure);
}

TEST_F(PlanFile, AnUnreachableSagFailsItsRide) {
  const Plan p = plan(axis("rider.mass", "[\"80 kg\", \"480 kg\"]"));
  EXPECT_EQ("", p.ride(0).failure);
  EXPECT_NE("", p.ride(1).failure);
}

TEST_F(PlanFile, AnAxisThatSomeForksDoNotReadFailsTheirRides) {
  std::string fork = bytes_of("scenarios/forks/teasel-150.toml");
  const std::size_t rebound = fork.find("[rebound]");
  const std::size_t next = fork.find("\n[", rebound);
  fork.replace(rebound, next - rebound,
               "[rebound]\nkind = \"points\"\npoints = [{speed = \"0.1 m/s\", force = \"70 N\"}, "
               "{speed = \"2 m/s\", force = \"900 N\"}]\n");
  std::ofstream(scratch_ / "plain.toml") << fork;
  const std::string both =
      absolute(axis("fork", "[" + scenario("forks/teasel-150.toml") + ", \"plain.toml\"]"));
  const Plan p = plan(both + axis("fork.rebound.clicks", "\"3..4\""));
  EXPECT_EQ("", p.ride(0).failure);
  EXPECT_EQ("fork.rebound.clicks: is not read by drop-to-flat, plain", p.ride(2).failure);
  const std::string told =
      refusal(axis("fork", "[\"plain.toml\"]") + axis("fork.rebound.clicks", "\"3..4\""));
  EXPECT_NE(std::string::npos, told.find("is read by no ride of the plan")) << told;
  EXPECT_NE(std::string::npos, told.find("plan.toml:8:8:")) << told;
}

TEST_F(PlanFile, ShardsAreAsAskedOrChosenByTheNumberOfRides) {
  const Plan asked = plan(axis("fork.spacers", "\"0..4\"") + "[sweep]\nshard = 2\n");
  EXPECT_EQ(2U, asked.shard_size());
  EXPECT_EQ(3U, asked.shards());
  EXPECT_EQ(256U, plan("").shard_size());
  EXPECT_EQ(1U, plan("").shards());
  // 5 * 10^6 rides: 2500 a shard for 2000 shards, the next power of two is 4096.
  const std::string speeds = axis("ride.speed", "\"10 km/h..19.99 km/h:0.01 km/h\"");
  const std::string masses = axis("rider.mass", "\"60 kg..109.9 kg:0.1 kg\"");
  const Plan many = plan(speeds + masses + axis("fork.spacers", "\"0..4\"") +
                         axis("fork.rebound.clicks", "[2, 4]"));
  ASSERT_EQ(5'000'000U, many.size());
  EXPECT_EQ(4096U, many.shard_size());
}

TEST_F(PlanFile, WhatIsKept) {
  const Plan p = plan(
      "[keep]\nmetrics = [\"ground_force_max\", \"travel_max\"]\n"
      "traces = [\"travel\"]\ntrace_rate = \"100 Hz\"\n");
  EXPECT_EQ((std::vector<std::string>{"ground_force_max", "travel_max"}), p.keep().metrics);
  EXPECT_EQ((std::vector<std::string>{"travel"}), p.keep().traces);
  EXPECT_EQ(100.0, p.keep().trace_rate);
  EXPECT_EQ(metric_rows().size(), plan("[keep]\nmetrics = \"all\"\n").keep().metrics.size());
}

TEST_F(PlanFile, AxesMayBeMarkedAsChosenOrAsWhatVaries) {
  const std::string mass = kMass + "role = \"varies\"\n";
  const std::string spacers = axis("fork.spacers", "\"0..2\"") + "role = \"chosen\"\n";
  const Plan p = plan(spacers + mass + kSobol4);
  EXPECT_EQ(Role::varies, p.grid()[0].role);  // the scenes, once anything is marked
  EXPECT_EQ(Role::chosen, p.grid()[1].role);
  EXPECT_EQ(Role::varies, p.sampled()[0].role);
  // A mark changes no ride: a folder that was begun without goes on.
  const Plan unmarked = plan(axis("fork.spacers", "\"0..2\"") + kMass + kSobol4);
  EXPECT_EQ(Role::none, unmarked.grid()[0].role);
  EXPECT_EQ(Role::none, unmarked.sampled()[0].role);
  EXPECT_EQ(unmarked.resolved(), p.resolved());
}

TEST_F(PlanFile, HalfMarkedAxesAreRefused) {
  const std::string spacers = axis("fork.spacers", "\"0..2\"") + "role = \"chosen\"\n";
  EXPECT_NE(std::string::npos,
            refusal(spacers + axis("ride.speed", "[\"18 km/h\"]"))
                .find("axis[1].role: must be given, as another axis has one: \"chosen\" or "
                      "\"varies\""));
  const std::string speed =
      sampled("ride.speed",
              "role = \"chosen\"\ndistribution = \"uniform\"\nlow = \"18 km/h\"\n"
              "high = \"20 km/h\"");
  EXPECT_NE(std::string::npos, refusal(kMass + "role = \"varies\"\n" + speed + kSobol4)
                                   .find("axis[1].role = \"chosen\": must be \"varies\" as that "
                                         "of rider.mass, because they share the rows"));
  EXPECT_EQ("", refusal(kMass + "role = \"chosen\"\n" + speed + kSobol4));
}

// Fact by fact, as people say it; what an axis overwrites, and names, are no facts.
TEST_F(PlanFile, TheDifferenceOfTwoPlansIsTold) {
  const std::string before = plan(axis("fork.spacers", "\"0..4\"")).resolved();
  const std::string now =
      plan(axis("fork.spacers", "\"0..2\"") + "[set]\n\"rider.body_share\" = 0.7\n").resolved();
  EXPECT_EQ(
      "rides: was 5, is 3\n"
      "fork.spacers: was 0 to 4 in steps of 1, is 0 to 2 in steps of 1\n"
      "rider.body_share: was 80 %, is 70 % (in drop-to-flat)\n",
      plan_difference(before, now));
  EXPECT_EQ(before, plan("name = \"other\"\n" + axis("fork.spacers", "\"0..4\"")).resolved());
  EXPECT_EQ(std::string::npos, before.find("| fork.spacers"));
  EXPECT_EQ(std::string::npos, before.find("Kestrel"));
  EXPECT_EQ(std::string::npos, before.find(scratch_.path().string()));
}

// The text follows from every fact that the rides follow from.
TEST_F(PlanFile, EveryFactIsInTheResolvedText) {
  const std::string base = kMass + kSobol4;
  const std::string was = plan(base).resolved();
  for (const std::string& other :
       {kMass + "[sample]\nmethod = \"sobol\"\npoints = 5\n",
        kMass + "[sample]\nmethod = \"sobol\"\npoints = 4\nseed = 1\n",
        kMass + "[sample]\nmethod = \"latin_hypercube\"\npoints = 4\n",
        sampled("rider.mass",
                "distribution = \"log_uniform\"\nlow = \"60 kg\"\nhigh = \"100 kg\"") +
            kSobol4,
        sampled("rider.mass", "distribution = \"uniform\"\nlow = \"60 kg\"\nhigh = \"101 kg\"") +
            kSobol4,
        base + "[hold]\nsag = \"23 %\"\n", base + "[keep]\nmetrics = [\"travel_max\"]\n",
        base + "[keep]\ntraces = [\"travel\"]\ntrace_rate = \"50 Hz\"\n",
        base + "[sweep]\nshard = 8\n"}) {
    EXPECT_NE("", plan_difference(was, plan(other).resolved())) << other;
  }
  EXPECT_NE(was, plan(base, kRoots).resolved());
}

TEST_F(PlanFile, TheExamplePlansAreGood) {
  int plans = 0;
  for (const auto& file : std::filesystem::directory_iterator("scenarios/plans")) {
    if (file.path().extension() != ".toml") continue;  // a script may read the results
    const Plan p = load_plan(file.path().string());
    ++plans;
    for (std::size_t i = 0; i < 5; ++i) EXPECT_EQ("", p.ride(i * (p.size() - 1) / 4).failure);
  }
  EXPECT_GE(plans, 1);
  const Plan drop = load_plan("scenarios/plans/drop.toml");
  EXPECT_EQ(320U, drop.size());
}

// 1e12 rides are the most: 10^4 * 10^4 * 10^4 * 2 are more, and no overflow hides it.
TEST_F(PlanFile, RidesPastTheLimitAreRefused) {
  const std::string thousandths = "\"10 km/h..19.999 km/h:0.001 km/h\"";
  std::string text = axis("ride.speed", thousandths);
  text += axis("rider.mass", "\"60 kg..69.999 kg:0.001 kg\"");
  text += axis("bike.mass", "\"10 kg..19.999 kg:0.001 kg\"");
  EXPECT_EQ(1'000'000'000'000U, plan(text).size());
  EXPECT_EQ("", plan(text).ride(999'999'999'999U).failure);
  EXPECT_NE(std::string::npos, refusal(text + axis("fork.spacers", "[0, 1]"))
                                   .find("must ask for at most 1000000000000 rides"));
}

}  // namespace
}  // namespace plunge::plan_file_test
