// Riding what is ready, with what a terminal is told meanwhile: what ride, curve and modes share.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "sim/measure/result.hpp"
#include "sim/report/ride_bands.hpp"
#include "sim/ride/ready.hpp"
#include "tools/cli/plot_traces.hpp"

namespace plunge {

// What was laid over the files and is not said elsewhere: "set: fork.spacers = 2" and
// "varied: ...", a line each.
std::string overrides_text(const std::vector<std::string>& set,
                           const std::vector<std::string>& vary = {});

// What is ridden: the scene, the fork, who rides and how heavy, the speed; then the overrides, and
// what is held.
std::string header_text(const ReadyRides& ready, const Wishes& wishes);

// Says the notes on standard error.
void tell_notes(const ReadyRides& ready);

// Rides all on all cores into a file (sim/report/ride_to_file.hpp), which history is of. Stops
// taking new ones after an interrupt: those not ridden are left out at the end. plot, where it is
// not null, sees the traces.
std::vector<Result> ride_ready(const ReadyRides& ready, const std::string& path,
                               const std::string& history, PlotTraces* plot);

// What is not known leaves open of the metrics that people see, with progress and stopped by an
// interrupt: nothing after one. Empty where nothing is uncertain.
std::optional<RideBands> ride_bands_of(const ReadyRides& ready);

}  // namespace plunge
