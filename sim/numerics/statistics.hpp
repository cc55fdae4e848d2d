// Plain measures of a uniformly sampled signal x_0 ... x_{n-1}.
//
//   mean               x̄ = Σ x_i / n
//   rms                √(Σ x_i² / n)
//   rms about mean     √(Σ (x_i − x̄)² / n)
//   variation          rms about mean / x̄ [1]: of a tyre's force, the tyre-load variation
//   peak               max |x_i|
//   percentile P_p     sort x; h = (n − 1)·p/100; P_p = x_⌊h⌋ + (h − ⌊h⌋)(x_⌊h⌋₊₁ − x_⌊h⌋): linear
//                      between order statistics (definition 7 of Hyndman & Fan; numpy's default)
//   percentile with    P_p of x and of some values more that are above any number; infinite where
//   losses             it is drawn from one of these
//   percentile above   P_p over the time in which x, joined by straight lines, is above a level: it
//   a level            is below P_p for p % of that time. Unlike a percentile of samples it does
//   not
//                      jump where one more sample comes to lie above the level.
//   share above L      number of x_i > L, over n [1]: the share of time, each sample being 1/n of
//   it histogram          share of x_i in [e_k, e_{k+1}), the last class closed at its upper edge
//   mean between       (1/(b − a)) ∫_a^b x dt, x joined by straight lines: exact for any a, b, so
//                      a cycle that is no whole number of samples brings no bias
//   drift              mean between over the last cycle − mean between over the first: of travel
//                      over repeated bumps, > 0 is packing (the fork sinks into its travel)
//   settle time        earliest t with |x(t') − x_end| ≤ band for all t' ≥ t, x joined by straight
//                      lines, t counted from the first sample
//
// Sample i is taken at t = i / sample_rate [s]; pass a sub-span to measure part of a ride. Results
// carry the unit of x where none is stated. Every function throws std::invalid_argument for an
// empty signal, for a sample that is not finite and for a rule stated beside it that is broken.
// Not here: weighted vibration (sim/measure/weighting.hpp), which measure goes with which channel.
// Source: Hyndman & Fan 1996, The American Statistician 50, 361-365 (percentile).
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace plunge {

double mean(std::span<const double> x);
double rms(std::span<const double> x);
double rms_about_mean(std::span<const double> x);

// The mean must be > 0.
double variation(std::span<const double> x);

double peak(std::span<const double> x);

// percent: 0 to 100.
double percentile(std::span<const double> x, double percent);

// The same of values that are known to be finite and at least one: they are reordered in place of
// copied, and nothing is checked.
double percentile_in(std::span<double> x, double percent);

// The same where `losses` values more, above every number, stand behind those of x; x may be empty
// where there are some.
double percentile_with_losses(std::span<double> x, std::size_t losses, double percent);

// The times that a signal spends below each value, as far as it is above `level`.
class TimesAbove {
 public:
  TimesAbove(std::span<const double> x, double level);

  // Never above the level.
  bool empty() const { return knots_.empty(); }
  // percent: 0 to 100; not empty.
  double percentile(double percent) const;

 private:
  struct Knot {
    double value = 0.0;
    double time = 0.0;  // spent between the level and the value [samples]
  };
  std::vector<Knot> knots_;  // rising in both
};

double share_above(std::span<const double> x, double level);

// below + Σ share + above = 1; edges has one number more than share.
struct Histogram {
  std::vector<double> edges;
  std::vector<double> share;  // [1]
  double below = 0.0;         // share of x_i < edges.front() [1]
  double above = 0.0;         // share of x_i > edges.back() [1]
};

// Classes of equal width from low to high; low < high, both finite, at least one class.
Histogram histogram(std::span<const double> x, double low, double high, std::size_t classes);

// A stretch of time, counted from the first sample.
struct Interval {
  double begin = 0.0;  // [s]
  double end = 0.0;    // [s]
};

// 0 <= begin < end <= time of the last sample (a millionth of a sample may be lost to rounding).
double mean_between(std::span<const double> x, double sample_rate, Interval interval);

double drift(std::span<const double> x, double sample_rate, Interval first, Interval last);

// final_value: x_end; band > 0. Nothing where the last sample lies outside the band.
std::optional<double> settle_time(std::span<const double> x, double sample_rate, double final_value,
                                  double band);

// The rules that every measure of a sampled signal shares: at least one sample, all finite; a
// sample rate that is finite and > 0. Throw std::invalid_argument.
void require_samples(std::span<const double> x);
void require_sample_rate(double sample_rate);

}  // namespace plunge
