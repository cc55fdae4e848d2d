// The three descriptions of a damper, and how each becomes the law of a direction
// (models/laws/damper.hpp).
//
// slopes     c_l and c_h from a click table, where one adjuster moves both; or c_l from a low-speed
//            table and c_h from a high-speed table, each with an adjuster of its own; linear
//            between the rows, and given directly where no table has them.
// points     a monotone piecewise cubic through (0, 0) and the readings of a dynamometer, straight
//            beyond the last one with the slope that it has there.
// hydraulic  F = dp A_p with dp from Q(dp) = A_p v, dp: pressure across the piston [Pa]
//            Q = q + C_d sqrt(2 dp/rho) (A_s + A_b)                        flow [m3/s]
//            dp = R q + K q^2,  R = 8 pi mu L/A_n^2,  K = rho/2/(C_d A_n)^2      bleed needle
//            A_n = A_open max(n/n_open, e)                  n: clicks of the needle from closed
//            A_s = min(s (dp - dp_0), A_max) past the cracking pressure dp_0     shim stack
//            dp_0 = dp_closed + (dp_open - dp_closed) h/h_open   h: clicks of its adjuster, if any
//            A_b = b (dp - dp_1) past dp_1                                 blow-off valve
//            The needle is a round duct (Hagen-Poiseuille) and a sharp edge in series; closed, it
//            leaves the share e of its area open, at most as much as its first click: what flows
//            round its seat and past the piston's seal. Where e is not given it is half of that
//            (engineering estimate). The law has a corner where a valve begins to open and where
//            the shims are fully open: real, kept.
//            Solved once into a table of cubics with exact slopes, within 1e-6 of the equations up
//            to kFastestStroke, straight beyond.
//
// Not here: cavitation, inertia and compressibility of the oil, oil that warms up during a ride.
// Sources: monotone cubic: Fritsch & Carlson 1980, SIAM J. Numer. Anal. 17, 238, with the weighted
// harmonic mean of Fritsch & Butland 1984, SIAM J. Sci. Stat. Comput. 5, 300. Orifice and duct
// flow: any text on hydraulics.
#pragma once

#include <algorithm>
#include <bit>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "models/laws/damper.hpp"
#include "models/setup/fault.hpp"
#include "models/setup/setup.hpp"

namespace plunge {

// Speed up to which a hydraulic damper is solved [m/s]: engineering estimate, several times what a
// hard landing reaches.
inline constexpr double kFastestStroke = 20.0;

// A knot of a tabled law; the slopes before and after it differ at a corner.
struct ForceKnot {
  double speed = 0.0;
  double force = 0.0;
  double slope_before = 0.0;
  double slope_after = 0.0;
};

// The cubic that takes the forces and slopes of two knots.
ForcePiece cubic_between(const ForceKnot& a, const ForceKnot& b);

// A law as cubic pieces. The piece of a speed is found in constant time: the leading bits of v,
// which split each octave of speed in eight, name the first piece that v can lie in.
class ForceTable {
 public:
  // The first knot is (0, 0). Throws std::invalid_argument where speeds and forces do not rise, or
  // a number is not finite.
  explicit ForceTable(const std::vector<ForceKnot>& knots);

  double force(double v) const {
    if (v <= 0.0) return pieces_.front().slope * v;
    const std::uint64_t key = std::clamp(octave_key(v), first_key_, last_key_);
    std::size_t piece = bucket_[key - first_key_];
    while (v >= pieces_[piece + 1].start) ++piece;
    return pieces_[piece].at(v);
  }

  // Number of pieces of the law: pieces() without its last, which only ends the search.
  std::size_t size() const { return pieces_.size() - 1; }
  const std::vector<ForcePiece>& pieces() const { return pieces_; }

 private:
  static std::uint64_t octave_key(double v) { return std::bit_cast<std::uint64_t>(v) >> 49; }

  std::vector<ForcePiece> pieces_;
  std::vector<std::uint32_t> bucket_;
  std::uint64_t first_key_ = 0;
  std::uint64_t last_key_ = 0;
};

// The tabled law of a single ride, shared by all copies of its damper.
template <>
struct LawTable<double> {
  std::shared_ptr<const ForceTable> table;  // none: slopes

  explicit operator bool() const { return table != nullptr; }
  double force(double v) const { return table->force(v); }
};

// The equations of the hydraulic description.
struct Hydraulics {
  double piston_area = 0.0;        // A_p [m2]
  double resistance = 0.0;         // R [Pa.s/m3]
  double orifice = 0.0;            // K [Pa.s2/m6]
  double shim_preload = 0.0;       // dp_0 [Pa]
  double shim_slope = 0.0;         // s [m2/Pa]
  double shim_area = 0.0;          // A_max [m2], 0: no shim stack
  double blow_off_pressure = 0.0;  // dp_1 [Pa]
  double blow_off_slope = 0.0;     // b [m2/Pa], 0: no blow-off valve
  double jet = 0.0;                // C_d sqrt(2/rho): flow per area and root of pressure

  Hydraulics(const DamperSetup& damper, const OilSetup& oil);

  // Q at a pressure >= 0 [m3/s].
  double flow(double pressure) const;

  // dQ/d(dp) at a pressure, with the valves as open as they are at a pressure `inside`, so that
  // each side of a corner has its own.
  double flow_slope(double pressure, double inside) const;

  // dp at a speed >= 0, solved to rounding [Pa]; infinite where the needle is next to closed.
  double pressure(double speed) const;

  // Pressures at which the law has a corner, rising [Pa].
  std::vector<double> corners() const;
};

// c_l and c_h of a `slopes` damper at its clicks.
std::pair<double, double> slopes_at(const DamperSetup& damper);

// e of a hydraulic damper [1].
double bleed_closed(const DamperSetup& damper);

// dp_0 of a hydraulic damper at the clicks of its adjuster [Pa].
double shim_preload_at(const DamperSetup& damper);

// Every fault of one direction, its keys below `prefix` ("fork.compression"); rows of tables are
// numbered from 0. A hydraulic damper is also tried with its oil, where that is free of faults.
Faults judge(const DamperSetup& damper, const OilSetup& oil, const std::string& prefix);

// Every fault of the oil, its keys below `prefix` ("fork.oil"). Only a hydraulic damper needs oil.
Faults judge(const OilSetup& oil, const std::string& prefix);

// The law of one direction. The set-up must have passed judge().
DamperLaw<double> make_damper(const DamperSetup& damper, const OilSetup& oil);

}  // namespace plunge
