// Riding what is ready, with what a terminal is told meanwhile: what ride, curve and modes share.
#pragma once

#include <string>
#include <vector>

#include "sim/measure/result.hpp"
#include "sim/ride/ready.hpp"
#include "tools/cli/figures.hpp"

namespace plunge {

// Says the notes on standard error.
void tell_notes(const ReadyRides& ready);

// Rides all on all cores into a file (sim/report/ride_to_file.hpp), which history is of. Stops
// taking new ones after an interrupt: those not ridden are left out at the end. plot, where it is
// not null, sees the traces.
std::vector<Result> ride_ready(const ReadyRides& ready, const std::string& path,
                               const std::string& history, PlotTraces* plot);

}  // namespace plunge
