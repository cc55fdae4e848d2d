// What a ride leaves behind: traces over time, metrics, the energy audit, the solver's own account.
//
// Every number is in SI units. Names are those of the HDF5 variables and of `--json`.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "models/setup/setup.hpp"

namespace plunge {

// Samples of a trace that are handed on and stored together.
inline constexpr std::size_t kTraceBlock = 16384;

// One quantity sampled at Result::time.
struct Channel {
  std::string name;       // "travel"
  std::string unit;       // UDUNITS spelling, "m"
  std::string long_name;  // "fork travel, 0 at full extension"
  std::vector<double> values;
};

// One number about a ride or a fork.
struct Metric {
  std::string name;
  std::string unit;
  std::string long_name;  // its definition in one line
  double value = 0.0;
};

// An instant that the integrator located: a switch of a mode, or a scripted event.
struct Located {
  double time = 0.0;         // [s]
  std::string what;          // "lift_off", "touch_down", "bumper_contact", "metal_contact", ...
  double distance = kUnset;  // of the bike from the start [m]
};

// What a parameter is in this ride, when it was varied or solved for.
struct NamedValue {
  std::string name;  // "fork.spacers"
  std::string unit;
  double value = 0.0;
};

struct Result {
  std::string label;             // how people tell this ride from its neighbours: "2 spacers"
  Setup setup;                   // as ridden, pressure solved
  std::string scene_text;        // self-contained TOML that rides again to the same numbers
  std::vector<NamedValue> set;   // what --vary or --set gave
  std::vector<NamedValue> held;  // what --hold solved for
  std::vector<double> time;      // [s]; empty, as the channels are, where the traces went elsewhere
  std::vector<Channel> channels;
  std::vector<Metric> metrics;
  std::vector<Metric> energy;  // each input, store and loss, and `closing_error`
  std::vector<Metric> solver;  // steps, rejected, evaluations, events, ...
  std::vector<Located> located;
  std::string failure;  // empty, or time, state and part of a failed run; traces end there
};

}  // namespace plunge
