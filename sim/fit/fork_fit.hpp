// From readings to the numbers of a fork, and what they say of its behaviour.
//
//   theta = ln p of every number with a spread, and ln of the gauge's gain;  theta = mu + L u
//   S(u) = sum ((y_i - f_i(theta))/s_i)^2 + u^T u,   least at u*;   Cov u = (J^T J + 1)^-1
//
// mu, C = L L^T: what is known before (models/setup/knowledge.hpp); y_i: reading, f_i: what the
// model says of it (bench.hpp), s_i: its whole spread, worked out anew for up to three searches.
// In u the numbers are normal with mean 0 and spread 1 before any reading; u_k is what number k has
// of its own beside those before it.
//
//   prediction    ln q(u*) +/- 1.96 sqrt(g^T Cov g), g = d ln q/du
//   undetermined  a number whose spread stays above kUndetermined of what it was
//   alarm         S(u*) is chi-square with as many degrees of freedom as there are readings where
//                 readings and guesses agree; t_i^2 = r_i^2/(1 - h_i), h_i = (J Cov J^T)_ii, is how
//                 much S falls where reading i is left out, u_k^2/(1 - Cov_kk) where guess k is.
//                 Alarm where either is rarer than kRare, the largest of n times n as often
//   next best     of a menu of readings the one that would leave the asked prediction the smallest
//                 spread: g^T Cov g - (g^T Cov j)^2/(s^2 + j^T Cov j), j = df/du
//
// The source of every number that is fitted, or else of the first that is not known, ends in the
// ids of all readings that are in the fork, those of fits before this one with them: "fitted to 3
// readings; in it are 1a2b3c4d 5e6f7a8b".
//
// Limits: normal in logarithms about the least, first order. Readings that were used once are in
// the spreads of the file that is written; to use them again would count them twice.
// Source: Gauss-Markov; Cook & Weisberg 1982, Residuals and Influence in Regression (t_i).
#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "models/setup/knowledge.hpp"
#include "models/setup/setup.hpp"
#include "sim/fit/bench.hpp"
#include "sim/fit/readings.hpp"

namespace plunge {

inline constexpr double kUndetermined = 0.7;  // [1]
inline constexpr double kRare = 0.005;        // [1], chosen: one good set of readings in 100
inline constexpr double kTwoSided = 1.959963984540054;  // of a normal distribution, 95 %

// What may be asked about.
enum class Asked { force, force_spaced, pressure };

struct FitWishes {
  double sag = 0.22;         // share of the travel that the pressure is wanted for [1]
  double spacers = kUnset;   // of the second force; unset: 4, or as many as may go in
  double pressure = kUnset;  // on the gauge, for both forces [Pa]; unset: the fork's own
  Asked asked = Asked::force_spaced;
  std::function<void(std::size_t ridden)> on_ride;  // called as the scenes of rings are ridden
};

struct Prediction {
  std::string name;   // "force_full_4"
  std::string label;  // "force at full travel, 4 spacers, 70 psi"
  std::string unit;
  std::string said;
  double value = kUnset;
  double low = kUnset;  // 95 %
  double high = kUnset;
  double spread = kUnset;         // of the logarithm [1]
  double spread_before = kUnset;  // without the readings
};

struct FittedNumber {
  std::string name;  // of the parameter table; "gauge": the gain of the gauge
  double value = kUnset;
  double spread = kUnset;
  double value_before = kUnset;
  double spread_before = kUnset;
  bool determined = false;
};

struct FittedReading {
  double predicted = kUnset;  // in the unit of the reading
  double spread = kUnset;     // s_i
  double pull = kUnset;       // t_i, > 0 where the reading is above
};

struct Alarm {
  std::string culprit;  // "reading 3, push", "the guess of fork.air.main_volume"
  double pull = 0.0;    // its t
  double chance = 0.0;  // of what is as strange or stranger, among good readings [1]
};

struct NextReading {
  std::string words;
  Asked asked = Asked::force_spaced;
  double spread = kUnset;  // of the asked prediction with it
};

struct ForkFit {
  std::vector<Prediction> predictions;  // in the order of Asked
  std::vector<FittedNumber> numbers;
  std::vector<FittedReading> readings;
  double chi_square = 0.0;
  double chance = 1.0;  // of a larger one
  std::optional<Alarm> alarm;
  NextReading next;
  Setup setup;          // with the fitted numbers
  Knowledge knowledge;  // of the fork after the fit
  bool converged = false;
};

// Ids of the readings that are in a fork's numbers already, each once (reading_id()).
std::vector<std::string> readings_in(const Knowledge& knowledge);

// `setup`: a fork that has been judged, under the rider that the sag is for, with a pressure.
// Throws InputError with the place of a reading that the fork cannot have at all, and of one that
// is in its numbers already.
ForkFit fit_fork(const Setup& setup, const Knowledge& knowledge, const Instruments& instruments,
                 const std::vector<BenchReading>& readings, const FitWishes& wishes,
                 const std::string& source);

// Of the same menu, read with usual instruments, the reading that leaves a number the smallest
// spread where its logarithm moves by slope[k] for each spread of the k-th uncertain number
// (Knowledge::uncertain()) beside those before it. Its `spread` is that over the one before [1].
// No words: none can be read off this fork.
NextReading helpful_reading(const Setup& setup, const Knowledge& knowledge,
                            const std::vector<double>& slope);

}  // namespace plunge
