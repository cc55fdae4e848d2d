// The fewest workshop actions from today's set-up that reach a chance.
//
//   clicks of one direction   kClicksEffort each, however many
//   air in or out             kAirEffort
//   spacers                   kOpenEffort: all air out, cap off, air in again, with what the
//                             pressure is then free to be
// Efforts are ours, chosen: opening the fork weighs most, then air, then clicks. Steps are tried in
// the order of their effort; of one effort the surest counts, and the first that reaches the chance
// is the step. Where none does, the surest of all is, and says so.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "sim/search/choice.hpp"

namespace plunge {

inline constexpr int kClicksEffort = 1;
inline constexpr int kAirEffort = 3;
inline constexpr int kOpenEffort = 10;
inline constexpr std::size_t kStepBudget = 150;  // settings of one kind of step
inline constexpr std::size_t kStepKinds = 11;    // kinds of steps: each of 3 with 4, but none

struct NextStep {
  Candidate candidate;
  int effort = 0;         // 0: leave it as it is
  bool reaches = false;   // the chance that was asked for
  double asked = kUnset;  // that chance
};

// What is different from one setting to another.
int effort_between(const ForkSettings& from, const ForkSettings& to);

// `today`: with its chance; `known`: settings with chances already, any of which may be the step.
NextStep next_step(TrialRides& rides, const Judge& judge, const Lattice& lattice,
                   const std::array<double, 2>& band, const Candidate& today,
                   std::span<const Candidate> known, double chance, std::span<const Luck> luck);

// The merit by which the surest of a few settings is sought: margin counts, comfort hardly.
double sure_merit(const Verdict& verdict);

}  // namespace plunge
