// Which build of plunge this is, as far as the numbers of rides depend on it.
//
// Version, a digest of the sources of models/ and of those of sim/ that work numbers out, compiler,
// its options, those of the lanes, the versions of the libraries that are compiled in, and the C
// library that runs. Two builds that differ in any of it may differ in the last digits. What does
// not count: where it was built, when, with which warnings, each source by itself or as one.
#pragma once

#include <string>

namespace plunge {

// One line of text.
const std::string& build_identity();

}  // namespace plunge
