// What a rider complains of, held against the model, and single changes judged by paired rides.
//
// Today's set-up is ridden first: does the model show what is felt? (complaint_rows.hpp) Then each
// change, one turn of a workshop at a time, rides the same kLines lines as today's set-up: speed
// and line by luck (luck_of_lines(), choice.hpp). Of the metric m of the complaint
//   effect  mean over lines of m(change) - m(today): paired, so that luck is the same in both
//   luck    sqrt(2) s, s the standard deviation of m(today) over lines: what two rides of one
//           set-up differ by anyhow
// Where draws of the fork's own numbers are given line i is ridden with draw i, by all set-ups
// alike: the effect is then over what the fork may be, while luck stays that of the fork as it
// stands, which is one and the same on both rides.
//
// A change is advised where it lessens the complaint by more than luck would, and does lessen it in
// kSureForks of the pairs; what it then breaks of the demands, which today's set-up keeps, is said
// with it.
#pragma once

#include <span>
#include <vector>

#include "sim/search/choice.hpp"
#include "sim/search/complaint_rows.hpp"

namespace plunge {

inline constexpr std::size_t kLines = 24;
inline constexpr double kChangeOfAir = 5.0 * kPsiStep;  // [Pa]
inline constexpr double kChangeOfClicks = 3.0;
inline constexpr double kSureForks = 0.9;  // chosen

struct Change {
  ForkSettings settings;
  double effect = kUnset;           // on the metric, in its unit
  double lessens = kUnset;          // share of the pairs in which it does
  bool advised = false;             // better by more than luck, and surely
  std::vector<std::size_t> breaks;  // demands that today's set-up keeps and this one does not
};

struct ComplaintAnswer {
  const ComplaintRow* row = nullptr;
  bool applies = false;      // a scene of the brief tells of it
  std::size_t scene = 0;     // that counts
  double value = kUnset;     // of today's set-up there
  double limit = kUnset;     // past which it is shown, in the metric's unit; unset: none is known
  double better = kUnset;    // share of the settings tried that have less of it
  bool shown = false;        // by the model
  double shown_in = kUnset;  // share of the draws of the fork that do; unset: none, or no limit
  double luck = kUnset;      // in the metric's unit
  std::vector<Change> changes;  // that lessen it, most first
};

// The settings that differ from today's by one turn.
std::vector<ForkSettings> single_changes(const Lattice& lattice, const ForkSettings& today);

// `tried`: what was ridden without luck, of which `better` is a share; `fork`: draws of its own
// numbers, at least kLines, or none.
std::vector<ComplaintAnswer> answer_complaints(TrialRides& rides, const Judge& judge,
                                               const Lattice& lattice, const ForkSettings& today,
                                               std::span<const ComplaintRow* const> complaints,
                                               std::span<const ForkSettings> tried,
                                               std::span<const KnobDraw> fork = {});

}  // namespace plunge
