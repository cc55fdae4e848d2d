// How people feel vibration: frequency weightings of acceleration and the doses drawn from them.
//
// A weighting is an analog filter, here the product of the sections of the standards, with
// q(s; f, Q) = 1 + s/(2πf·Q) + (s/(2πf))²  and  s = jω:
//
//   H = (s/(2πf₁))² / q(s; f₁, Q₁)  ·  1 / q(s; f₂, Q₁)  ·  (1 + s/(2πf₃)) / q(s; f₄, Q₄)
//       · (f₅/f₆)²·q(s; f₅, Q₅) / q(s; f₆, Q₆)
//
//   f in Hz, Q in 1     f₁     f₂      f₃      f₄      Q₁    Q₄    f₅    f₆    Q₅, Q₆
//   hand_arm       W_h  6.310  1258.9  15.915  15.915  1/√2  0.64  no upward step
//   vertical_body  W_k  0.4    100     12.5    12.5    1/√2  0.63  2.37  3.35  0.91
//
// W_h: each axis at the hand, ISO 5349-1:2001 annex A. W_k: vertical, seated or standing body,
// ISO 2631-1:1997 annex A. Parameters read in a reprint of the table of ISO 8041:2005; clauses and
// equation numbers of the standards from memory.
//
// a_w = weighted(a) is H applied in the frequency domain to the signal that the samples stand for:
// band-limited below half the sample rate, 0 before the first sample and after the last. The
// record is padded with zeros until the filter has died out to 1e-13, so its end does not return
// at its beginning. H keeps its analog phase, so a_w follows a and never precedes it, up to the
// ringing of a jump or kink sharper than the sample rate resolves. Both weightings have zero gain
// at 0 Hz: no mean is taken off first; a lasting offset fades out as the filter's start-up, with
// time constant √2/(2πf₁) (W_h 36 ms, W_k 0.56 s). a is motion only, 0 at rest: it holds no
// gravity.
// What the samples cannot hold, a_w cannot: sampled at 1 kHz, W_h ends at 500 Hz of its 1250.
//
// weighted_rates() takes samples v of a speed instead of its rate a. Their differences are the
// exact means of a over each interval, whose spectrum is that of a times sin(πf/f_s)/(πf/f_s); that
// factor is undone. Where a jumps or rings far above f_s/2, as when metal meets metal, samples of a
// itself are aliased; those of v, which falls off by 1/f more, hardly.
//
//   vibration dose      VDV = (∫ a_w⁴ dt)^(1/4) [m/s^1.75]           ISO 2631-1, eq. 5
//   running rms         √((1/τ) ∫_{t−τ}^{t} a_w² dt), largest over t  ISO 2631-1, eq. 2 and 4
//   daily exposure      A(8) = a_hw·√(T / 8 h)                        2002/44/EC, annex A
//
// Integrals are sums over the samples, each standing for 1/sample_rate. Plain rms and peak:
// sim/numerics/statistics.hpp. a_hw in the Directive is the root of the sum of squares of three
// axes; a model with one axis gives a lower bound of it, and a bound from above of the time. Every
// function throws std::invalid_argument for an empty signal, for a sample or argument that is not
// finite and for a rule stated beside it that is broken.
#pragma once

#include <complex>
#include <span>
#include <vector>

namespace plunge {

enum class Weighting { hand_arm, vertical_body };

// H(j2πf) [1] at a frequency from 0 to 1e9 Hz.
std::complex<double> response(Weighting weighting, double frequency);

// a_w at the times of a, as many samples [unit of a]. At most 2^30 samples with the padding.
std::vector<double> weighted(std::span<const double> a, double sample_rate, Weighting weighting);

// The same of the rate of a signal v, at the middle of each interval between samples: one value
// less than v has [unit of v, over s]. At least two samples.
std::vector<double> weighted_rates(std::span<const double> v, double sample_rate,
                                   Weighting weighting);

double vibration_dose(std::span<const double> a_w, double sample_rate);

// The largest running rms over a window τ [s] of at least one sample, 0 before the first sample.
// With τ = 1 s the maximum transient vibration value of ISO 2631-1.
double largest_running_rms(std::span<const double> a_w, double sample_rate, double window);

// Daily exposure action and limit values for hand-arm vibration, A(8) [m/s2], and the reference
// day [s]: Directive 2002/44/EC, article 3.
inline constexpr double kHandActionValue = 2.5;
inline constexpr double kHandLimitValue = 5.0;
inline constexpr double kReferenceDay = 8.0 * 3600.0;

// Time at an rms of a_hw >= 0 until A(8) reaches a level > 0 [s]: T = 8 h·(level/a_hw)²; infinite
// where a_hw is 0, and more than a day where the level is not reached in a day.
double time_to_reach(double level, double a_hw);

}  // namespace plunge
