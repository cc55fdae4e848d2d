#include "tools/cli/rides.hpp"

#include <fmt/core.h>

#include <optional>
#include <utility>

#include "models/setup/shown.hpp"
#include "sim/sweep/ride_many.hpp"
#include "tools/cli/interrupt.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {

void tell_notes(const ReadyRides& ready) {
  for (const std::string& text : ready.notes) note("{}\n", shown(text));
}

std::vector<Result> ride_ready(const ReadyRides& ready) {
  const InterruptGuard guard;
  RideWatch watch;
  watch.stop = [] { return InterruptGuard::asked(); };
  if (shows_progress() && ready.rides.size() > 1) {
    watch.on_progress = [](std::size_t ridden, std::size_t all) {
      show_progress(fmt::format("{} of {} rides", ridden, all));
    };
  }
  std::vector<Result> results;
  for (std::optional<Result>& result : ride_all(ready.rides, watch)) {
    if (result) results.push_back(std::move(*result));
  }
  clear_progress();
  return results;
}

}  // namespace plunge
