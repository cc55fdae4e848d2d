#include "sim/text/build.hpp"

#include <gtest/gtest.h>

#include "sim/text/version.hpp"
#include "tests/scratch.hpp"

namespace plunge::build_test {
namespace {

TEST(Build, OneLineSaysVersionCommitAndCompiler) {
  EXPECT_EQ(build_text(), std::string("plunge ") + kProgramVersion + ", commit " + build_commit() +
                              ", " + build_compiler());
  EXPECT_EQ(build_text().find('\n'), std::string::npos);
}

// Of g++ and clang alike.
TEST(Build, TheCompilerIsTheOneThatCompiledThis) {
  EXPECT_NE((" " + build_compiler()).find(" " + std::to_string(__GNUC__) + "."), std::string::npos)
      << build_compiler();
}

// The tree may stand at another commit by now, but not without one where it is a repository.
TEST(Build, TheCommitIsKnownInARepositoryAlone) {
  const bool repository = output_of("test -e .git && git rev-parse -q --verify HEAD") != "";
  EXPECT_EQ(build_commit() != "unknown", repository) << build_commit();
}

// An archive's tree is built as any other.
TEST(Build, ATreeWithoutARepositoryHasAnUnknownCommit) {
  const ScratchDirectory directory;
  const std::string tree = directory / "tree";
  const std::string said =
      output_of("mkdir -p " + tree + "/sim/text && cp sim/text/build_commit.hpp.in " + tree +
                "/sim/text && cmake -DSOURCE=" + tree + " -DOUTPUT=" + tree +
                "/made.hpp -P tools/install/commit.cmake");
  EXPECT_NE(bytes_of(tree + "/made.hpp").find("kBuildCommit[] = \"unknown\""), std::string::npos)
      << said;
}

}  // namespace
}  // namespace plunge::build_test
