#include "sim/text/build.hpp"

#include "sim/text/build_commit.hpp"
#include "sim/text/version.hpp"

namespace plunge {

std::string build_commit() { return kBuildCommit; }

std::string build_compiler() { return kBuildCompiler; }

std::string build_text() {
  return std::string("plunge ") + kProgramVersion + ", commit " + kBuildCommit + ", " +
         kBuildCompiler;
}

}  // namespace plunge
