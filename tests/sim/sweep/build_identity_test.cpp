#include "sim/sweep/build_identity.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>

#include "sim/text/version.hpp"
#include "tests/scratch.hpp"

namespace plunge::build_identity_test {
namespace {

namespace fs = std::filesystem;

TEST(BuildIdentity, SaysVersionCompilerAndOptionsInOneLine) {
  const std::string& text = build_identity();
  EXPECT_TRUE(text.starts_with(fmt::format("plunge {}, sources ", kProgramVersion))) << text;
  EXPECT_NE(text.find("-ffp-contract=off"), std::string::npos) << text;
  EXPECT_NE(text.find("lanes -ffp-contract=fast"), std::string::npos) << text;
  EXPECT_EQ(text.find('\n'), std::string::npos);
  EXPECT_EQ(text.find("-W"), std::string::npos) << text;
}

// What the build writes for a tree.
class Facts : public testing::Test {
 protected:
  void SetUp() override {
    for (const char* tree : {"a", "b"}) {
      fs::create_directories(directory_ / (std::string(tree) + "/models/laws"));
      fs::create_directories(directory_ / (std::string(tree) + "/sim/sweep"));
      fs::create_directories(directory_ / (std::string(tree) + "/sim/report"));
      std::ofstream(directory_ / (std::string(tree) + "/models/laws/tyre.hpp")) << "k x";
      std::ofstream(directory_ / (std::string(tree) + "/sim/report/plot.cpp")) << "a plot";
      fs::copy("sim/sweep/build_facts.hpp.in", directory_ / (std::string(tree) + "/sim/sweep"));
    }
  }
  std::string facts(const std::string& tree, const std::string& options,
                    const std::string& compiler = "GNU 12.2.0 x86_64") {
    const std::string header = directory_ / (std::string(tree) + "/build/facts.hpp");
    const std::string said = output_of(fmt::format(
        "cmake -DROOT={0} -DOUTPUT={1} '-DCOMPILER={2}' '-DOPTIONS={3}' '-DLANES=-ffast' "
        "'-DLIBRARIES=Boost 1' -P tools/install/build_facts.cmake",
        directory_ / tree, header, compiler, options));
    EXPECT_EQ(said, "");
    return bytes_of(header);
  }
  const ScratchDirectory directory_;
};

TEST_F(Facts, TheSameSourcesInAnotherFolderAreTheSameBuild) {
  const std::string a = facts("a", "-O3 -DNDEBUG");
  EXPECT_NE(a.find("kFactsOptions[] = \"-O3 -DNDEBUG, lanes -ffast, Boost 1\""), std::string::npos)
      << a;
  EXPECT_EQ(
      a, facts("b", "-O3  -Wall -DNDEBUG -Werror -ffile-prefix-map=" + (directory_ / "b") + "=."));
  std::ofstream(directory_ / "b/sim/report/plot.cpp") << "another plot, and the same numbers";
  EXPECT_EQ(a, facts("b", "-O3 -DNDEBUG"));
}

TEST_F(Facts, OtherSourcesOptionsAndCompilersAreOtherBuilds) {
  const std::string a = facts("a", "-O3 -DNDEBUG");
  EXPECT_NE(a, facts("a", "-O1 -DNDEBUG"));
  EXPECT_NE(a, facts("a", "-O3 -DNDEBUG", "GNU 13.1.0 x86_64"));
  std::ofstream(directory_ / "b/models/laws/tyre.hpp") << "k x^2";
  EXPECT_NE(a, facts("b", "-O3 -DNDEBUG"));
  std::ofstream(directory_ / "b/models/laws/tyre.hpp") << "k x";
  EXPECT_EQ(a, facts("b", "-O3 -DNDEBUG"));
  fs::rename(directory_ / "b/models/laws/tyre.hpp", directory_ / "b/models/laws/tire.hpp");
  EXPECT_NE(a, facts("b", "-O3 -DNDEBUG"));
}

}  // namespace
}  // namespace plunge::build_identity_test
