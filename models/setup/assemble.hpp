// From a judged Setup to the laws: a quarter rider ready to be ridden.
//
// The gas masses follow from the pump's pressure (air_spring.hpp). The Setup must have passed
// judge(); nothing is checked again here.
#pragma once

#include "models/laws/quarter_rider.hpp"
#include "models/setup/damper.hpp"
#include "models/setup/setup.hpp"

namespace plunge {

using Rider = QuarterRider<double>;

Rider assemble(const Setup& setup);

// The same with dampers that were made before: to make them takes longest.
Rider assemble(const Setup& setup, const Damper<double>& damper);

// Fills the air spring to a gauge pressure at the conditions of setup.pumped [Pa].
void inflate(Rider& rider, const Setup& setup, double gauge);

}  // namespace plunge
