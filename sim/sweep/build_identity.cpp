#include "sim/sweep/build_identity.hpp"

#include <fmt/core.h>

#include <cstdlib>

#include "sim/sweep/build_facts.hpp"
#include "sim/text/version.hpp"
#ifdef __GLIBC__
#include <gnu/libc-version.h>
#endif

namespace plunge {
namespace {

std::string c_library() {
#ifdef __GLIBC__
  return fmt::format("glibc {}", ::gnu_get_libc_version());
#else
  return "another C library";
#endif
}

}  // namespace

const std::string& build_identity() {
  static const std::string text =
      fmt::format("plunge {}, sources {}, {}, {}, {}", kProgramVersion, kFactsSources,
                  kFactsCompiler, kFactsOptions, c_library());
  return text;
}

}  // namespace plunge
