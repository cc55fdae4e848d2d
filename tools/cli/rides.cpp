#include "tools/cli/rides.hpp"

#include <fmt/core.h>
#include <unistd.h>

#include "sim/report/ride_to_file.hpp"
#include "tools/cli/interrupt.hpp"
#include "tools/cli/voice.hpp"

namespace plunge {

void tell_notes(const ReadyRides& ready) {
  for (const std::string& note : ready.notes) tell("{}\n", note);
}

std::vector<Result> ride_ready(const ReadyRides& ready, const std::string& path,
                               const std::string& history, PlotTraces* plot) {
  const InterruptGuard guard;
  RideFileOptions options;
  options.history = history;
  options.watch.stop = [] { return InterruptGuard::asked(); };
  if (isatty(STDERR_FILENO) != 0 && ready.rides.size() > 1) {
    options.watch.on_progress = [](std::size_t ridden, std::size_t all) {
      tell("\r{} of {} rides", ridden, all);
      if (ridden == all) tell_text("\r\x1b[K");
    };
  }
  if (plot != nullptr) {
    options.on_block = [plot](std::size_t ride, const std::vector<Channel>& block) {
      plot->take(ride, block);
    };
  }
  return ride_to_file(path, ready, options);
}

}  // namespace plunge
