#include "sim/input/knowledge_reader.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

#include "sim/input/scene_reader.hpp"
#include "sim/text/text_files.hpp"
#include "tests/scene_files.hpp"

namespace plunge::knowledge_reader_test {
namespace {

constexpr char kHead[] = "type = \"fork\"\nformat = [1, 4]\n";
constexpr char kMinimal[] = R"(travel = "140 mm"
family.stanchion = "34 mm"
family.wheel = "29 in"
)";
constexpr char kMarked[] = R"(travel = "140 mm"
[family]
stanchion = "34 mm"
[air]
main_volume = "185 cm3"
main_area = "7.9 cm2"
[known.air]
main_volume = {from = "fitted", spread = "4 %", source = "three readings"}
main_area = {from = "measured", spread = 0.01, source = "a calliper"}
[joint]
names = ["air.main_volume", "air.main_area"]
correlation = [[0.9]]
)";

Scene load(const std::string& body, const std::vector<std::string>& set = {}) {
  MemoryFiles files;
  files.put("fork.toml", kHead + body);
  return load_fork_scene(files, "fork.toml", "", {set, {}, Held::nothing});
}

Faults faults_of(const std::string& body, const std::vector<std::string>& set = {}) {
  try {
    load(body, set);
    return {};
  } catch (const InputError& error) {
    return error.faults();
  }
}

TEST(KnowledgeReader, ThreeLinesAreAFork) {
  const Scene scene = load(kMinimal);
  EXPECT_EQ(scene.knowledge.count(Evidence::guessed), family_rows().size());
  EXPECT_GT(scene.setup.fork.air.main_volume, 1.5e-4);
  EXPECT_FALSE(std::isnan(scene.setup.fork.pressure));
}

TEST(KnowledgeReader, WhatTheFileGivesKeepsItsMarkAndWhatFollowsFromItItsSpread) {
  const Scene scene = load(kMarked);
  const Knowledge& known = scene.knowledge;
  EXPECT_EQ(scene.setup.fork.air.main_volume, 185e-6);
  const std::size_t volume = known.find("fork.air.main_volume");
  const std::size_t area = known.find("fork.air.main_area");
  EXPECT_EQ(known.numbers()[volume].evidence, Evidence::fitted);
  EXPECT_EQ(known.numbers()[volume].source, "three readings");
  EXPECT_NEAR(known.spread(volume), 0.04, 1e-12);
  EXPECT_NEAR(known.covariance(volume, area), 0.9 * 0.04 * 0.01, 1e-12);
  // The negative chamber is guessed as a share of the measured piston.
  const std::size_t negative = known.find("fork.air.negative_area");
  EXPECT_NEAR(known.covariance(negative, area), 1e-4, 1e-12);
  EXPECT_NEAR(known.covariance(negative, volume), 0.9 * 0.04 * 0.01, 1e-12);
}

TEST(KnowledgeReader, WhatIsLaidOverTheFileIsTakenAsItStands) {
  const Scene scene = load(kMarked, {"fork.air.main_volume=190cm3"});
  EXPECT_EQ(scene.knowledge.find("fork.air.main_volume"), scene.knowledge.size());
  EXPECT_LT(scene.knowledge.find("fork.air.main_area"), scene.knowledge.size());
  // And what the family would have filled in.
  const Scene minimal = load(kMinimal, {"fork.friction.seal=20N"});
  EXPECT_EQ(minimal.knowledge.find("fork.friction.seal"), minimal.knowledge.size());
  EXPECT_EQ(minimal.setup.fork.friction.seal, 20.0);
}

TEST(KnowledgeReader, AFamilyGoesByTheTravelThatIsLaidOver) {
  EXPECT_GT(load(kMinimal, {"fork.travel=180mm"}).setup.fork.air.main_volume,
            load(kMinimal).setup.fork.air.main_volume);
  const Faults faults = faults_of(kMinimal, {"fork.travel=80mm"});
  ASSERT_FALSE(faults.empty());
  EXPECT_EQ(faults.front().key, "fork.travel");
  EXPECT_EQ(faults.front().place.file, "--set");
}

TEST(KnowledgeReader, AForkInsideASceneIsReadAsOneInAFile) {
  const std::string scene = R"(type = "scene"
format = [1, 4]
[fork]
travel = "140 mm"
family.stanchion = "34 mm"
[rider]
mass = "80 kg"
[ride]
speed = "20 km/h"
[[terrain]]
kind = "flat"
length = "10 m"
[hold]
sag = "22 %"
)";
  const Scene read = parse_scene(scene, "scene.toml");
  EXPECT_GT(read.knowledge.count(Evidence::guessed), 10u);
  // The pressure is solved for.
  EXPECT_EQ(read.knowledge.find("fork.pressure"), read.knowledge.size());
}

constexpr char kRider[] = R"(type = "rider"
format = [1, 5]
mass = "82 kg"
front_share = "42 %"
[known]
front_share = {from = "guessed", spread = "7 %", source = "by eye"}
mass = {from = "measured", spread = "1 %", source = "scale"}
)";

Scene load_under(const std::string& rider, const std::vector<std::string>& set = {}) {
  MemoryFiles files;
  files.put("fork.toml", std::string(kHead) + kMarked);
  files.put("rider.toml", rider);
  return load_fork_scene(files, "fork.toml", "rider.toml", {set, {}, Held::nothing});
}

TEST(KnowledgeReader, ARiderHasMarksBesideThoseOfTheFork) {
  const Scene scene = load_under(kRider);
  const Knowledge& known = scene.knowledge;
  const std::size_t share = known.find("rider.front_share");
  ASSERT_LT(share, known.size());
  EXPECT_DOUBLE_EQ(known.spread(share), 0.07);
  EXPECT_DOUBLE_EQ(known.spread(known.find("rider.mass")), 0.01);
  EXPECT_DOUBLE_EQ(known.spread(known.find("fork.air.main_volume")), 0.04);
  EXPECT_NE(guesses_note(known).find("of the rider is not measured: share of weight"),
            std::string::npos);
  const Scene given = load_under(kRider, {"rider.front_share=40%"});
  EXPECT_EQ(given.knowledge.find("rider.front_share"), given.knowledge.size());
  EXPECT_LT(given.knowledge.find("fork.air.main_volume"), given.knowledge.size());
}

TEST(KnowledgeReader, AMarkOfARiderNamesARidersNumber) {
  const auto rule = [](const std::string& mark) {
    try {
      load_under(std::string(kRider) + mark);
    } catch (const InputError& error) {
      return to_string(error.faults().front());
    }
    return std::string();
  };
  EXPECT_NE(rule("travel = {from = \"guessed\", spread = 0, source = \"x\"}\n")
                .find("rider.known.travel"),
            std::string::npos);
  EXPECT_NE(rule("[joint]\nnames = []\n").find("rider.joint"), std::string::npos);
}

}  // namespace
}  // namespace plunge::knowledge_reader_test
