// Points of a sample over distributions.
//
//   x = Q(u), u in (0, 1): each distribution by its quantile function, cut to [low, high] where
//   limits are given
//   uniform       Q = low + u (high - low)
//   log_uniform   Q = low (high/low)^u
//   triangular    rises to `mode`, falls to `high`
//   normal        mean, deviation; cut to its limits by rescaling u, not by clipping x
//   log_normal    median and the standard deviation of ln x
// The same numbers on every machine: Sobol points by direction numbers, random ones from a
// generator defined bit for bit, uniform doubles from its top 53 bits.
// Throws std::invalid_argument where a distribution breaks a rule (judge_distribution says which).
// Sources: Sobol' 1967 with the direction numbers of Boost.Random; McKay, Beckman & Conover 1979,
// Technometrics 21, 239 (Latin hypercube); Saltelli and others 2010, Comput. Phys. Commun. 181,
// 259 (pick-freeze); Luby & Rackoff 1988, SIAM J. Comput. 17, 373, and Black & Rogaway 2002, CT-RSA
// (a permutation of any size from a key).
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "models/laws/constants.hpp"

namespace plunge {

enum class DistributionKind { uniform, log_uniform, triangular, normal, log_normal };

std::string_view to_string(DistributionKind kind);

struct Distribution {
  DistributionKind kind = DistributionKind::uniform;
  double low = kUnset;        // least value; unset: no limit (normal, log_normal)
  double high = kUnset;       // largest value
  double mode = kUnset;       // triangular
  double mean = kUnset;       // normal
  double median = kUnset;     // log_normal
  double deviation = kUnset;  // normal: in the unit of x; log_normal: of ln x [1]
};

double quantile(const Distribution& distribution, double u);

// The rule that a distribution breaks, with the name of the number at fault; empty: none.
struct DistributionFault {
  std::string key;
  std::string rule;
};
DistributionFault judge_distribution(const Distribution& distribution);

// joint: rows that are drawn together (sim/input/draws.hpp) and have no shares here.
enum class Design { none, sobol, latin_hypercube, pick_freeze, joint };

std::string_view to_string(Design design);

// Rows of a design over k numbers with N base points: N, or N (k + 2) for pick_freeze.
std::size_t rows_of(Design design, std::size_t base_points, std::size_t numbers);

// Shares of a Latin hypercube that are drawn one after the other and kept, 8 bytes each: for more
// the strata are shuffled by a keyed permutation, which gives each row from its number.
inline constexpr std::size_t kMostStoredShares = 50'000'000;

// The rows of a design, each of `numbers` shares in (0, 1) that follow from its number alone. A
// seed other than 0 shifts Sobol points digitally: each coordinate's bits by exclusive or with
// random ones, which keeps how evenly they fill. Threads may read at once.
class DesignRows {
 public:
  DesignRows() = default;
  DesignRows(Design design, std::size_t base_points, std::size_t numbers, std::uint64_t seed);

  std::size_t size() const { return rows_; }
  double share(std::size_t row, std::size_t number) const;

 private:
  static constexpr std::size_t kBits = 64;  // of a row's number

  double sobol(std::size_t point, std::size_t coordinate) const;
  double stratum_share(std::size_t row, std::size_t number) const;
  void draw_strata(std::uint64_t seed);

  Design design_ = Design::none;
  std::size_t rows_ = 1;
  std::size_t numbers_ = 0;
  std::vector<std::uint64_t> directions_;  // of Sobol points: kBits of each coordinate
  std::vector<std::uint64_t> shifts_;      // of each coordinate; empty: none
  std::vector<double> stored_;             // of a Latin hypercube, row by row; empty: keyed
  std::uint64_t seed_ = 0;
};

}  // namespace plunge
