#include "tools/cli/rides.hpp"

#include <fmt/core.h>
#include <unistd.h>

#include <cstdio>
#include <optional>
#include <utility>

#include "sim/sweep/ride_many.hpp"
#include "tools/cli/interrupt.hpp"

namespace plunge {

void tell_notes(const ReadyRides& ready) {
  for (const std::string& note : ready.notes) fmt::print(stderr, "{}\n", note);
}

std::vector<Result> ride_ready(const ReadyRides& ready) {
  const InterruptGuard guard;
  RideWatch watch;
  watch.stop = [] { return InterruptGuard::asked(); };
  if (isatty(STDERR_FILENO) != 0 && ready.rides.size() > 1) {
    watch.on_progress = [](std::size_t ridden, std::size_t all) {
      std::fputs(fmt::format("\r{} of {} rides", ridden, all).c_str(), stderr);
      if (ridden == all) std::fputs("\r\x1b[K", stderr);
    };
  }
  std::vector<Result> results;
  for (std::optional<Result>& result : ride_all(ready.rides, watch)) {
    if (result) results.push_back(std::move(*result));
  }
  return results;
}

}  // namespace plunge
