#include "sim/numerics/statistics.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>

namespace plunge {
namespace {

void require_percent(double percent) {
  if (!(percent >= 0.0 && percent <= 100.0)) {
    throw std::invalid_argument(fmt::format("percent = {}: must be 0 to 100", percent));
  }
}

// Part of a sample by which an interval may overrun the last one: the rounding of its end time.
constexpr double kRoundingSlack = 1e-6;

double share_of(std::size_t count, std::size_t total) {
  return static_cast<double>(count) / static_cast<double>(total);
}

// Mean of squares about a centre.
double mean_square(std::span<const double> x, double centre) {
  double sum = 0.0;
  for (const double value : x) sum += (value - centre) * (value - centre);
  return sum / static_cast<double>(x.size());
}

void require_finite(double value, const char* name) {
  if (!std::isfinite(value)) {
    throw std::invalid_argument(fmt::format("{} = {}: must be finite", name, value));
  }
}

}  // namespace

void require_samples(std::span<const double> x) {
  if (x.empty()) throw std::invalid_argument("signal: must hold at least one sample");
  const auto bad = std::ranges::find_if(x, [](double value) { return !std::isfinite(value); });
  if (bad != x.end()) {
    throw std::invalid_argument(
        fmt::format("signal[{}] = {}: must be finite", bad - x.begin(), *bad));
  }
}

void require_sample_rate(double sample_rate) {
  if (!(sample_rate > 0.0 && std::isfinite(sample_rate))) {
    throw std::invalid_argument(
        fmt::format("sample_rate = {} Hz: must be finite and above 0", sample_rate));
  }
}

double mean(std::span<const double> x) {
  require_samples(x);
  double sum = 0.0;
  for (const double value : x) sum += value;
  return sum / static_cast<double>(x.size());
}

double rms(std::span<const double> x) {
  require_samples(x);
  return std::sqrt(mean_square(x, 0.0));
}

double rms_about_mean(std::span<const double> x) { return std::sqrt(mean_square(x, mean(x))); }

double variation(std::span<const double> x) {
  const double centre = mean(x);
  if (!(centre > 0.0)) {
    throw std::invalid_argument(fmt::format("mean = {}: must be above 0 for a variation", centre));
  }
  return std::sqrt(mean_square(x, centre)) / centre;
}

double peak(std::span<const double> x) {
  require_samples(x);
  double largest = 0.0;
  for (const double value : x) largest = std::max(largest, std::abs(value));
  return largest;
}

double percentile(std::span<const double> x, double percent) {
  require_samples(x);
  require_percent(percent);
  std::vector<double> copy(x.begin(), x.end());
  return percentile_in(copy, percent);
}

double percentile_in(std::span<double> x, double percent) {
  const double h = static_cast<double>(x.size() - 1) * (percent / 100.0);
  const double floor = std::floor(h);
  const auto lower = x.begin() + static_cast<std::ptrdiff_t>(floor);
  std::ranges::nth_element(x, lower);
  if (lower + 1 == x.end()) return *lower;
  return std::lerp(*lower, *std::min_element(lower + 1, x.end()), h - floor);
}

double percentile_with_losses(std::span<double> x, std::size_t losses, double percent) {
  if (losses == 0) return percentile_in(x, percent);
  // An h that is a whole number but for rounding needs no value past it.
  constexpr double kRounding = 1e-9;
  const double h = static_cast<double>(x.size() + losses - 1) * (percent / 100.0);
  const double floor = std::floor(h + kRounding);
  const auto lower = static_cast<std::size_t>(floor);
  const bool between = h - floor > kRounding;
  if (lower + (between ? 1 : 0) >= x.size()) return std::numeric_limits<double>::infinity();
  const auto at = x.begin() + static_cast<std::ptrdiff_t>(lower);
  std::ranges::nth_element(x, at);
  return between ? std::lerp(*at, *std::min_element(at + 1, x.end()), h - floor) : *at;
}

TimesAbove::TimesAbove(std::span<const double> x, double level) {
  require_samples(x);
  // A stretch flatter than this counts as one value, so that densities stay summable.
  constexpr double kFlat = 1e-9;
  struct Change {
    double value;
    double density;  // of time over value from there on
    double time;     // at the value itself
  };
  std::vector<Change> changes;
  for (std::size_t i = 0; i + 1 < x.size(); ++i) {
    const auto [bottom, top] = std::minmax(x[i], x[i + 1]);
    if (!(top > level)) continue;
    const double low = std::max(bottom, level);
    const double time = top > low ? (top - low) / (top - bottom) : 1.0;
    if (top - low < kFlat * std::max(1.0, std::abs(top))) {
      changes.push_back({top, 0.0, time});
    } else {
      changes.push_back({low, time / (top - low), 0.0});
      changes.push_back({top, -time / (top - low), 0.0});
    }
  }
  std::ranges::sort(changes, {}, &Change::value);
  double density = 0.0;
  double time = 0.0;
  for (const Change& change : changes) {
    if (!knots_.empty()) time += std::max(density, 0.0) * (change.value - knots_.back().value);
    knots_.push_back({change.value, time});
    if (change.time > 0.0) knots_.push_back({change.value, time += change.time});
    density += change.density;
  }
}

double TimesAbove::percentile(double percent) const {
  if (empty()) throw std::invalid_argument("a signal that is never above the level");
  require_percent(percent);
  const double time = knots_.back().time * percent / 100.0;
  const auto after = std::ranges::lower_bound(knots_, time, {}, &Knot::time);
  if (after == knots_.begin()) return after->value;
  if (after == knots_.end()) return knots_.back().value;
  const Knot& before = *(after - 1);
  return before.value +
         (after->value - before.value) * (time - before.time) / (after->time - before.time);
}

double share_above(std::span<const double> x, double level) {
  require_samples(x);
  require_finite(level, "level");
  const auto count = std::ranges::count_if(x, [level](double value) { return value > level; });
  return share_of(static_cast<std::size_t>(count), x.size());
}

Histogram histogram(std::span<const double> x, double low, double high, std::size_t classes) {
  require_samples(x);
  require_finite(low, "low");
  require_finite(high, "high");
  if (!(low < high)) {
    throw std::invalid_argument(fmt::format("low = {}: must be below high = {}", low, high));
  }
  if (classes == 0) throw std::invalid_argument("classes = 0: must be at least 1");

  Histogram result;
  for (std::size_t k = 0; k <= classes; ++k) {
    result.edges.push_back(std::lerp(low, high, share_of(k, classes)));
  }
  std::vector<std::size_t> count(classes, 0);
  std::size_t below = 0;
  std::size_t above = 0;
  for (const double value : x) {
    if (value < low) {
      ++below;
    } else if (value > high) {
      ++above;
    } else {
      const auto next = std::ranges::upper_bound(result.edges, value);
      const auto edge = static_cast<std::size_t>(next - result.edges.begin());
      ++count[std::min(edge, classes) - 1];
    }
  }
  for (const std::size_t n : count) result.share.push_back(share_of(n, x.size()));
  result.below = share_of(below, x.size());
  result.above = share_of(above, x.size());
  return result;
}

double mean_between(std::span<const double> x, double sample_rate, Interval interval) {
  require_samples(x);
  require_sample_rate(sample_rate);
  const double last = static_cast<double>(x.size() - 1);
  const double begin = interval.begin * sample_rate;
  const double end = std::min(interval.end * sample_rate, last);
  if (!(begin >= 0.0 && begin < end && interval.end * sample_rate <= last + kRoundingSlack)) {
    throw std::invalid_argument(fmt::format("interval = {} to {} s: must rise and lie in 0 to {} s",
                                            interval.begin, interval.end, last / sample_rate));
  }
  double sum = 0.0;
  for (auto i = static_cast<std::size_t>(begin); static_cast<double>(i) < end; ++i) {
    const double start = static_cast<double>(i);
    const double from = std::max(begin, start);
    const double to = std::min(end, start + 1.0);
    sum += (to - from) * std::lerp(x[i], x[i + 1], 0.5 * (from + to) - start);
  }
  return sum / (end - begin);
}

double drift(std::span<const double> x, double sample_rate, Interval first, Interval last) {
  return mean_between(x, sample_rate, last) - mean_between(x, sample_rate, first);
}

std::optional<double> settle_time(std::span<const double> x, double sample_rate, double final_value,
                                  double band) {
  require_samples(x);
  require_sample_rate(sample_rate);
  require_finite(final_value, "final_value");
  if (!(band > 0.0 && std::isfinite(band))) {
    throw std::invalid_argument(fmt::format("band = {}: must be finite and above 0", band));
  }
  std::size_t settled = x.size();  // first sample of the last stay within the band
  while (settled > 0 && std::abs(x[settled - 1] - final_value) <= band) --settled;
  if (settled == x.size()) return std::nullopt;
  if (settled == 0) return 0.0;
  const double outside = x[settled - 1];
  const double edge = final_value + std::copysign(band, outside - final_value);
  const double part = (outside - edge) / (outside - x[settled]);
  return (static_cast<double>(settled - 1) + part) / sample_rate;
}

}  // namespace plunge
