#include "sim/numerics/band.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "sim/numerics/statistics.hpp"

namespace plunge {
namespace {

// Ranks about their mean; equal values share the mean of theirs.
std::vector<double> centred_ranks(const std::vector<double>& x) {
  std::vector<std::size_t> order(x.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::ranges::sort(order, [&](std::size_t a, std::size_t b) { return x[a] < x[b]; });
  const double middle = 0.5 * (static_cast<double>(x.size()) - 1.0);
  std::vector<double> ranks(x.size());
  for (std::size_t first = 0; first < order.size();) {
    std::size_t end = first;
    while (end < order.size() && x[order[end]] == x[order[first]]) ++end;
    const double rank = 0.5 * static_cast<double>(first + end - 1) - middle;
    for (; first < end; ++first) ranks[order[first]] = rank;
  }
  return ranks;
}

double product(const std::vector<double>& a, const std::vector<double>& b) {
  return std::inner_product(a.begin(), a.end(), b.begin(), 0.0);
}

}  // namespace

Band band_of(std::span<const double> values) {
  std::vector<double> known;
  std::ranges::copy_if(values, std::back_inserter(known),
                       [](double x) { return std::isfinite(x); });
  if (known.size() < kLeastDraws) return {};
  return {percentile_in(known, 2.5), percentile_in(known, 97.5)};
}

std::vector<double> correlations(std::span<const double> values,
                                 std::span<const std::vector<double>> causes) {
  const auto of_known = [&](std::span<const double> x) {
    std::vector<double> known;
    for (std::size_t i = 0; i < values.size(); ++i) {
      if (std::isfinite(values[i])) known.push_back(x[i]);
    }
    return centred_ranks(known);
  };
  const std::vector<double> ranks = of_known(values);
  const double spread = product(ranks, ranks);
  std::vector<double> found;
  for (const std::vector<double>& cause : causes) {
    const std::vector<double> others = of_known(cause);
    const double both = std::sqrt(spread * product(others, others));
    const double rho = both > 0.0 ? product(ranks, others) / both : 0.0;
    found.push_back(2.0 * std::sin(kPi * rho / 6.0));
  }
  return found;
}

}  // namespace plunge
