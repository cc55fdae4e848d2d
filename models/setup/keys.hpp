// Keys of what takes long to make: all numbers that a damper's law or a wheel's path follows from.
//
// Two set-ups with equal keys have the same law or the same path, so that either may be made once
// and kept. The keys are built from the parameter table, the columns of its lists and the choices:
// a number that joins them there is in the key at once (tests/models/setup/keys_test.cpp changes
// each number and expects another key).
//
//   damper_key   of one direction, "fork.compression" or "fork.rebound": its kind, its numbers, its
//                tables and the oil
//   ground_key   features with all their numbers, words and points; how the wheel reads them, and
//                its radius or length
// An unset number counts as one value. Equal keys need equal order of rows, features and points.
#pragma once

#include <vector>

#include "models/setup/parameters.hpp"
#include "models/setup/setup.hpp"

namespace plunge {

using Key = std::vector<double>;

Key damper_key(const DamperSetup& damper, const OilSetup& oil);
Key ground_key(const std::vector<Feature>& terrain, const BikeSetup& bike);

// Whether the path of the wheel's centre or the grade that the bike rides on follows from a number
// of the parameter table, which names all but those of the features.
bool shapes_ground(const Parameter& parameter);

}  // namespace plunge
