// What riders complain of, each tied to a metric and the scenes in which it is felt: the one table.
//
// A complaint is about one metric (sim/measure/metrics.hpp) in those scenes of a brief in which it
// applies; the scene in which today's set-up has most of it counts. The model shows it where the
// metric is past `shown`: a share of the travel for lengths, else in the metric's unit; unset where
// no number is known, then where most settings that were tried do better. The pairs are common
// practice, no source; the limits are engineering estimates of ours.
#pragma once

#include <span>
#include <string_view>

#include "models/laws/constants.hpp"

namespace plunge {

struct ComplaintRow {
  std::string_view words;   // "dives braking": of a brief
  std::string_view metric;  // "brake_dive_steady"
  bool too_much = true;     // of the metric; else too little
  double shown = kUnset;
  bool of_travel = false;   // `shown` is a share of the travel
  std::string_view scenes;  // in which it is felt
};

std::span<const ComplaintRow> complaint_rows();
const ComplaintRow* find_complaint(std::string_view words);

}  // namespace plunge
