// The laws of a damper over speed, as `curve --damper` prints and draws them.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "models/setup/damper_readings.hpp"
#include "models/setup/setup.hpp"
#include "sim/measure/result.hpp"
#include "sim/ride/ready.hpp"

namespace plunge {

// One click of an adjuster, the other one as it is set. A click that locks the damper is refused by
// its judge and has no numbers.
struct ClickReading {
  double clicks = 0.0;
  DamperReading reading;
  std::vector<double> force;  // over the speeds of its direction [N]; empty: refused
};

struct ClickReadings {
  Adjuster adjuster;
  double as_set = 0.0;               // clicks from closed
  std::vector<ClickReading> clicks;  // from closed to open
};

struct DirectionCurve {
  std::string name;  // "compression", "rebound"
  DamperSetup damper;
  DamperReading reading;
  std::vector<double> speed;  // [m/s]
  std::vector<double> force;  // that resists it [N]
  std::vector<ClickReadings> adjusters;
};

struct DamperCurves {
  std::string label;
  std::string fork;  // that the label begins with; empty: there is one fork
  std::vector<NamedValue> set;
  std::array<DirectionCurve, 2> directions;  // compression, rebound
};

// `fork`: what its label begins with. `by_click`: with the readings by the clicks of each adjuster.
DamperCurves damper_curves(const ReadyRide& variant, const std::string& fork, bool by_click);

// One damper by its clicks, or several side by side.
std::string damper_text(const std::vector<DamperCurves>& dampers);

}  // namespace plunge
