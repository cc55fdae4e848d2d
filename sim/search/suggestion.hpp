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
//   known       where draws of the fork's own numbers are given: the best chance among the choices
//   if
//               the fork were just as its numbers stand
//   air         likewise: the pressures that hold the sag of a set-up, in 95 % of those forks
//
// The same brief, build and instruction set give the same answer, whatever the threads. Draws of
// the fork's own numbers, by dotted name, stand for what is not known of it: every set-up meets the
// same ones, each with the gauge, weight and speed of its place.
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

// What to look at on the trail with the next step: the ring after the hardest scene, and how the
// fork comes back from its deepest travel, on the scene that has most travel of those in which
// nothing brakes it meanwhile.
struct Look {
  std::size_t scene = 0;
  double ring = kUnset;       // travel used there [m]: median,
  double ring_low = kUnset;   // 5th and
  double ring_high = kUnset;  // 95th percentile over the draws
  std::size_t return_scene = 0;
  double return_time = kUnset;  // from the deepest travel [s]; unset: no scene tells of it
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
  std::size_t forks = 0;     // draws of the fork's numbers; 0: they were taken as they stand
  double known = kUnset;     // best chance if the fork were as its numbers stand; unset: no draws
  std::size_t settings = 0;  // tried without luck
  std::size_t rides = 0;
};

// Throws SearchStopped where it is asked to stop, RunError where today's set-up cannot be ridden.
Suggestion suggest(const Brief& brief, const SearchWatch& watch = {},
                   std::span<const KnobDraw> fork = {});

}  // namespace plunge
