#include "tools/cli/rides.hpp"

#include <fmt/core.h>
#include <unistd.h>

#include <cstdio>
#include <optional>
#include <utility>

#include "sim/sweep/ride_many.hpp"
#include "tools/cli/interrupt.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {

void tell_notes(const ReadyRides& ready) {
  for (const std::string& note : ready.notes) tell("{}\n", note);
}

std::vector<Result> ride_ready(const ReadyRides& ready) {
  const InterruptGuard guard;
  RideWatch watch;
  watch.stop = [] { return InterruptGuard::asked(); };
  if (isatty(STDERR_FILENO) != 0 && ready.rides.size() > 1) {
    watch.on_progress = [](std::size_t ridden, std::size_t all) {
      tell("\r{} of {} rides", ridden, all);
      if (ridden == all) tell_text("\r\x1b[K");
    };
  }
  std::vector<Result> results;
  for (std::optional<Result>& result : ride_all(ready.rides, watch)) {
    if (result) results.push_back(std::move(*result));
  }
  return results;
}

}  // namespace plunge
