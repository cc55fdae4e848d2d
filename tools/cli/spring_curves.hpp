// The static curves of springs over travel, as `curve` prints and draws them.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "models/setup/setup.hpp"
#include "sim/measure/result.hpp"
#include "sim/report/ride_bands.hpp"
#include "sim/ride/ready.hpp"

namespace plunge {

// One static curve of a fork.
struct CurveTable {
  std::string label;
  std::string fork;  // what tells it from other forks
  std::vector<NamedValue> set;
  std::vector<NamedValue> held;
  std::vector<NamedValue> settings;  // of its spring: spacers and pressure, or rate and preload
  double load = kUnset;              // of the rider along the legs at rest [N]
  std::vector<Metric> metrics;
  std::vector<double> travel;  // [m]
  std::vector<double> slow;    // [N]
  std::vector<double> fast;    // [N]
  RideBands bands;             // of this curve alone; empty: nothing is drawn
};

// A setting by name, NaN where the spring does not have it.
double setting(const CurveTable& curve, std::string_view name);

// One for each variant of each fork, in their order.
std::vector<CurveTable> spring_curves(const std::vector<ReadyRides>& forks, bool with_rider);

// Whether a number takes several values and none of them changes anything that is printed or drawn
// of a curve, whatever else is varied.
bool is_idle(const std::vector<CurveTable>& curves, std::string_view name);

// What is not known of each fork leaves open of the numbers of its curves.
void put_bands(const std::vector<ReadyRides>& forks, bool with_rider,
               std::vector<CurveTable>& curves);

// A row for each curve, then what is not known of each fork.
std::string spring_text(const std::vector<ReadyRides>& forks, const std::vector<CurveTable>& curves,
                        bool with_rider, bool bar);

}  // namespace plunge
