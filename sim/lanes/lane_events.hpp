// Events of a step: where the fork turns, where the tyre leaves or meets the ground, where a piece
// of the path ends; contact with the stops, and what of all this is in doubt.
//
// Steps end on the kinks of the path, on changes of direction of the fork, and where the tyre
// leaves or meets the ground: a step that overshoots one is taken again up to it. All other
// switches follow from the state at each evaluation; the error control sees their kinks.
#pragma once

#include <cstddef>

#include "models/laws/quarter_rider.hpp"
#include "sim/lanes/lane_curve.hpp"
#include "sim/lanes/lane_pieces.hpp"
#include "sim/lanes/lane_state.hpp"

namespace plunge {

inline constexpr double kLanding = 1e-5;  // an event is met when this far past it [s]
inline constexpr double kStill = 1e-6;    // slower than this the fork has no direction [m/s]
inline constexpr double kBent = 0.1;      // as in integrator.cpp [slip levels]
// A kink is met when this near it, on either side: so far and for so long.
inline constexpr double kKinkPlace = 2e-6;   // [m]
inline constexpr double kKinkTime = 4e-6;    // [s]
inline constexpr double kMetalStep = 5e-5;   // longest step in metal [s]
inline constexpr double kStopStep = 2.5e-4;  // longest step in another stop [s]
// A mid-step force above this many times the larger end force makes the step be halved [1],
inline constexpr double kStandsOut = 1.015;
inline constexpr double kFinest = 2e-4;  // but not below this [s].
// Share of a peak, or of the rim's depth, from which a step is searched for more [1].
inline constexpr double kNearPeak = 0.9;
inline constexpr double kGraze = 0.25;  // share of a step past its ends that a graze may lie at [1]

// The tyre's force as far as it presses: zero where it just touches [N].
template <class S>
S pressing(const QuarterRider<S>& rider, const Outputs<S>& at) {
  return min(at[kOutDeflection] * rider.tyre.stiffness, at[kOutFreeTyreForce]);
}

template <class S>
void find_turns(const QuarterRider<S>& rider, const Rates<S>& k, Trial<S>& t) {
  const S v0 = t.y0[kTravelSpeed];
  const S v1 = t.y1[kTravelSpeed];
  const S bend = -t.way * rider.friction.stiffness * t.end[kOutBristle];
  const S still = select(bend > kBent * t.end[kOutSlipLevel], S(0.0), S(-kStill));
  t.turned = t.moving && t.way * v1 < still;
  t.turned_before = t.turned && t.way * v0 <= S(0.0);
  if (any(t.turned)) {
    const Cubic<S> speeds = Cubic<S>::between(t.h, v0, k[0][kTravelSpeed], v1, k[4][kTravelSpeed]);
    const S chord = -v0 / select(t.turned && !t.turned_before, v1 - v0, S(-1.0));
    const S share = speeds.root(chord, -t.way, -t.way);
    t.event = select(t.turned && !t.turned_before, share, t.event);
  }
}

template <class S>
void find_lift_offs(Trial<S>& t) {
  const S n0 = t.begin[kOutFreeTyreForce];
  const S nm = t.middle[kOutFreeTyreForce];
  const S n1 = t.end[kOutFreeTyreForce];
  const Mask<S> grounded = t.moving && t.touches;
  t.valley = Extreme<S>::of(-1.0, n0, nm, n1);
  t.lifts =
      grounded && (n1 < S(0.0) || nm < S(0.0) || (t.valley.inside(0.0) && t.valley.value < S(0.0)));
  t.lifted_before = t.lifts && n0 <= S(0.0);
  if (any(t.lifts)) {
    const S a = 2.0 * (n0 + n1 - 2.0 * nm);
    const S b = 4.0 * nm - 3.0 * n0 - n1;
    const S root = sqrt(max(b * b - 4.0 * a * n0, S(0.0)));
    const S below = root - b;
    const S share = 2.0 * n0 / select(below > S(1e-12), below, S(1.0));
    const S first = select(below > S(1e-12) && share < S(1.0), share, S(1.0));
    t.event = select(t.lifts && !t.lifted_before, min(t.event, first), t.event);
  }
}

template <class S>
void find_landings(const QuarterRider<S>& rider, Trial<S>& t) {
  const Mask<S> flying = t.moving && !t.touches;
  const S a0 = pressing(rider, t.begin);
  const S am = pressing(rider, t.middle);
  const S a1 = pressing(rider, t.end);
  t.meets = flying && (a1 > S(0.0) || am > S(0.0));
  t.met_before = t.meets && a0 > S(0.0);
  if (any(t.meets)) {
    // By the gap's cubic, or, where the tyre still has to relax, by the nearer chord of its law.
    const S g0 = t.begin[kOutDeflection];
    const S g1 = t.end[kOutDeflection];
    const Mask<S> crosses = g0 < S(0.0) && g1 > S(0.0);
    const S across = select(crosses, -g0 / select(crosses, g1 - g0, S(1.0)), S(0.5));
    S share = Cubic<S>::between(t.h, g0, t.begin[kOutDeflectionRate], g1, t.end[kOutDeflectionRate])
                  .root(across, S(1.0), S(1e3));
    const Mask<S> early = am > S(0.0);
    const S low = select(early, a0, am);
    const S high = select(early, am, a1);
    const S chord = 0.5 * (select(early, S(0.0), S(1.0)) - low / (high - low));
    share = select(crosses, share, min(max(chord, S(0.0)), S(1.0)));
    t.event = select(t.meets && !t.met_before, min(t.event, share), t.event);
  }
}

// The wheel runs past the end of the piece ahead; or past the other one, where it turned round
// inside the step.
template <class S>
void find_piece_ends(const LaneState<S>& lanes, Trial<S>& t) {
  const S reach = S::load(lanes.reach);
  t.near_kink =
      select(load_mask<S>(lanes.smooth), S(kLanePast), S(kKinkPlace) + S(kKinkTime) * t.pace);
  t.over = select(t.forward, t.wheel_at_end - reach, -t.wheel_at_end);
  const S behind = select(t.forward, -t.wheel_at_end, t.wheel_at_end - reach);
  t.ran_past = t.moving && t.over > t.near_kink && t.h > S(kKinkTime);
  t.ran_back = t.moving && behind > t.near_kink && t.h > S(kKinkTime) &&
               behind > select(t.forward, -t.ahead, t.ahead - reach);
}

template <class S>
void find_events(const QuarterRider<S>& rider, const LaneState<S>& lanes, const Rates<S>& k,
                 Trial<S>& t) {
  t.moving = t.alive && !t.stale;
  t.event = S(2.0);  // none
  find_turns(rider, k, t);
  find_lift_offs(t);
  find_landings(rider, t);
  find_piece_ends(lanes, t);
}

// True where a new peak lies so far above both ends that the three-point parabola would misjudge
// it.
template <class S>
Mask<S> blurs_a_peak(const LaneState<S>& lanes, const Trial<S>& t) {
  Mask<S> blurs(false);
  each_peak([&](auto i) {
    constexpr PeakRule kRule = kPeakRules[i];
    if constexpr (kRule.refines) {
      const S ends = max(abs(t.begin[kRule.output]), abs(t.end[kRule.output]));
      const S inner = abs(t.middle[kRule.output]);
      blurs = blurs || (inner > kStandsOut * ends && inner > S::load(lanes.peak[kRule.peak]));
    }
  });
  return blurs;
}

// Whether the step stands, or why it has to be taken again.
template <class S>
void judge_step(const QuarterRider<S>& rider, const LaneState<S>& lanes, Trial<S>& t) {
  const S x1 = t.y1[kTravel];
  t.overshot = t.good && t.event <= S(1.0) && t.h - t.event * t.h > S(kLanding);
  t.flips = t.good && (t.turned_before || t.lifted_before || t.met_before);
  const Mask<S> meets_stop = t.h > S(2.0 * kStopStep) &&
                             (rider.bumper.depth(x1) > S(0.0) || rider.top_out.depth(x1) > S(0.0));
  const Mask<S> meets_metal = t.h > S(2.0 * kMetalStep) && rider.metal.depth(x1) > S(0.0);
  t.coarse = t.good && t.moving &&
             (meets_stop || meets_metal || (t.h > S(kFinest) && blurs_a_peak(lanes, t)));
  t.accepted =
      t.alive && t.good && !t.overshot && !t.flips && !t.ran_past && !t.ran_back && !t.coarse;
  t.counted = t.accepted && !t.stale;
}

// Grazes of the tyre: it nearly left the ground, or nearly met it, or hardly did.
template <class S>
void find_doubts(const QuarterRider<S>& rider, const StepLimits& limits, const Trial<S>& t,
                 LaneState<S>& lanes) {
  const S doubtful(limits.doubtful_force);
  const S nm = t.middle[kOutFreeTyreForce];
  const S n1 = t.end[kOutFreeTyreForce];
  const Mask<S> nearly_left =
      t.counted && t.touches && !t.lifts && t.valley.inside(kGraze) && t.valley.value < doubtful;
  const auto crest = Extreme<S>::of(1.0, pressing(rider, t.begin), pressing(rider, t.middle),
                                    pressing(rider, t.end));
  const Mask<S> nearly_met =
      t.counted && !t.touches && !t.meets && crest.inside(kGraze) && crest.value > -doubtful;
  const S hop = S::load(lanes.hop_lowest);
  select(t.counted && !t.touches, min(hop, min(nm, n1)), hop).store(lanes.hop_lowest);
  const S ground = S::load(lanes.ground_highest);
  select(t.counted && t.touches, max(ground, max(nm, n1)), ground).store(lanes.ground_highest);
  const S doubt = S::load(lanes.doubt);
  select(nearly_left || nearly_met, S(1.0), doubt).store(lanes.doubt);
}

// Grazes of the rim, which is looked for where steps end: it was nearly struck or hardly, or left
// or met inside a step alone.
template <class S>
void find_rim_doubts(const QuarterRider<S>& rider, const StepLimits& limits, const Trial<S>& t,
                     LaneState<S>& lanes) {
  const S rim = rider.tyre.rim_depth;
  const S d0 = t.begin[kOutDeflection];
  const S dm = t.middle[kOutDeflection];
  const S d1 = t.end[kOutDeflection];
  const Mask<S> deep = t.counted && max(max(d0, dm), d1) > kNearPeak * rim;
  if (!any(deep)) return;
  const S near(limits.doubtful_travel);
  const auto crest = Extreme<S>::of(1.0, d0, dm, d1);
  const auto valley = Extreme<S>::of(-1.0, d0, dm, d1);
  const S above = crest.value - rim;
  const S below = valley.value - rim;
  const Mask<S> over = crest.inside(kGraze) && above > -near && (above < near || max(d0, d1) < rim);
  const Mask<S> under =
      valley.inside(kGraze) && below < near && (below > -near || min(d0, d1) > rim);
  select(deep && (over || under), S(1.0), S::load(lanes.rim_doubt)).store(lanes.rim_doubt);
}

// Contacts that begin with the step.
template <class S>
struct Contacts {
  Mask<S> bumps;
  Mask<S> knocks;  // metal on metal
  Mask<S> tops;
  Mask<S> strikes;  // of the rim
};

template <class S>
Contacts<S> find_contacts(const QuarterRider<S>& rider, const Trial<S>& t, LaneState<S>& lanes) {
  const auto begins = [&](const Mask<S>& now, typename S::Real* row) {
    const Mask<S> begun = t.counted && now && !load_mask<S>(row);
    select(t.counted, one_if<S>(now), S::load(row)).store(row);
    return begun;
  };
  const S x1 = t.y1[kTravel];
  Contacts<S> contacts;
  contacts.bumps = begins(rider.bumper.depth(x1) > S(0.0), lanes.in_bumper);
  contacts.knocks = begins(rider.metal.depth(x1) > S(0.0), lanes.in_metal);
  contacts.tops = begins(rider.top_out.depth(x1) > S(0.0), lanes.in_top_out);
  contacts.strikes = begins(t.end[kOutDeflection] > rider.tyre.rim_depth, lanes.on_rim);
  return contacts;
}

}  // namespace plunge
