#include "sim/measure/stroke.hpp"

#include <algorithm>
#include <cmath>

#include "sim/numerics/statistics.hpp"

namespace plunge {
namespace {

// The largest of sign*x in [first, last) with its place, by the parabola through its neighbours.
struct Top {
  double value;
  double place;  // [samples]
};
Top top_of(std::span<const double> x, std::size_t first, std::size_t last, double sign) {
  std::size_t at = first;
  for (std::size_t i = first; i < last; ++i) {
    if (sign * x[i] > sign * x[at]) at = i;
  }
  Top top{x[at], static_cast<double>(at)};
  if (at == 0 || at + 1 >= x.size()) return top;
  const double bend = x[at - 1] - 2.0 * x[at] + x[at + 1];
  const double slope = 0.5 * (x[at + 1] - x[at - 1]);
  if (!(sign * bend < 0.0) || std::abs(slope) > std::abs(bend)) return top;
  top.place -= slope / bend;
  top.value -= 0.5 * slope * slope / bend;
  return top;
}

}  // namespace

Deepest deepest(std::span<const double> travel, double rate) {
  require_samples(travel);
  require_sample_rate(rate);
  const Top top = top_of(travel, 0, travel.size(), 1.0);
  return {top.value, top.place / rate};
}

std::optional<StrokeReturn> stroke_return(std::span<const double> travel, double rate, double back,
                                          double height) {
  const Deepest from = deepest(travel, rate);
  if (!(from.travel > back)) return std::nullopt;
  auto i = static_cast<std::size_t>(std::ceil(from.time * rate));
  while (i < travel.size() && travel[i] > back) ++i;
  if (i == travel.size()) return std::nullopt;
  StrokeReturn found;
  double crossed = static_cast<double>(i);
  if (i > 0 && travel[i - 1] > back) crossed -= (back - travel[i]) / (travel[i - 1] - travel[i]);
  found.time = std::max(0.0, crossed / rate - from.time);
  std::size_t end = i;
  while (end < travel.size() && travel[end] <= back) ++end;
  found.overshoot = std::max(0.0, height - top_of(travel, i, end, -1.0).value);
  return found;
}

int strokes_past(std::span<const double> travel, double line, double below) {
  require_samples(travel);
  int count = 0;
  bool past = false;
  for (const double x : travel) {
    if (!past && x > line) ++count;
    past = past ? x >= below : x > line;
  }
  return count;
}

std::optional<double> recovery(std::span<const double> travel, double rate, double band) {
  require_samples(travel);
  require_sample_rate(rate);
  const auto rests = static_cast<std::size_t>(std::ceil(kSettled * rate));
  if (travel.size() < 2 * rests) return std::nullopt;
  const double level = mean(travel.last(rests));
  const std::optional<double> settled = settle_time(travel, rate, level, band);
  if (!settled || *settled * rate > static_cast<double>(travel.size() - rests)) {
    return std::nullopt;
  }
  return settled;
}

}  // namespace plunge
