// How well plunge has done: travel used as predicted against the ring on the leg.
//
//   error = ring - predicted                               [m], above 0: the fork used more
//   mean  = sum(error) / n                                 what plunge leans by
//   spread = sqrt(sum((error - mean)^2) / (n - 1))         how far it scatters, from two rides on
//
// The prediction of a ride is the last one made for the ride itself; else the last one made for
// its setting with the ride's scene; else the last one for its setting without a scene. One that
// was in the log before the ride foretells; one that came later may have known the ring, and is
// summed up apart.
// The ring reads the deepest travel (travel_max); on a fork that is at its end it can't read how
// hard it got there.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "sim/log/log_content.hpp"

namespace plunge {

struct AccountRow {
  std::int64_t ride = 0;
  std::int64_t setting = 0;
  std::int64_t prediction = 0;
  std::string scene;
  double predicted = kUnset;  // [m]
  double ring = kUnset;       // [m]
  double error = kUnset;      // [m]
  double low = kUnset;        // between which nine rings of ten were foretold [m]; NaN: not said
  double high = kUnset;
  bool foretold = false;
};

struct AccountSum {
  std::size_t rides = 0;
  double mean = kUnset;    // [m]; NaN without a ride
  double spread = kUnset;  // [m]; NaN with fewer than two
  std::size_t banded = 0;  // of them with a band that was foretold
  std::size_t inside = 0;  // with the ring within it
};

struct LogAccount {
  std::vector<AccountRow> rows;  // of all rides with a ring and a prediction
  AccountSum foretold;
  AccountSum afterwards;
};

LogAccount account_of(const LogContent& log);

}  // namespace plunge
