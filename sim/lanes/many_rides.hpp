// Many rides at once: in SIMD lanes, and by the adaptive path where lanes can't be held to it.
//
// Travel is held within 0.1 mm and peak forces within 1 % of ride() (integrator.hpp), and every
// metric that is kept to the agreement of its row (metrics.hpp). Every ride is ridden twice in the
// lanes, closely and more loosely: the difference estimates the error. Where that is past what a
// ride or a kept metric stands, a third, tighter ride is held against the closer one. A ride that
// fails there too, or that came too near to another count, is redone by the adaptive path. A ride's
// numbers follow from its Setup and the instruction set alone: not from its neighbours in the
// lanes, not from the worker. Throws nothing for a ride that fails: its row says why.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "models/setup/setup.hpp"
#include "sim/measure/label.hpp"

namespace plunge {

struct Keep {
  std::vector<std::string> metrics;  // names as in sim/measure/metrics.hpp
  std::vector<std::string> traces;   // names as in sim/measure/channels.hpp
  double trace_rate = kUnset;        // [Hz]
};

// One ride of a plan, ready to be ridden or the reason why it can't be.
struct PlannedRide {
  Setup setup;               // judged, pressure solved
  std::uint64_t ground = 0;  // rides of one plan with the same number have the same ground
  std::string failure;       // why it can't be ridden; empty: it can
};

// How a row of a sweep came about.
enum class Origin { lanes, adaptive, failed };

struct RideRow {
  Origin origin = Origin::failed;
  std::vector<double> metrics;             // in the order of Keep::metrics; NaN: does not apply
  std::vector<std::vector<float>> traces;  // in the order of Keep::traces, at k/trace_rate
  std::string failure;                     // of a failed ride: time, state and part, or the rule
};

enum class InstructionSet { portable, avx2, avx512 };

std::string_view to_string(InstructionSet set);
// Throws InputError for a word that names none.
InstructionSet parse_instruction_set(std::string_view word);
// The widest that this processor runs.
InstructionSet best_instruction_set();
bool runs_here(InstructionSet set);

// Not shared between threads: each worker has its own. Keeps grounds that it has built.
class ManyRides {
 public:
  ManyRides(const Keep& keep, InstructionSet set);
  ~ManyRides();

  // One row for each ride, in order.
  std::vector<RideRow> ride(std::span<const PlannedRide> rides);

  // The same, held against nothing: each is ridden once, as loosely as the estimate of ride(), and
  // its row says lanes all the same. For a picture that changes while a knob is turned.
  std::vector<RideRow> glance(std::span<const PlannedRide> rides);

  // The same as ride(), unless `stop` says that it shall end: then none, and what was ridden is
  // lost. It is asked before each ride that is prepared or redone and every few milliseconds while
  // one is ridden.
  std::optional<std::vector<RideRow>> ride(std::span<const PlannedRide> rides,
                                           const std::function<bool()>& stop);

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

// The traces that a sweep can keep, of those of a ride; of metrics it can keep every one.
const std::vector<Label>& keepable_traces();

// What a plan keeps that names no metrics.
const std::vector<std::string>& usual_metrics();

}  // namespace plunge
