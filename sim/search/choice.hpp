// What to choose of the settings that were tried: the front of margin against comfort, and how
// likely each choice meets the brief where nobody sets or rides to the last digit.
//
// Chance: the share of draws of luck in which every demand is met, all candidates under the same
// draws (they are compared in pairs). A draw holds
//   gauge   normal, kGaugeSpread: a workshop gauge reads so much wrong, hose and all
//   mass    normal, kMassSpread: clothing, pack and water
//   speed   normal, kSpeedSpread: nobody rides a scene twice alike
//   fork    one of the joint draws of the fork's own numbers, where there are some
// each cut at three deviations and independent of the others; the points are Sobol's. The spreads
// are engineering estimates of ours. With kDraws draws a chance p is known to sqrt(p (1 -
// p)/kDraws) or better: 3.5 % at p = 80 %.
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include "sim/numerics/band.hpp"
#include "sim/search/demands.hpp"
#include "sim/search/settings.hpp"
#include "sim/search/star_search.hpp"
#include "sim/search/trial_rides.hpp"

namespace plunge {

inline constexpr double kGaugeSpread = 1.5 * kPsiStep;  // [Pa]
inline constexpr double kMassSpread = 2.5;              // [kg]
inline constexpr double kSpeedSpread = 0.02;            // [1]
inline constexpr double kHeightSpread = 0.05;           // of a line, in luck_of_lines() [1]
inline constexpr std::size_t kDraws = 128;
inline constexpr std::size_t kMostCandidates = 8;  // whose chance is asked for
inline constexpr std::size_t kMostChoices = 5;     // that are shown
inline constexpr double kEdge = 0.10;  // a choice so much less likely than the likeliest is an edge

// Gauge, weight, speed and the fork's numbers, the same draws each time.
std::vector<Luck> luck_of_days(std::size_t count, std::span<const KnobDraw> fork = {});

// Two rides of one set-up on one day: speed, and how squarely the wheel takes what stands in the
// way. Line i is ridden with draw i of the fork, where there are some.
std::vector<Luck> luck_of_lines(std::size_t count, std::span<const KnobDraw> fork = {});

// What a search asks: the merit of settings, ridden without luck.
Merits merits_by(TrialRides& rides, const Judge& judge, double (*merit)(const Verdict&));

// What became of a setting under all draws.
struct Chance {
  double all = 0.0;            // share of draws in which every demand is met
  std::vector<double> broken;  // share in which it is broken, of each demand
  Band travel;                 // used on the hardest scene, over the draws [share of the travel]
  Band sag;                    // in the first scene, likewise
};

std::vector<Chance> chances(TrialRides& rides, const Judge& judge,
                            std::span<const ForkSettings> settings, std::span<const Luck> luck);

// The same set-up with one thing changed.
struct Effect {
  double gauge = 0.0;  // [Pa]
  double mass = 0.0;   // [kg]
  Verdict verdict;
  double sag = kUnset;  // share of the travel in the first scene
  double use = kUnset;  // share of the travel on the hardest scene
};

struct Candidate {
  ForkSettings settings;
  Outcome outcome;
  Verdict verdict;
  Chance chance;
  std::size_t first = 0;  // the demand that breaks first: in most draws, else the tightest
  std::vector<Effect> effects;
  double sag = kUnset;
  double use = kUnset;
  Band air;  // pressures that hold that sag in the forks that it may be [Pa]; unset: none drawn
};

// A setting on the front: no other meets the brief with more margin and is as comfortable.
std::vector<ForkSettings> front_of(std::span<const ForkSettings> settings,
                                   std::span<const Verdict> verdicts, std::size_t most);

// Candidates with their chances and what breaks first.
std::vector<Candidate> with_chances(TrialRides& rides, const Judge& judge,
                                    std::span<const ForkSettings> settings,
                                    std::span<const Luck> luck);

// At most kMostChoices, the surest first, of equal ones the one that breaks least: those that no
// other beats in both chance and comfort, never one on an edge without the surest.
std::vector<Candidate> choose(std::vector<Candidate> candidates);

// What +-3 psi and +-5 kg do to it.
void add_effects(TrialRides& rides, const Judge& judge, Candidate& candidate);

}  // namespace plunge
