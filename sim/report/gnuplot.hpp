// gnuplot, fed with a script.
#pragma once

#include <cstddef>
#include <string>

namespace plunge {

// What a drawing may take; what takes more is stopped.
struct DrawingLimits {
  double seconds = 120.0;            // a picture of a million points takes a few
  std::size_t bytes = 256UL << 20U;  // of the picture
};

// What gnuplot writes to its standard output. Throws RunError where it is missing, fails, is
// killed, passes a limit or writes nothing, with what it says of that.
std::string run_gnuplot(const std::string& script, const DrawingLimits& limits = {});

}  // namespace plunge
