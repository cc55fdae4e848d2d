#include "sim/input/service_reader.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "models/setup/fault.hpp"
#include "sim/fit/fork_file.hpp"
#include "sim/input/scene_reader.hpp"
#include "sim/text/text_files.hpp"
#include "tests/scratch.hpp"

namespace plunge::service_reader_test {
namespace {

constexpr char kFork[] = R"(type = "fork"
format = [1, 5]
travel = "140 mm"
family.stanchion = "34 mm"
)";
constexpr char kService[] = R"([service]
cap = "28 mm socket"
torque = "24 N.m"
torque_source = "the maker's manual"
tools = ["torque wrench"]
steps = ["one", "two"]
)";

Scene load(const std::string& more) {
  MemoryFiles files;
  files.put("fork.toml", kFork + more);
  return load_fork_file(files, "fork.toml");
}

// What is said of a faulty table.
std::string refusal(const std::string& more) {
  try {
    load(more);
    return {};
  } catch (const InputError& error) {
    return error.what();
  }
}

TEST(ServiceReader, WhatAForkSaysIsRead) {
  const Service service = load(kService).service;
  EXPECT_EQ(service.cap, "28 mm socket");
  EXPECT_EQ(service.torque, 24.0);
  EXPECT_EQ(service.torque_source, "the maker's manual");
  EXPECT_EQ(service.tools, std::vector<std::string>{"torque wrench"});
  EXPECT_EQ(service.steps, (std::vector<std::string>{"one", "two"}));
  EXPECT_FALSE(service.empty());
  EXPECT_TRUE(load("").service.empty());
}

TEST(ServiceReader, ATorqueInAnotherUnitIsTheSameTorque) {
  // 1 lbf is 4.4482216152605 N, 1 ft is 0.3048 m, both exact.
  const Service service =
      load("[service]\ntorque = \"18 lbf.ft\"\ntorque_source = \"manual\"\n").service;
  EXPECT_NEAR(service.torque, 18.0 * 4.4482216152605 * 0.3048, 1e-9);
}

TEST(ServiceReader, NothingOfItIsRidden) {
  const Scene with = load(kService);
  const Scene without = load("");
  EXPECT_EQ(fork_file_text(with.setup, with.knowledge, ""),
            fork_file_text(without.setup, without.knowledge, ""));
}

TEST(ServiceReader, WhatIsWrittenReadsBack) {
  const Scene scene = load(kService);
  MemoryFiles files;
  files.put("again.toml", fork_file_text(scene.setup, scene.knowledge, "", scene.service));
  const Service again = load_fork_file(files, "again.toml").service;
  EXPECT_EQ(again.cap, scene.service.cap);
  EXPECT_EQ(again.torque, scene.service.torque);
  EXPECT_EQ(again.torque_source, scene.service.torque_source);
  EXPECT_EQ(again.tools, scene.service.tools);
  EXPECT_EQ(again.steps, scene.service.steps);
}

TEST(ServiceReader, TheFormatsPageTellsItsLimits) {
  const std::string page = bytes_of("scenarios/format.md");
  EXPECT_NE(page.find("at most " + std::to_string(kMostServiceTools) + " tools and " +
                      std::to_string(kMostServiceSteps) + " steps, of " +
                      std::to_string(kLongestServiceText) + " letters"),
            std::string::npos);
}

TEST(ServiceReader, ATextThatIsTooLongOrOfTwoLinesIsRefused) {
  const std::string longest(kLongestServiceText, 'x');
  EXPECT_EQ(refusal("[service]\ncap = \"" + longest + "\"\n"), "");
  EXPECT_NE(refusal("[service]\ncap = \"" + longest + "x\"\n").find("one line of 1 to 80 letters"),
            std::string::npos);
  EXPECT_NE(refusal("[service]\nsteps = [\"a\\nb\"]\n").find("fork.service.steps[0]"),
            std::string::npos);
}

}  // namespace
}  // namespace plunge::service_reader_test
