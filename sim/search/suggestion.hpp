// From a brief to an answer: search, choice, next step, complaints, and what would have to give.
//
//   today       today's set-up, ridden first; its comfort is 1 (demands.hpp)
//   search      star_search.hpp by merit, then again by margin, in all at most kMostSettings
//   choices     choice.hpp, of the front and of what lies beside the surest; the surest first
//   next        next_step.hpp: towards the chance that the brief asks for, or where nothing that
//               was tried reaches it, towards the best chance that something has
//   shortfall   where nothing that was tried meets all demands: what the best breaks and by how
//               much; for each demand, whether the others can be met without it, and what it would
//               have to be then
// The same brief, build and instruction set give the same answer, whatever the threads. Draws of
// the fork's own numbers, by dotted name, may be given: they then stand for what is not known of
// it.
#pragma once

#include <array>
#include <span>
#include <vector>

#include "sim/search/brief.hpp"
#include "sim/search/choice.hpp"
#include "sim/search/complaints.hpp"
#include "sim/search/next_step.hpp"

namespace plunge {

// What a demand would have to be for all the others to be met.
struct Give {
  std::size_t demand = 0;
  double value = kUnset;  // the nearest to the demand that is met with all the others
  ForkSettings settings;  // with which
};

// What to look at on the trail with the next step: on the hardest scene, by luck of days and rides.
struct Look {
  std::size_t scene = 0;
  double ring = kUnset;         // travel used [m], as it is and
  double ring_low = kUnset;     // 5th and
  double ring_high = kUnset;    // 95th percentile
  double return_time = kUnset;  // from the deepest travel [s]; unset: it does not come back there
  double overshoot = kUnset;    // past the ride height then [m]
};

struct Suggestion {
  std::vector<std::string> metrics;  // of every outcome
  Candidate today;
  std::vector<Candidate> choices;
  bool can_be_met = false;
  std::vector<Give> gives;  // where it cannot be met; empty: no single demand would do
  NextStep next;
  Look look;
  std::vector<ComplaintAnswer> complaints;
  std::size_t settings = 0;  // tried without luck
  std::size_t rides = 0;
};

// Throws SearchStopped where it is asked to stop, RunError where today's set-up cannot be ridden.
Suggestion suggest(const Brief& brief, const SearchWatch& watch = {},
                   std::span<const KnobDraw> fork = {});

}  // namespace plunge
