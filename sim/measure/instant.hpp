// One instant of a ride: the state, what is prescribed there and all that acts.
#pragma once

#include "models/laws/quarter_rider.hpp"

namespace plunge {

struct Instant {
  double time = 0.0;
  State<double> state{};
  Motion<double> motion;
  Course<double> course;
  PathPoint<double> point;
  Forces<double> forces{};
};

}  // namespace plunge
