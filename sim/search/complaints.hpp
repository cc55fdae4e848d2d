// What a rider complains of, held against the model, and single changes judged by paired rides.
//
// Today's set-up is ridden first: does the model show what is felt? (complaint_rows.hpp) Then each
// change, one turn of a workshop at a time, rides the same kLines lines as today's set-up: speed
// and line by luck (luck_of_lines(), choice.hpp). Of the metric m of the complaint
//   effect  mean over lines of m(change) - m(today): paired, so that luck is the same in both
//   luck    sqrt(2) s, s the standard deviation of m(today) over lines: what two rides of one
//           set-up differ by anyhow
// A change is advised where it lessens the complaint by more than luck would; what it then breaks
// of the demands, which today's set-up keeps, is said with it.
#pragma once

#include <span>
#include <vector>

#include "sim/search/choice.hpp"
#include "sim/search/complaint_rows.hpp"

namespace plunge {

inline constexpr std::size_t kLines = 24;
inline constexpr double kChangeOfAir = 5.0 * kPsiStep;  // [Pa]
inline constexpr double kChangeOfClicks = 3.0;

struct Change {
  ForkSettings settings;
  double effect = kUnset;           // on the metric, in its unit
  bool advised = false;             // better by more than luck
  std::vector<std::size_t> breaks;  // demands that today's set-up keeps and this one does not
};

struct ComplaintAnswer {
  const ComplaintRow* row = nullptr;
  bool applies = false;    // a scene of the brief tells of it
  std::size_t scene = 0;   // that counts
  double value = kUnset;   // of today's set-up there
  double limit = kUnset;   // past which it is shown, in the metric's unit; unset: none is known
  double better = kUnset;  // share of the settings tried that have less of it
  bool shown = false;      // by the model
  double luck = kUnset;    // in the metric's unit
  std::vector<Change> changes;  // that lessen it, most first
};

// The settings that differ from today's by one turn.
std::vector<ForkSettings> single_changes(const Lattice& lattice, const ForkSettings& today);

// `tried`: what was ridden without luck, of which `better` is a share.
std::vector<ComplaintAnswer> answer_complaints(TrialRides& rides, const Judge& judge,
                                               const Lattice& lattice, const ForkSettings& today,
                                               std::span<const ComplaintRow* const> complaints,
                                               std::span<const ForkSettings> tried);

}  // namespace plunge
