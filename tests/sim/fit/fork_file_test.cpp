#include "sim/fit/fork_file.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <string_view>

#include "sim/input/scene_reader.hpp"
#include "sim/text/text_files.hpp"
#include "tests/fork_at_bench.hpp"
#include "tests/scene_files.hpp"

namespace plunge::fork_file_test {
namespace {

Scene read_back(const std::string& text) {
  MemoryFiles files;
  files.put("fork.toml", text);
  return load_fork_scene(files, "fork.toml", "", {});
}

void expect_same(const plunge::Setup& written, const plunge::Setup& read) {
  for (const Parameter& parameter : parameters()) {
    if (!parameter.name.starts_with("fork.") || !is_read(parameter, written)) continue;
    const double value = parameter.get(written);
    if (std::isnan(value)) continue;
    EXPECT_NEAR(parameter.get(read), value, 1e-8 * std::abs(value)) << parameter.name;
  }
}

TEST(ForkFile, ReadsBackWithItsMarks) {
  const BegunFork fork = family_fork();
  const Scene read = read_back(fork_file_text(fork.setup, fork.knowledge, "a \"note\""));
  expect_same(fork.setup, read.setup);
  ASSERT_EQ(read.knowledge.size(), fork.knowledge.size());
  for (const KnownNumber& number : fork.knowledge.numbers()) {
    const std::size_t at = fork.knowledge.find(number.name);
    const std::size_t place = read.knowledge.find(number.name);
    ASSERT_LT(place, read.knowledge.size()) << number.name;
    EXPECT_EQ(read.knowledge.numbers()[place].evidence, number.evidence);
    EXPECT_EQ(read.knowledge.numbers()[place].source, number.source);
    EXPECT_NEAR(read.knowledge.spread(place), fork.knowledge.spread(at), 1e-4);
    for (const KnownNumber& other : fork.knowledge.numbers()) {
      EXPECT_NEAR(read.knowledge.covariance(place, read.knowledge.find(other.name)),
                  fork.knowledge.covariance(at, fork.knowledge.find(other.name)), 1e-4);
    }
  }
}

TEST(ForkFile, KeepsDampersOfEveryKind) {
  for (const char* name : {"bracken-200", "sorrel-120", "teasel-150"}) {
    const Scene scene =
        load_fork_scene(disk_files(), std::string("scenarios/forks/") + name + ".toml", "", {});
    const Scene read = read_back(fork_file_text(scene.setup, {}, ""));
    expect_same(scene.setup, read.setup);
    EXPECT_EQ(read.setup.fork.compression.kind, scene.setup.fork.compression.kind);
    EXPECT_EQ(read.setup.fork.compression.points.size(),
              scene.setup.fork.compression.points.size());
    EXPECT_EQ(read.setup.fork.rebound.click_table.size(),
              scene.setup.fork.rebound.click_table.size());
  }
}

TEST(ForkFile, BeginsWithWhatIsGiven) {
  ForkStart start;
  start.travel = 0.14;
  start.family.bore = 0.0315;
  start.spacer_volume = 8e-6;
  start.spacer_limit = 5.0;
  const BegunFork fork = begin_fork(start);
  const auto evidence = [&](const char* name) {
    return fork.knowledge.numbers()[fork.knowledge.find(name)].evidence;
  };
  EXPECT_EQ(evidence("fork.air.main_area"), Evidence::measured);
  EXPECT_EQ(evidence("fork.air.spacer_volume"), Evidence::measured);
  EXPECT_EQ(evidence("fork.air.main_volume"), Evidence::guessed);
  EXPECT_EQ(fork.setup.fork.spacer_limit, 5.0);
  start.travel = 0.3;
  start.family.bore = 0.1;
  try {
    begin_fork(start);
    FAIL();
  } catch (const InputError& error) {
    EXPECT_EQ(error.faults().size(), 2u);
  }
}

}  // namespace
}  // namespace plunge::fork_file_test
