// gnuplot, fed with a script.
#pragma once

#include <string>

namespace plunge {

// What gnuplot writes to its standard output. Throws RunError where it is missing, fails or writes
// nothing.
std::string run_gnuplot(const std::string& script);

}  // namespace plunge
