#include "sim/sweep/sampling.hpp"

#include <algorithm>
#include <bit>
#include <boost/math/special_functions/erf.hpp>
#include <boost/random/sobol.hpp>
#include <cmath>
#include <numeric>
#include <random>
#include <stdexcept>
#include <string_view>
#include <utility>

#include "sim/numerics/random.hpp"

namespace plunge {
namespace {

// Least share of a normal or log-normal distribution that its limits must leave [1]: chosen, so
// that its quantiles keep their digits.
constexpr double kLeastShare = 1e-6;

using InDouble = boost::math::policies::policy<boost::math::policies::promote_double<false>>;

// Share of a standard normal distribution below z.
double normal_share(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }

double normal_quantile(double share) {
  return -std::sqrt(2.0) * boost::math::erfc_inv(2.0 * share, InDouble());
}

// The standard normal quantile cut to [low, high].
double cut_normal(double low, double high, double u) {
  // Above the middle by symmetry, so that a share near 1 does not lose its digits.
  if (low > 0.0) return -cut_normal(-high, -low, 1.0 - u);
  const double below = normal_share(low);
  const double z = normal_quantile(below + u * (normal_share(high) - below));
  return std::clamp(z, low, high);
}

// Where a limit lies on the standard normal distribution; unset: at infinity.
struct Limits {
  double low;
  double high;
};

Limits standard_limits(const Distribution& d) {
  const bool log = d.kind == DistributionKind::log_normal;
  const auto standard = [&](double limit, double otherwise) {
    if (std::isnan(limit)) return otherwise;
    return (log ? std::log(limit / d.median) : limit - d.mean) / d.deviation;
  };
  return {standard(d.low, -HUGE_VAL), standard(d.high, HUGE_VAL)};
}

// The direction numbers of Sobol points, one after the other for each coordinate. Point n is the
// exclusive or of those at the bits of its Gray code n ^ (n >> 1).
std::vector<std::uint64_t> sobol_directions(std::size_t coordinates, std::size_t bits) {
  boost::random::sobol engine(coordinates);
  std::vector<std::uint64_t> directions(coordinates * bits);
  // Point 2^(r + 1) - 1 has the Gray code 2^r; the engine counts from the point after 0.
  for (std::size_t r = 0; r + 1 < bits; ++r) {
    engine.seed((std::uint64_t{2} << r) - 2);
    for (std::size_t j = 0; j < coordinates; ++j) directions[j * bits + r] = engine();
  }
  return directions;
}

// Rounds of a Feistel network: four make a permutation that looks random to whoever may ask for
// every place of it.
constexpr int kRounds = 6;

std::uint64_t mixed(std::uint64_t key, std::uint64_t number) {
  return SplitMix64(SplitMix64(key)() ^ number)();
}

// A permutation of 0 .. size - 1 from a key: a Feistel network over the next power of four, walked
// until it comes back inside.
std::uint64_t permuted(std::uint64_t place, std::uint64_t size, std::uint64_t key) {
  int half = 1;
  while ((std::uint64_t{1} << (2 * half)) < size) ++half;
  const std::uint64_t mask = (std::uint64_t{1} << half) - 1;
  do {
    std::uint64_t left = place >> half;
    std::uint64_t right = place & mask;
    for (int round = 0; round < kRounds; ++round) {
      const std::uint64_t next =
          left ^ (mixed(key + static_cast<std::uint64_t>(round), right) & mask);
      left = right;
      right = next;
    }
    place = left << half | right;
  } while (place >= size);
  return place;
}

// A share inside a stratum of `count`; rounding must not carry it over the edge.
double share_in(double stratum, double within, double count) {
  return std::min((stratum + within) / count, std::nextafter((stratum + 1.0) / count, 0.0));
}

}  // namespace

std::string_view to_string(DistributionKind kind) {
  switch (kind) {
    case DistributionKind::uniform:
      return "uniform";
    case DistributionKind::log_uniform:
      return "log_uniform";
    case DistributionKind::triangular:
      return "triangular";
    case DistributionKind::normal:
      return "normal";
    case DistributionKind::log_normal:
      return "log_normal";
  }
  return "";
}

std::string_view to_string(Design design) {
  switch (design) {
    case Design::none:
      return "none";
    case Design::sobol:
      return "sobol";
    case Design::latin_hypercube:
      return "latin_hypercube";
    case Design::pick_freeze:
      return "pick_freeze";
    case Design::joint:
      return "joint";
  }
  return "";
}

DistributionFault judge_distribution(const Distribution& d) {
  using Kind = DistributionKind;
  const bool normal = d.kind == Kind::normal;
  const bool log_normal = d.kind == Kind::log_normal;
  const bool limited = !normal && !log_normal;
  struct Number {
    const char* key;
    double value;
    bool read;
    bool needed;
  };
  for (const Number& number :
       {Number{"low", d.low, true, limited}, Number{"high", d.high, true, limited},
        Number{"mode", d.mode, d.kind == Kind::triangular, true},
        Number{"mean", d.mean, normal, true}, Number{"median", d.median, log_normal, true},
        Number{"deviation", d.deviation, !limited, true}}) {
    const auto of = [&] { return "a " + std::string(to_string(d.kind)) + " distribution"; };
    if (std::isnan(number.value)) {
      if (number.read && number.needed) return {number.key, "must be given for " + of()};
    } else if (!number.read) {
      return {number.key, "does not belong to " + of()};
    } else if (!std::isfinite(number.value)) {
      return {number.key, "must be finite"};
    }
  }
  if (log_normal && !(d.median > 0.0)) return {"median", "must be above 0"};
  if (!limited && !(d.deviation > 0.0)) return {"deviation", "must be above 0"};
  const bool log = d.kind == Kind::log_uniform || log_normal;
  if (log && !std::isnan(d.low) && !(d.low > 0.0)) return {"low", "must be above 0"};
  if (!std::isnan(d.low) && !std::isnan(d.high) && !(d.high > d.low)) {
    return {"high", "must be above low"};
  }
  if (log && !std::isnan(d.high) && !(d.high > 0.0)) return {"high", "must be above 0"};
  if (!std::isfinite(d.high - d.low) && limited) return {"high", "must be nearer to low"};
  if (d.kind == Kind::triangular && !(d.mode >= d.low && d.mode <= d.high)) {
    return {"mode", "must be from low to high"};
  }
  if (!limited) {
    const auto [low, high] = standard_limits(d);
    // Both shares from the side on which they are small.
    const double left = low > 0.0 ? normal_share(-low) - normal_share(-high)
                                  : normal_share(high) - normal_share(low);
    if (!(left >= kLeastShare)) {
      return {std::isnan(d.low) || low < 0.0 ? "high" : "low",
              "must leave at least a millionth of the distribution between low and high"};
    }
  }
  return {};
}

double quantile(const Distribution& d, double u) {
  const DistributionFault fault = judge_distribution(d);
  if (!fault.rule.empty()) throw std::invalid_argument(fault.key + " " + fault.rule);
  if (!(u >= 0.0 && u <= 1.0)) throw std::invalid_argument("a share must be from 0 to 1");
  double x = kUnset;
  switch (d.kind) {
    case DistributionKind::uniform:
      x = d.low + u * (d.high - d.low);
      break;
    case DistributionKind::log_uniform:
      x = d.low * std::pow(d.high / d.low, u);
      break;
    case DistributionKind::triangular: {
      const double width = d.high - d.low;
      const double rise = d.mode - d.low;
      x = u * width <= rise ? d.low + std::sqrt(u * width * rise)
                            : d.high - std::sqrt((1.0 - u) * width * (d.high - d.mode));
      break;
    }
    case DistributionKind::normal: {
      const auto [low, high] = standard_limits(d);
      x = d.mean + d.deviation * cut_normal(low, high, u);
      break;
    }
    case DistributionKind::log_normal: {
      const auto [low, high] = standard_limits(d);
      x = d.median * std::exp(d.deviation * cut_normal(low, high, u));
      break;
    }
  }
  // Limits hold to the last bit.
  if (!std::isnan(d.low)) x = std::max(x, d.low);
  if (!std::isnan(d.high)) x = std::min(x, d.high);
  return x;
}

std::size_t rows_of(Design design, std::size_t base_points, std::size_t numbers) {
  if (design == Design::none) return 1;
  return design == Design::pick_freeze ? base_points * (numbers + 2) : base_points;
}

DesignRows::DesignRows(Design design, std::size_t base_points, std::size_t numbers,
                       std::uint64_t seed)
    : design_(design),
      rows_(rows_of(design, base_points, numbers)),
      numbers_(numbers),
      seed_(seed) {
  if (design == Design::none || design == Design::joint) return;
  if (design == Design::latin_hypercube) {
    if (rows_ <= kMostStoredShares / numbers) draw_strata(seed);
    return;
  }
  const std::size_t coordinates = design == Design::pick_freeze ? 2 * numbers : numbers;
  directions_ = sobol_directions(coordinates, kBits);
  if (seed == 0) return;
  std::mt19937_64 generator(seed);
  for (std::size_t j = 0; j < coordinates; ++j) shifts_.push_back(generator());
}

void DesignRows::draw_strata(std::uint64_t seed) {
  std::mt19937_64 generator(seed);
  stored_.resize(rows_ * numbers_);
  std::vector<std::size_t> strata(rows_);
  const auto count = static_cast<double>(rows_);
  for (std::size_t j = 0; j < numbers_; ++j) {
    std::iota(strata.begin(), strata.end(), std::size_t{0});
    for (std::size_t i = rows_; i > 1; --i) std::swap(strata[i - 1], strata[below(generator, i)]);
    for (std::size_t i = 0; i < rows_; ++i) {
      stored_[i * numbers_ + j] =
          share_in(static_cast<double>(strata[i]), open_unit_from(generator()), count);
    }
  }
}

double DesignRows::stratum_share(std::size_t row, std::size_t number) const {
  if (!stored_.empty()) return stored_[row * numbers_ + number];
  const std::uint64_t key = mixed(seed_, number);
  const std::uint64_t stratum = permuted(row, rows_, key);
  return share_in(static_cast<double>(stratum), open_unit_from(mixed(~key, row)),
                  static_cast<double>(rows_));
}

double DesignRows::sobol(std::size_t point, std::size_t coordinate) const {
  const std::uint64_t number = point + 1;  // the first point, 0, is left out
  std::uint64_t bits = 0;
  for (std::uint64_t code = number ^ (number >> 1); code != 0; code &= code - 1) {
    bits ^= directions_[coordinate * kBits + static_cast<std::size_t>(std::countr_zero(code))];
  }
  // Unshifted coordinates are whole multiples of 1/2^53, never 0.
  return shifts_.empty() ? unit_from(bits) : open_unit_from(bits ^ shifts_[coordinate]);
}

double DesignRows::share(std::size_t row, std::size_t number) const {
  switch (design_) {
    case Design::none:
    case Design::joint:
      break;
    case Design::sobol:
      return sobol(row, number);
    case Design::latin_hypercube:
      return stratum_share(row, number);
    case Design::pick_freeze: {
      // A, B, then A with one number after the other from B.
      const std::size_t matrix = row % (numbers_ + 2);
      const bool of_b = matrix == 1 || matrix == number + 2;
      return sobol(row / (numbers_ + 2), of_b ? numbers_ + number : number);
    }
  }
  return kUnset;
}

}  // namespace plunge
