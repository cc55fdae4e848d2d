// One ride from a judged Setup to a Result.
//
// run_ride() builds ground, line and rider, starts from the exact static equilibrium on the first
// slope, integrates, and works out channels, metrics (metrics.hpp), the energy audit and the
// solver's account. A run that fails is returned with what it had and `failure` set.
// Throws InputError where ground or line cannot be built from the Setup, or a wheel lifts.
#pragma once

#include <cstddef>
#include <exception>
#include <functional>
#include <vector>

#include "models/setup/assemble.hpp"
#include "models/setup/ride_line.hpp"
#include "sim/ground/terrain.hpp"
#include "sim/measure/result.hpp"
#include "sim/ride/integrator.hpp"

namespace plunge {

// What is integrated.
struct Prepared {
  Rider rider;
  Ground ground;
  RideLine line;
  State<double> start{};
};

Prepared prepare(const Setup& setup);

// Throws InputError where a wheel cannot carry the bike at the prescribed speed (balance.hpp).
void refuse_tipping(const Setup& setup, const Rider& rider, const GradeLine& grade,
                    const RideLine& line);

// State at the start of a line: the static equilibrium on the path there, place of the wheel
// included. A line begins at a steady speed, whatever its events, so that a straight path keeps it
// until something happens.
State<double> start_of(const Rider& rider, const Ground& ground, const RideLine& line);

// Takes the traces of a ride as it goes, kTraceBlock samples at a time and at the end what is left.
// What it throws ends the ride and is thrown on.
using TraceSink = std::function<void(const std::vector<Channel>& block)>;

// The channels of every ride, without values.
std::vector<Channel> empty_channels();

// Samples of each trace, or one more. Throws as prepare() does.
std::size_t most_samples(const Setup& setup);

Result run_ride(const Setup& setup);

// Thrown by a ride that was told to stop.
class RideStopped : public std::exception {};

// The same with what has been prepared already: prepare(setup), or its like.
// sink: takes the traces; the result then has no time and no channels, and in memory stay the five
// traces that metrics are drawn from, 40 bytes a sample.
// stop: asked every few milliseconds.
Result run_ride(const Setup& setup, const Prepared& prepared, const TraceSink& sink = {},
                const std::function<bool()>& stop = {});

// Closing error of the energy audit: (in - out - change of what is stored) over all energy turned
// over, at least 1 mJ.
double closing_error(const Rider& rider, const Instant& first, const Instant& last);

}  // namespace plunge
