// What draws of uncertain numbers leave open of one that follows from them, and which is to blame.
//
//   band     P_2.5 and P_97.5 of the draws (statistics.hpp): 95 % of them lie between
//   r_k      2 sin(pi rho_k/6), rho_k: rank correlation of the values with cause k, ties sharing
//            their mean rank
//   share    r_k^2 of the variance where the values are a monotone function of a sum of independent
//            normal causes; shares of causes add
//
// Errors, of n draws of a normal number of standard deviation s: either end of its band has the
// standard error sqrt(0.025 0.975/n)/f = 2.67 s/sqrt(n), f: density there; at 256 draws 9 % of half
// the band's width. r_k has (1 - r_k^2)/sqrt(n), so that a cause that explains nothing seems to
// explain 1/n.
// Where a number jumps or turns back, shares do not add up to what the causes explain together.
// Sources: Kendall & Stuart, The Advanced Theory of Statistics (error of a quantile); Pearson 1907
// (r from ranks); Saltelli and others 2008, Global Sensitivity Analysis, ch. 1 (squares of
// standardised slopes as shares of the variance); the editions from memory.
// Not here: the draws (sim/input/draws.hpp), how a band is said (sim/text/band_text.hpp).
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "models/laws/constants.hpp"

namespace plunge {

// 95 % of the draws lie between; unset: too few have the number.
struct Band {
  double low = kUnset;
  double high = kUnset;

  bool known() const { return low <= high; }
};

// Draws that a band needs: at least half a draw beyond each end. Chosen.
inline constexpr std::size_t kLeastDraws = 20;
// Draws that are enough to say a band with one digit or two. Chosen.
inline constexpr std::size_t kUsualDraws = 256;

// Of the values that are finite.
Band band_of(std::span<const double> values);

// r_k of each cause, which has a number for each value; over the values that are finite. 0 where
// either does not vary.
std::vector<double> correlations(std::span<const double> values,
                                 std::span<const std::vector<double>> causes);

}  // namespace plunge
