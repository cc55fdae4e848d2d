// Riding what is ready, with what a terminal is told meanwhile: what ride, curve and modes share.
#pragma once

#include <vector>

#include "sim/measure/result.hpp"
#include "sim/ride/ready.hpp"

namespace plunge {

// Says the notes on standard error.
void tell_notes(const ReadyRides& ready);

// Rides all on all cores, in their order. Stops taking new ones after an interrupt: those not
// ridden are left out at the end.
std::vector<Result> ride_ready(const ReadyRides& ready);

}  // namespace plunge
