// The lanes of lanes.hpp for one instruction set: included by one file for each.
//
// Everything here is a template over the pack of that instruction set, so that no function of it
// can be taken for another's by the linker.
#pragma once

#include <array>
#include <bit>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <span>
#include <type_traits>
#include <utility>
#include <vector>

#include "models/laws/quarter_rider.hpp"
#include "sim/lanes/lane_pack.hpp"
#include "sim/lanes/lanes.hpp"

namespace plunge {

// The lanes of a mask as bits, the first lowest.
template <class Batch, std::size_t K>
std::uint32_t lane_bits(const PackMask<Batch, K>& mask) {
  constexpr std::size_t kPart = Batch::size;
  std::uint32_t bits = 0;
  for (std::size_t k = 0; k < K; ++k) {
    std::uint32_t part = 0;
#if defined(__AVX512F__)
    part = static_cast<std::uint32_t>(mask.part[k].data);
#elif defined(__AVX__)
    part = static_cast<std::uint32_t>(_mm256_movemask_ps(mask.part[k].data));
#elif defined(__SSE2__)
    part = static_cast<std::uint32_t>(_mm_movemask_ps(mask.part[k].data));
#else
    bool lanes[kPart];
    mask.part[k].store_unaligned(lanes);
    for (std::size_t l = 0; l < kPart; ++l) part |= static_cast<std::uint32_t>(lanes[l]) << l;
#endif
    bits |= part << (k * kPart);
  }
  return bits;
}

// The laws of each lane. Successive looks of a lane often lie on one piece of its law, so the last
// one is kept: only lanes that have left it are looked up.
template <class Batch, std::size_t K>
struct LawTable<Pack<Batch, K>> {
  using S = Pack<Batch, K>;

  explicit operator bool() const { return in_use_; }

  // Lane l has these laws from now on; null: slopes, and then no lane has others.
  void set(std::size_t l, const LaneLaw* compression, const LaneLaw* rebound) {
    in_use_ = compression != nullptr;
    compression_[l] = compression;
    rebound_[l] = rebound;
    from_[l] = std::numeric_limits<Real>::quiet_NaN();
  }

  S force_either_way(const S& v, const Mask<S>& compressing) const {
    const S speed = select(compressing, v, -v);
    const S way = select(compressing, S(1.0), S(-1.0));
    // The last piece ends nowhere: its `to` is NaN.
    const Mask<S> on_it =
        speed >= S::load(from_) && !(speed >= S::load(to_)) && way * S::load(way_) > S(0.0);
    if (const std::uint32_t bits = lane_bits(!on_it); bits != 0) look_up(bits, speed, way);
    const S u = speed - S::load(start_);
    const S force = S::load(force_) + u * (S::load(slope_) + u * (S::load(c2_) + u * S::load(c3_)));
    return select(compressing, force, -force);
  }

 private:
  using Real = typename S::Real;
  using Row = Real[S::kSize];

  void look_up(std::uint32_t bits, const S& speed, const S& way) const {
    constexpr std::uint32_t kShift = 20;  // leaves three bits of the fraction
    constexpr std::uint32_t kFirst =
        std::bit_cast<std::uint32_t>(1.0F / (1 << -kLaneFirstOctave)) >> kShift;
    constexpr auto kLast = static_cast<std::uint32_t>(kLaneBuckets - 1);
    alignas(64) Row speeds;
    speed.store(speeds);
    alignas(64) Row ways;
    way.store(ways);
    for (; bits != 0; bits &= bits - 1) {
      const auto l = static_cast<std::size_t>(std::countr_zero(bits));
      const float at = speeds[l];
      const std::uint32_t key = std::bit_cast<std::uint32_t>(at) >> kShift;
      const std::uint32_t past = key < kFirst ? 0 : key - kFirst + 1;
      const std::uint32_t bucket = at > 0.0F ? (past < kLast ? past : kLast) : 0;
      const LaneLaw& law = *(ways[l] > 0 ? compression_ : rebound_)[l];
      const LanePieceOfLaw* piece = law.pieces.data() + law.first.data()[bucket];
      while (at >= piece[1].start) ++piece;
      // The first goes on below its start: a step may overshoot a turn.
      from_[l] = piece == law.pieces.data() ? -std::numeric_limits<Real>::infinity() : piece->start;
      to_[l] = piece[1].start;
      way_[l] = ways[l];
      start_[l] = piece->start;
      force_[l] = piece->force;
      slope_[l] = piece->slope;
      c2_[l] = piece->c2;
      c3_[l] = piece->c3;
    }
  }

  bool in_use_ = false;
  const LaneLaw* compression_[S::kSize] = {};
  const LaneLaw* rebound_[S::kSize] = {};
  // The piece that each lane was on last.
  alignas(64) mutable Row from_ = {};
  alignas(64) mutable Row to_ = {};
  alignas(64) mutable Row way_ = {};
  alignas(64) mutable Row start_ = {};
  alignas(64) mutable Row force_ = {};
  alignas(64) mutable Row slope_ = {};
  alignas(64) mutable Row c2_ = {};
  alignas(64) mutable Row c3_ = {};
};

// Calls f(number) for every number of a quarter rider that differs from lane to lane.
template <class Q, class F>
void each_number(Q& q, const F& f) {
  for (auto* number : {&q.sprung_mass,
                       &q.unsprung_mass,
                       &q.wheel_share,
                       &q.total_mass,
                       &q.sine,
                       &q.cosine,
                       &q.travel,
                       &q.wheel_radius,
                       &q.transfer_lever,
                       &q.grip,
                       &q.gas_mass,
                       &q.main_mass_at_port,
                       &q.leg_gas_mass,
                       &q.air.ambient,
                       &q.air.port.position,
                       &q.air.port.area,
                       &q.coil.rate,
                       &q.coil.preload,
                       &q.negative_coil.rate,
                       &q.negative_coil.length,
                       &q.hydraulic_stop.start,
                       &q.hydraulic_stop.gradient,
                       &q.friction.seal,
                       &q.friction.bushing,
                       &q.friction.reach,
                       &q.friction.static_ratio,
                       &q.friction.damping,
                       &q.friction.viscous,
                       &q.bumper.start,
                       &q.bumper.stiffness,
                       &q.bumper.cubic,
                       &q.bumper.loss,
                       &q.metal.limit,
                       &q.metal.stiffness,
                       &q.metal.loss,
                       &q.top_out.stiffness,
                       &q.top_out.loss,
                       &q.tyre.stiffness,
                       &q.tyre.damping,
                       &q.tyre.onset,
                       &q.tyre.rim_depth,
                       &q.tyre.rim_stiffness,
                       &q.arms.stiffness,
                       &q.arms.damping}) {
    f(*number);
  }
  for (auto* number : {&q.body_mass, &q.air.port.length, &q.friction.spacing,
                       &q.friction.stribeck_speed, &q.friction.stiffness}) {
    f(*number);
  }
  for (auto* chamber : {&q.air.main, &q.air.negative, &q.air.leg}) {
    for (auto* number : {&chamber->volume, &chamber->area, &chamber->wall}) f(*number);
    f(chamber->time);
  }
  for (auto* law : {&q.damper.compression, &q.damper.rebound}) {
    for (auto* number : {&law->low_speed, &law->high_speed, &law->knee}) f(*number);
  }
}

// One function of the whole step. Under sanitizers it would take the compiler minutes and
// gigabytes.
#ifdef __SANITIZE_ADDRESS__
#define PLUNGE_FLATTEN
#else
#define PLUNGE_FLATTEN [[gnu::flatten]]
#endif

template <class S>
class LaneRunner {
 public:
  LaneRunner(std::span<const LaneRide> rides, const LaneWish& wish, std::span<LaneOutcome> outcomes)
      : rides_(rides),
        wish_(wish),
        outcomes_(outcomes),
        creep_step_(kCreepStep * std::sqrt(std::sqrt(wish.tolerance / 1e-3))) {
    for (std::size_t c = 0; c < kLaneChannels; ++c) samples_ = samples_ || wish.channels[c];
    samples_ = samples_ && wish.sample_rate > 0.0;
    if (!samples_) return;
    sample_time_ = 1.0 / wish.sample_rate;
    for (std::size_t l = 0; l < kLanes; ++l) numbers_[l] = static_cast<Real>(l);
  }

  void run() {
    const Rider& first = *rides_.front().rider;
    rider_.has_air = first.has_air;
    rider_.has_leg_air = first.has_leg_air;
    rider_.has_body = first.has_body;
    rider_.has_friction = first.has_friction;
    for (std::size_t l = 0; l < kLanes; ++l) {
      if (!take_next(l)) fill_idle(l);
    }
    while (active_ > 0) step();
  }

 private:
  using Real = typename S::Real;
  static_assert(std::is_same_v<Real, float>);
  using M = Mask<S>;
  static constexpr std::size_t kLanes = S::kSize;
  using Row = Real[kLanes];
  static constexpr std::size_t kMoving = kBristle;  // the bristle follows from the stroke
  static constexpr std::size_t kNone = ~std::size_t{0};

  static constexpr double kLongestStep = 0.01;   // [s]
  static constexpr double kShortestStep = 1e-9;  // [s]
  static constexpr double kFirstStep = 5e-4;     // [s]
  static constexpr double kLanding = 2e-5;       // an event is met when this far past it [s]
  static constexpr double kStill = 1e-6;         // slower than this the fork has no direction [m/s]
  static constexpr double kBent = 0.1;           // as in integrator.cpp [slip levels]
  // A kink is met when this near it, on either side: so far and for so long.
  static constexpr double kKinkPlace = 2e-6;  // [m]
  static constexpr double kKinkTime = 4e-6;   // [s]
  static constexpr double kFarDatum = 0.5;    // heights are moved to a nearer datum past it [m]
  static constexpr double kGrowMost = 2.0;
  static constexpr double kShrinkMost = 0.15;
  static constexpr std::size_t kSlack = 3 + kLanes;  // samples are written a register at a time
  // A sample nearer to the end of a step is on its edge [samples].
  static constexpr double kNearSample = 1e-6;
  static constexpr double kSafety = 0.8;
  static constexpr double kMostWaits = 200.0;  // tries for one step
  static constexpr double kCreep = 5.0;        // slower than this the fork creeps [Stribeck speeds]
  static constexpr double kRests = 0.01;       // slower than this it rests [Stribeck speeds]
  // Longest step of a fork that creeps at a tolerance of 1e-3 [s]: the error control does not see
  // the friction's bell, so this length goes with the tolerance's fourth root.
  static constexpr double kCreepStep = 1.5e-3;
  static constexpr double kMetalStep = 5e-5;   // [s]
  static constexpr double kStopStep = 2.5e-4;  // [s]
  static constexpr double kStandsOut = 1.015;  // an inner force over both ends of a step
  static constexpr double kFinest = 2e-4;      // shortest step for the sake of a peak [s]
  static constexpr double kNearPeak = 0.9;     // of a peak: looked at closely
  static constexpr std::array<double, kMoving> kScale = {0.1, 1.0,   0.1,   1.0,   0.1,
                                                         1.0, 300.0, 300.0, 300.0, 1e-3};

  // What is looked at besides the rates.
  enum Seen : std::size_t {
    kFork,
    kTyre,
    kHand,
    kSprung,
    kDamper,
    kAxle,
    kTyreFree,
    kDeflection,
    kDeflectionRate,
    kSlip,
    kCoulombNow,
    kBristleNow,
    kSeen
  };
  struct Look {
    S seen[kSeen];
  };

  template <class F>
  static void each_moving(const F& f) {
    [&]<std::size_t... I>(std::index_sequence<I...>) {
      (f(std::integral_constant<std::size_t, I>{}), ...);
    }
    (std::make_index_sequence<kMoving>{});
  }

  // A value over a step that has these values and rates at its ends; t: share of the step.
  struct Cubic {
    S a, b, c, d;

    static Cubic between(const S& h, const S& from, const S& rate0, const S& to, const S& rate1) {
      const S change = to - from;
      const S p = h * rate0;
      const S q = h * rate1;
      return {from, p, 3.0 * change - 2.0 * p - q, p + q - 2.0 * change};
    }
    // The root near t, in [0, 1], where the value goes the way of `sign`; elsewhere the slope is
    // taken for `blunt`.
    S root(S t, const S& sign, const S& blunt) const {
      for (int i = 0; i < 3; ++i) {
        const S slope = b + t * (2.0 * c + t * (3.0 * d));
        const S value = a + t * (b + t * (c + t * d));
        t = min(max(t - value / select(sign * slope > S(0.0), slope, blunt), S(0.0)), S(1.0));
      }
      return t;
    }
  };

  static S one_if(const M& mask) { return select(mask, S(1.0), S(0.0)); }
  static M load_mask(const Row& row) { return S::load(row) > S(0.5); }

  void set_rider(std::size_t l, const LaneRide& ride);
  bool take_next(std::size_t l);
  void fill_idle(std::size_t l);
  void finish(std::size_t l);
  void set_phase(std::size_t l);
  void set_piece(std::size_t l, std::size_t piece);
  void sample_start(std::size_t l);
  PLUNGE_FLATTEN void step();
  // Whether a force has a new peak inside the step that stands out so far over both ends that the
  // parabola through three values does not tell it well enough.
  M blurs_a_peak(const Look& begin, const Look& middle, const Look& end) const {
    M blurs(false);
    for (const auto& [p, what] :
         {std::pair{1, kFork}, std::pair{2, kTyre}, std::pair{4, kSprung}, std::pair{5, kDamper}}) {
      const S ends = max(abs(begin.seen[what]), abs(end.seen[what]));
      const S inner = abs(middle.seen[what]);
      blurs = blurs || (inner > kStandsOut * ends && inner > S::load(peak_[p]));
    }
    return blurs;
  }

  void sample(const M& counted, const S& h, const State<S>& y0, const S* k0, const S* y1,
              const S* k1, const Look& begin, const Look& middle, const Look& end);

  // The largest (sign 1) or smallest (sign -1) of a parabola through values at 0, 1/2 and 1,
  // looked for a little past both ends where `wide`.
  static S extreme(double sign, const S& a, const S& b, const S& c, double wide, M& inside) {
    const S bend = 2.0 * (a + c - 2.0 * b);
    const S fall = 4.0 * b - 3.0 * a - c;
    const M curved = S(sign) * bend < S(-1e-20);
    const S place = -0.5 * fall / select(curved, bend, S(1.0));
    inside = curved && place > S(-wide) && place < S(1.0 + wide);
    return a - 0.25 * fall * fall / select(curved, bend, S(1.0));
  }

  std::span<const LaneRide> rides_;
  const LaneWish& wish_;
  std::span<LaneOutcome> outcomes_;
  std::size_t next_ride_ = 0;
  std::size_t active_ = 0;
  bool samples_ = false;
  double creep_step_ = 0.0;  // [s]

  QuarterRider<S> rider_;

  // Per lane, in doubles: time and place.
  alignas(64) double time_[kLanes] = {};
  alignas(64) double stop_[kLanes] = {};  // end of the phase or of the ride
  alignas(64) double phase_start_[kLanes] = {};
  alignas(64) double phase_distance_[kLanes] = {};
  alignas(64) double phase_speed_[kLanes] = {};
  alignas(64) double phase_acceleration_[kLanes] = {};
  alignas(64) double phase_jerk_[kLanes] = {};
  alignas(64) double piece_start_[kLanes] = {};
  double datum_[kLanes] = {};  // of heights [m]
  double airborne_since_[kLanes] = {};
  std::size_t ride_[kLanes] = {};
  std::size_t phase_[kLanes] = {};
  std::size_t piece_[kLanes] = {};
  std::uint64_t next_sample_[kLanes] = {};
  alignas(64) double next_time_[kLanes] = {};
  double sample_time_ = 1.0;      // [s]
  alignas(64) Row numbers_ = {};  // 0, 1, 2, ...
  float* out_[kLaneChannels][kLanes] = {};
  bool leans_[kLanes] = {};
  bool leaning_ = false;

  // Per lane, in the lane's type.
  alignas(64) Row state_[kMoving] = {};
  alignas(64) Row rest_[kMoving] = {};  // what rounding has left out of the state
  alignas(64) Row rate_[kMoving] = {};
  alignas(64) Row seen_[kSeen] = {};
  alignas(64) Row path_[6] = {};
  alignas(64) Row length_ = {};  // up to the next piece
  alignas(64) Row reach_ = {};   // up to where the piece holds
  alignas(64) Row smooth_ = {};  // 1: no kink at either end
  alignas(64) Row brake_mass_ = {};
  alignas(64) Row gravity_[3] = {};
  alignas(64) Row step_ = {};        // that the error control asks for
  alignas(64) Row event_step_ = {};  // up to an event that was overshot
  alignas(64) Row touches_ = {};     // 1: on the ground
  alignas(64) Row compresses_ = {};
  alignas(64) Row stale_ = {};  // 1: the rates are of before a jump
  alignas(64) Row alive_ = {};
  alignas(64) Row in_bumper_ = {};
  alignas(64) Row in_metal_ = {};
  alignas(64) Row in_top_out_ = {};
  alignas(64) Row on_rim_ = {};
  alignas(64) Row hop_lowest_ = {};      // tyre's law since lift-off [N]
  alignas(64) Row ground_highest_ = {};  // tyre force since touch-down [N]
  alignas(64) Row damper_work_ = {};
  alignas(64) Row peak_[7] = {};
  alignas(64) Row steps_ = {};  // counted as floats: exact up to 16 million
  alignas(64) Row tries_ = {};
  alignas(64) Row waits_ = {};      // tries since time passed
  alignas(64) Row doubt_ = {};      // 1: a graze of the tyre
  alignas(64) Row rim_doubt_ = {};  // 1: a graze of the rim
};

template <class S>
void LaneRunner<S>::set_rider(std::size_t l, const LaneRide& ride) {
  std::array<double, 128> numbers{};
  std::size_t i = 0;
  each_number(*ride.rider, [&](double number) { numbers[i++] = number; });
  i = 0;
  each_number(rider_, [&](auto& number) {
    Row row;
    const S before = number;
    before.store(row);
    row[l] = static_cast<Real>(numbers[i++]);
    number = S::load(row);
  });
  rider_.damper.compression.table.set(l, ride.compression, ride.rebound);
}

template <class S>
void LaneRunner<S>::fill_idle(std::size_t l) {
  // An idle lane goes on with its last numbers and no time passes; one that never rode takes those
  // of the first.
  ride_[l] = kNone;
  alive_[l] = 0;
  stale_[l] = 1;
  if (step_[l] > 0) return;
  for (auto& row : state_) row[l] = row[0];
  set_rider(l, rides_.front());
  seen_[kSlip][l] = 1;
  seen_[kCoulombNow][l] = 1;
  for (auto& row : gravity_) row[l] = static_cast<Real>(kGravity);
  length_[l] = 1;
  reach_[l] = 1;
}

template <class S>
bool LaneRunner<S>::take_next(std::size_t l) {
  if (next_ride_ >= rides_.size()) return false;
  ride_[l] = next_ride_;
  const LaneRide& ride = rides_[next_ride_++];
  ++active_;
  set_rider(l, ride);

  time_[l] = 0.0;
  phase_[l] = 0;
  set_phase(l);
  const State<double>& start = *ride.start;
  const std::vector<LanePiece>& path = *ride.path;
  const double place = ride.rider->wheel_position(start, phase_distance_[l]);
  std::size_t low = 0;
  std::size_t high = path.size();
  while (high - low > 1) {
    const std::size_t middle = (low + high) / 2;
    (path[middle].start <= place ? low : high) = middle;
  }
  datum_[l] = path[low].height;
  set_piece(l, low);
  for (std::size_t s = 0; s < kMoving; ++s) {
    const bool height = s == kSprungHeight || s == kBodyHeight;
    state_[s][l] = static_cast<Real>(start[s] - (height ? datum_[l] : 0.0));
    rate_[s][l] = 0;
    rest_[s][l] = static_cast<Real>(start[s] - (height ? datum_[l] : 0.0) -
                                    static_cast<double>(state_[s][l]));
  }
  const Motion<double> motion = ride.line->at(0.0);
  const LanePiece& piece = path[low];
  const double u = place - piece.start;
  double height = 0.0;
  double slope = 0.0;
  for (std::size_t c = 5; c-- > 0;) {
    height = (height + static_cast<double>(piece.slope[c])) * u;
    slope = slope * u + static_cast<double>(c + 1) * static_cast<double>(piece.slope[c]);
  }
  const Modes<double> mode = modes_of(*ride.rider, start, motion, {piece.height + height, slope});
  touches_[l] = mode[kTyreTouches] ? 1 : 0;
  compresses_[l] = mode[kCompresses] ? 1 : 0;
  in_bumper_[l] = mode[kBumperTouches] ? 1 : 0;
  in_metal_[l] = mode[kMetalTouches] ? 1 : 0;
  in_top_out_[l] = mode[kTopOutTouches] ? 1 : 0;
  on_rim_[l] = mode[kRimTouches] ? 1 : 0;
  for (auto& row : seen_) row[l] = 0;
  seen_[kSlip][l] = 1;
  seen_[kCoulombNow][l] = 1;
  seen_[kBristleNow][l] = static_cast<Real>(start[kBristle]);
  step_[l] = static_cast<Real>(kFirstStep);
  event_step_[l] = 1;
  stale_[l] = 1;
  alive_[l] = 1;
  hop_lowest_[l] = 0;
  ground_highest_[l] = 1e9F;
  damper_work_[l] = 0;
  doubt_[l] = 0;
  rim_doubt_[l] = 0;
  waits_[l] = 0;
  steps_[l] = 0;
  tries_[l] = 0;
  for (auto& row : peak_) row[l] = 0;
  next_sample_[l] = 0;
  next_time_[l] = 1e300;
  LaneOutcome& outcome = outcomes_[ride_[l]];
  outcome.record = {};
  outcome.doubts = 0;
  if (!mode[kTyreTouches]) {
    ++outcome.record.lift_offs;
    airborne_since_[l] = 0.0;
  }
  const double whole = ride.line->duration() * wish_.sample_rate;
  const std::size_t count = samples_ ? static_cast<std::size_t>(whole) + kSlack : 0;
  for (std::size_t c = 0; c < kLaneChannels; ++c) {
    outcome.samples[c].resize(wish_.channels[c] ? count : 0);
    out_[c][l] = outcome.samples[c].data();
  }
  return true;
}

template <class S>
void LaneRunner<S>::finish(std::size_t l) {
  LaneOutcome& outcome = outcomes_[ride_[l]];
  Record& record = outcome.record;
  record.end_time = time_[l];
  outcome.steps = static_cast<std::uint64_t>(steps_[l]);
  outcome.tries = static_cast<std::uint64_t>(tries_[l]);
  if (touches_[l] < 0.5F) record.airborne_time += time_[l] - airborne_since_[l];
  record.damper_work = static_cast<double>(damper_work_[l]);
  Peaks& peaks = record.peaks;
  double* const fields[] = {&peaks.travel,     &peaks.fork_force,          &peaks.ground_force,
                            &peaks.hand_force, &peaks.sprung_acceleration, &peaks.damper_force,
                            &peaks.axle_force};
  for (std::size_t p = 0; p < std::size(fields); ++p) *fields[p] = static_cast<double>(peak_[p][l]);
  if (doubt_[l] > 0.5F) outcome.doubts |= kDoubtLiftOff;
  if (rim_doubt_[l] > 0.5F) outcome.doubts |= kDoubtRim;
  for (std::size_t c = 0; c < kLaneChannels && samples_; ++c) {
    if (wish_.channels[c]) outcome.samples[c].resize(next_sample_[l]);
  }
  --active_;
  if (!take_next(l)) fill_idle(l);
}

template <class S>
void LaneRunner<S>::set_phase(std::size_t l) {
  const RideLine& line = *rides_[ride_[l]].line;
  const std::vector<RidePhase>& phases = line.phases();
  while (phase_[l] + 1 < phases.size() && phases[phase_[l] + 1].start <= time_[l]) ++phase_[l];
  const RidePhase& phase = phases[phase_[l]];
  phase_start_[l] = phase.start;
  phase_distance_[l] = phase.distance;
  phase_speed_[l] = phase.speed;
  phase_acceleration_[l] = phase.acceleration;
  phase_jerk_[l] = phase.jerk;
  brake_mass_[l] = static_cast<Real>(phase.brake_mass);
  const double end = phase_[l] + 1 < phases.size() ? phases[phase_[l] + 1].start : 1e300;
  stop_[l] = end < line.duration() ? end : line.duration();
  leans_[l] = phase.lean_from != 0.0 || phase.lean_to != 0.0;
  for (auto& row : gravity_) row[l] = static_cast<Real>(phase.at(time_[l]).gravity);
  leaning_ = false;
  for (const bool leans : leans_) leaning_ = leaning_ || leans;
}

template <class S>
void LaneRunner<S>::set_piece(std::size_t l, std::size_t number) {
  const std::vector<LanePiece>& path = *rides_[ride_[l]].path;
  const LanePiece& piece = path[number];
  if (number + 3 < path.size()) __builtin_prefetch(&path[number + 3]);
  piece_[l] = number;
  piece_start_[l] = piece.start;
  const double far = piece.height - datum_[l];
  if (far > kFarDatum || far < -kFarDatum) {
    const auto shift = static_cast<Real>(far);
    datum_[l] += static_cast<double>(shift);
    state_[kSprungHeight][l] -= shift;
    state_[kBodyHeight][l] -= shift;
  }
  path_[0][l] = static_cast<Real>(piece.height - datum_[l]);
  for (std::size_t c = 0; c < 5; ++c) path_[c + 1][l] = static_cast<Real>(piece.slope[c]);
  length_[l] = piece.length;
  reach_[l] = piece.reach;
  smooth_[l] = piece.kink || piece.kink_after ? 0 : 1;
}

template <class S>
void LaneRunner<S>::sample_start(std::size_t l) {
  const Real values[kLaneChannels] = {
      state_[kTravel][l], state_[kTravelSpeed][l], state_[kSprungSpeed][l], seen_[kSprung][l],
      seen_[kHand][l],    seen_[kTyre][l],         seen_[kFork][l]};
  for (std::size_t c = 0; c < kLaneChannels; ++c) {
    if (wish_.channels[c]) out_[c][l][0] = static_cast<float>(values[c]);
  }
  next_sample_[l] = 1;
  next_time_[l] = sample_time_;
}

template <class S>
void LaneRunner<S>::sample(const M& counted, const S& h, const State<S>& y0, const S* k0,
                           const S* y1, const S* k1, const Look& begin, const Look& middle,
                           const Look& end) {
  alignas(64) double samples[kLanes];  // since the next one
  alignas(64) Row late;                // [s]
  alignas(64) Row since;
  for (std::size_t l = 0; l < kLanes; ++l) {
    const double after = time_[l] - next_time_[l];  // time_: of the end
    samples[l] = after * wish_.sample_rate + kNearSample;
    late[l] = static_cast<Real>(after);
    since[l] = static_cast<Real>(samples[l]);
  }
  const std::uint32_t due = lane_bits(counted && S::load(since) >= S(0.0));
  if (due == 0) return;
  alignas(64) Row starts;
  alignas(64) Row gaps;
  const S inverse = 1.0 / max(h, S(1e-12));
  (1.0 - S::load(late) * inverse).store(starts);
  (inverse * sample_time_).store(gaps);
  std::size_t counts[kLanes];
  for (std::uint32_t bits = due; bits != 0; bits &= bits - 1) {
    const auto l = static_cast<std::size_t>(std::countr_zero(bits));
    std::size_t count = static_cast<std::size_t>(samples[l]) + 1;
    const double part = samples[l] - static_cast<double>(count - 1);
    // On the edge the rule itself decides: sample k lies at k/rate.
    if (part < 2.0 * kNearSample) {
      const auto last = static_cast<double>(next_sample_[l] + count - 1);
      if (last / wish_.sample_rate > time_[l]) --count;
    }
    counts[l] = count;
  }
  // a + t (b + t (c + t d)), t: share of the step, never below `least`; one lane after the other,
  // samples side by side, those of a whole register though fewer may be due.
  const auto put = [&](LaneChannel channel, const S& a, const S& b, const S& c, const S& d,
                       double least) {
    if (!wish_.channels[channel]) return;
    alignas(64) Row of[4];
    a.store(of[0]);
    b.store(of[1]);
    c.store(of[2]);
    d.store(of[3]);
    for (std::uint32_t bits = due; bits != 0; bits &= bits - 1) {
      const auto l = static_cast<std::size_t>(std::countr_zero(bits));
      const auto all = [&](const Row& row) { return S(static_cast<double>(row[l])); };
      float* const to = out_[channel][l] + next_sample_[l];
      for (std::size_t j = 0; j < counts[l]; j += kLanes) {
        const S t = all(starts) + all(gaps) * (S::load(numbers_) + static_cast<double>(j));
        max(all(of[0]) + t * (all(of[1]) + t * (all(of[2]) + t * all(of[3]))), S(least))
            .store(to + j);
      }
    }
  };
  constexpr double kNoLeast = -1e30;
  const auto cubic = [&](LaneChannel channel, StateIndex i) {
    const Cubic f = Cubic::between(h, y0[i], k0[i], y1[i], k1[i]);
    put(channel, f.a, f.b, f.c, f.d, kNoLeast);
  };
  const auto parabola = [&](LaneChannel channel, Seen what, double least) {
    const S a = begin.seen[what];
    const S b = middle.seen[what];
    const S c = end.seen[what];
    put(channel, a, 4.0 * b - 3.0 * a - c, 2.0 * (a + c - 2.0 * b), S(0.0), least);
  };
  cubic(kLaneTravel, kTravel);
  cubic(kLaneTravelSpeed, kTravelSpeed);
  cubic(kLaneSprungSpeed, kSprungSpeed);
  parabola(kLaneSprungAcceleration, kSprung, kNoLeast);
  parabola(kLaneHandForce, kHand, kNoLeast);
  parabola(kLaneGroundForce, kTyre, 0.0);
  parabola(kLaneForkForce, kFork, kNoLeast);
  for (std::uint32_t bits = due; bits != 0; bits &= bits - 1) {
    const auto l = static_cast<std::size_t>(std::countr_zero(bits));
    next_sample_[l] += counts[l];
    next_time_[l] = static_cast<double>(next_sample_[l]) * sample_time_;
  }
}

template <class S>
void LaneRunner<S>::step() {
  // Where each lane is on its line and on its piece of the path.
  alignas(64) Row place_row;
  alignas(64) Row speed_row;
  alignas(64) Row acceleration_row;
  alignas(64) Row jerk_row;
  alignas(64) Row stop_row;
  for (std::size_t l = 0; l < kLanes; ++l) {
    const double u = time_[l] - phase_start_[l];
    const double a = phase_acceleration_[l];
    const double j = phase_jerk_[l];
    const double s = phase_distance_[l] + u * (phase_speed_[l] + u * (a / 2.0 + u * j / 6.0));
    place_row[l] = static_cast<Real>(s - piece_start_[l]);
    speed_row[l] = static_cast<Real>(phase_speed_[l] + u * (a + u * j / 2.0));
    acceleration_row[l] = static_cast<Real>(a + u * j);
    jerk_row[l] = static_cast<Real>(j);
    stop_row[l] = static_cast<Real>(stop_[l] - time_[l]);
  }
  const S place = S::load(place_row);
  const S speed = S::load(speed_row);
  const S acceleration = S::load(acceleration_row);
  const S jerk = S::load(jerk_row);
  const S stop = S::load(stop_row);
  const S brake_mass = S::load(brake_mass_);
  const S reach = S::load(reach_);
  const M stale = load_mask(stale_);
  const M alive = load_mask(alive_);
  const M touches = load_mask(touches_);
  const M compresses = load_mask(compresses_);
  const S way = select(compresses, S(1.0), S(-1.0));

  State<S> y0;
  S k[5][kMoving];
  each_moving([&](auto i) {
    y0[i] = S::load(state_[i]);
    k[0][i] = S::load(rate_[i]);
  });
  Look begin;
  for (std::size_t i = 0; i < kSeen; ++i) begin.seen[i] = S::load(seen_[i]);

  // The step: what the error allows, up to the end of what the piece stands for, an event or a
  // phase.
  const S ahead = place - y0[kTravel] * rider_.cosine;
  const S wheel_speed = speed - y0[kTravelSpeed] * rider_.cosine;
  const M forward = wheel_speed > S(0.0);
  const S pace = max(abs(wheel_speed), S(1e-3));
  const S gap = max(select(forward, reach - ahead, ahead), S(1e-6));
  const S gain = acceleration - k[0][kTravelSpeed] * rider_.cosine;
  S to_end = gap / pace;
  to_end *= min(max(1.0 - 0.5 * select(forward, gain, -gain) * to_end / pace, S(0.5)), S(2.0));
  // Short steps where the fork creeps, as the friction's bell is steep there, and inside a stop,
  // whose peak would fall between two looks.
  const S size = abs(y0[kTravelSpeed]);
  const M creeps = size < kCreep * rider_.friction.stribeck_speed &&
                   size > kRests * rider_.friction.stribeck_speed;
  const M in_stop = load_mask(in_bumper_) || load_mask(in_top_out_);
  const S allowed =
      select(load_mask(in_metal_), S(kMetalStep),
             select(in_stop, S(kStopStep), select(creeps, S(creep_step_), S(kLongestStep))));
  const S longest = allowed * S(wish_.stretch);
  const S wanted = min(S::load(step_), longest);
  S h = min(min(to_end, wanted), S::load(event_step_));
  const M stops = stop <= h * 1.001;
  h = select(stops, stop, h);
  h = select(stale || !alive, S(0.0), h);

  if (leaning_) {
    alignas(64) Row steps;
    h.store(steps);
    for (std::size_t l = 0; l < kLanes; ++l) {
      if (!leans_[l] || ride_[l] == kNone) continue;
      const RidePhase& phase = rides_[ride_[l]].line->phases()[phase_[l]];
      for (std::size_t part = 0; part < 3; ++part) {
        const double t = time_[l] + 0.5 * static_cast<double>(part) * static_cast<double>(steps[l]);
        gravity_[part][l] = static_cast<Real>(phase.at(t).gravity);
      }
    }
  }

  StrokeStart<S> stroke;
  stroke.bristle = begin.seen[kBristleNow];
  stroke.slip_level = begin.seen[kSlip];
  stroke.coulomb = begin.seen[kCoulombNow];
  stroke.speed = y0[kTravelSpeed];

  S y1[kMoving];
  S rest[kMoving];
  Look middle;
  Look end;
  S wheel_at_end;
  for (std::size_t stage = 1; stage <= 4; ++stage) {
    const S share(stage < 3 ? 0.5 : 1.0);
    const S tau = h * share;
    State<S> y;
    S went = tau * k[stage - 1][kTravel];
    if (stage < 4) {
      each_moving([&](auto i) { y[i] = y0[i] + tau * k[stage - 1][i]; });
    } else {
      const S sixth = h * (1.0 / 6.0);
      each_moving([&](auto i) {
        const S change =
            sixth * (k[0][i] + 2.0 * (k[1][i] + k[2][i]) + k[3][i]) + S::load(rest_[i]);
        y[i] = y0[i] + change;
        y1[i] = y[i];
        rest[i] = change - (y1[i] - y0[i]);
        if (i == kTravel) went = change;
      });
    }
    Motion<S> motion;
    motion.speed = speed + tau * (acceleration + 0.5 * tau * jerk);
    motion.acceleration = acceleration + tau * jerk;
    motion.brake_wanted = -brake_mass * motion.acceleration;
    motion.gravity = S::load(gravity_[stage < 3 ? 1 : 2]);
    const S u = place + tau * (speed + tau * (0.5 * acceleration + tau * jerk * (1.0 / 6.0))) -
                y[kTravel] * rider_.cosine;
    if (stage == 4) wheel_at_end = u;
    const S c1 = S::load(path_[1]);
    const S c2 = S::load(path_[2]);
    const S c3 = S::load(path_[3]);
    const S c4 = S::load(path_[4]);
    const S c5 = S::load(path_[5]);
    PathPoint<S> point;
    point.height = S::load(path_[0]) + u * (c1 + u * (c2 + u * (c3 + u * (c4 + u * c5))));
    point.slope = c1 + u * (2.0 * c2 + u * (3.0 * c3 + u * (4.0 * c4 + u * (5.0 * c5))));

    Modes<S> mode;
    mode[kTyreTouches] = touches;
    mode[kCompresses] = compresses;
    const S x = y[kTravel];
    const S deflection = point.height - y[kSprungHeight] - x * rider_.sine;
    Indicators<S> past;
    rider_.indicate_by_place(x, deflection, past);
    for (const Switch which : kSwitchesByPlace) mode[which] = past[which] > S(0.0);
    const M brakes = brake_mass > S(0.0);
    if (any(brakes)) {
      const S rate = point.slope * (motion.speed - y[kTravelSpeed] * rider_.cosine) -
                     y[kSprungSpeed] - y[kTravelSpeed] * rider_.sine;
      const S load = rider_.tyre.force(deflection, rate, touches, mode[kRimTouches]);
      mode[kBrakeSlips] = brakes && motion.brake_wanted > rider_.grip * load;
    }
    const Forces<S> f = rider_.forces_with(
        y, motion, point, mode, [&](const S& direction, const S& coulomb, const S& slip_level) {
          return rider_.friction.slid_evenly(stroke, direction * went, y[kTravelSpeed], direction,
                                             coulomb, slip_level);
        });
    const State<S> rate = rider_.rates(y, motion, point, mode, f);
    each_moving([&](auto i) { k[stage][i] = rate[i]; });
    end.seen[kFork] = f.fork;
    end.seen[kTyre] = f.tyre;
    end.seen[kHand] = -f.arms;
    end.seen[kSprung] = f.sprung_acceleration;
    end.seen[kDamper] = f.damper;
    end.seen[kAxle] = f.axle;
    end.seen[kTyreFree] = f.tyre_free;
    end.seen[kDeflection] = f.deflection;
    end.seen[kDeflectionRate] = f.deflection_rate;
    end.seen[kSlip] = f.slip_level;
    end.seen[kCoulombNow] = f.coulomb;
    end.seen[kBristleNow] = f.bristle;
    // Half-way the first look lacks h^2 a/8 of the way and the second has as much too much of it.
    if (stage == 1) middle = end;
    if (stage == 2) {
      for (std::size_t i = 0; i < kSeen; ++i) {
        middle.seen[i] = 0.5 * (middle.seen[i] + end.seen[i]);
      }
    }
  }

  S error(0.0);
  const S unit = h * (0.1 / wish_.tolerance);
  for (std::size_t i = 0; i < kMoving; ++i) {
    error = max(error, abs(k[4][i] - k[3][i]) * unit * (1.0 / kScale[i]));
  }
  // A number that is lost shows in the sum, whatever the largest takes it for.
  S sum(0.0);
  each_moving([&](auto i) { sum += k[4][i]; });
  const M sound = abs(sum) < S(1e30);
  const M good = error <= S(1.0) && sound;

  // Where the fork turns, and where the tyre leaves or meets the ground: as shares of the step.
  const M moving = alive && !stale;
  const S never(2.0);
  const S v0 = y0[kTravelSpeed];
  const S v1 = y1[kTravelSpeed];
  const S bend = -way * rider_.friction.stiffness * end.seen[kBristleNow];
  const S still = select(bend > kBent * end.seen[kSlip], S(0.0), S(-kStill));
  const M turned = moving && way * v1 < still;
  const M turned_before = turned && way * v0 <= S(0.0);
  S event = never;
  if (any(turned)) {
    const Cubic speeds = Cubic::between(h, v0, k[0][kTravelSpeed], v1, k[4][kTravelSpeed]);
    const S chord = -v0 / select(turned && !turned_before, v1 - v0, S(-1.0));
    const S t = speeds.root(chord, -way, -way);
    event = select(turned && !turned_before, t, event);
  }
  const S n0 = begin.seen[kTyreFree];
  const S nm = middle.seen[kTyreFree];
  const S n1 = end.seen[kTyreFree];
  const M grounded = moving && touches;
  const M flying = moving && !touches;
  M dips;
  const S lowest = extreme(-1.0, n0, nm, n1, 0.0, dips);
  const M lifts = grounded && (n1 < S(0.0) || nm < S(0.0) || (dips && lowest < S(0.0)));
  const M lifted_before = lifts && n0 <= S(0.0);
  if (any(lifts)) {
    const S a = 2.0 * (n0 + n1 - 2.0 * nm);
    const S b = 4.0 * nm - 3.0 * n0 - n1;
    const S root = sqrt(max(b * b - 4.0 * a * n0, S(0.0)));
    const S below = root - b;
    const S t = 2.0 * n0 / select(below > S(1e-12), below, S(1.0));
    const S first = select(below > S(1e-12) && t < S(1.0), t, S(1.0));
    event = select(lifts && !lifted_before, min(event, first), event);
  }
  const S stiffness = rider_.tyre.stiffness;
  const S a0 = min(begin.seen[kDeflection] * stiffness, n0);
  const S am = min(middle.seen[kDeflection] * stiffness, nm);
  const S a1 = min(end.seen[kDeflection] * stiffness, n1);
  const M meets = flying && (a1 > S(0.0) || am > S(0.0));
  const M met_before = meets && a0 > S(0.0);
  if (any(meets)) {
    // By the gap's cubic, or, where the tyre still has to relax, by the nearer chord of its law.
    const S g0 = begin.seen[kDeflection];
    const S g1 = end.seen[kDeflection];
    const M crosses = g0 < S(0.0) && g1 > S(0.0);
    const S across = select(crosses, -g0 / select(crosses, g1 - g0, S(1.0)), S(0.5));
    S t = Cubic::between(h, g0, begin.seen[kDeflectionRate], g1, end.seen[kDeflectionRate])
              .root(across, S(1.0), S(1e3));
    const M early = am > S(0.0);
    const S low = select(early, a0, am);
    const S high = select(early, am, a1);
    const S chord = 0.5 * (select(early, S(0.0), S(1.0)) - low / (high - low));
    t = select(crosses, t, min(max(chord, S(0.0)), S(1.0)));
    event = select(meets && !met_before, min(event, t), event);
  }
  // Past the end of the piece ahead; or past the other one, where the wheel turned round inside the
  // step.
  const S near_kink = select(load_mask(smooth_), S(kLanePast), S(kKinkPlace) + S(kKinkTime) * pace);
  const S over = select(forward, wheel_at_end - reach, -wheel_at_end);
  const S behind = select(forward, -wheel_at_end, wheel_at_end - reach);
  const M ran_past = moving && over > near_kink && h > S(kKinkTime);
  const M ran_back = moving && behind > near_kink && h > S(kKinkTime) &&
                     behind > select(forward, -ahead, ahead - reach);
  const S event_time = event * h;
  const M overshot = good && event <= S(1.0) && h - event_time > S(kLanding);
  const M flips_now = good && (turned_before || lifted_before || met_before);
  const M meets_stop = h > S(2.0 * kStopStep) && (rider_.bumper.depth(y1[kTravel]) > S(0.0) ||
                                                  rider_.top_out.depth(y1[kTravel]) > S(0.0));
  const M meets_metal = h > S(2.0 * kMetalStep) && rider_.metal.depth(y1[kTravel]) > S(0.0);
  const M coarse =
      good && moving &&
      (meets_stop || meets_metal || (h > S(kFinest) && blurs_a_peak(begin, middle, end)));
  const M accepted = alive && good && !overshot && !flips_now && !ran_past && !ran_back && !coarse;
  const M counted = accepted && !stale;

  // The next step: what the error asks for; a step that was cut short does not shorten the next.
  const S fourth = 1.0 / sqrt(sqrt(max(error, S(1e-8))));
  const S factor = min(max(kSafety * fourth, S(kShrinkMost)), S(kGrowMost));
  const S asked = h * select(sound, factor, S(kShrinkMost));
  S next = select(good, max(asked, wanted), min(asked, 0.9 * wanted));
  next = select(h * 2.0 > wanted && good, asked, next);
  next = select(stale || !alive, S::load(step_), min(next, S(kLongestStep)));
  next.store(step_);
  const S landing = select(overshot, event_time + 0.25 * kLanding,
                           select(ran_past && good, h * gap / (gap + over),
                                  select(coarse || (ran_back && good), 0.5 * h, S(1.0))));
  select(accepted || !good, S(1.0), select(flips_now, S(1.0), landing)).store(event_step_);

  for (std::size_t i = 0; i < kMoving; ++i) {
    select(accepted, y1[i], y0[i]).store(state_[i]);
    select(counted, rest[i], S::load(rest_[i])).store(rest_[i]);
    select(accepted, k[4][i], k[0][i]).store(rate_[i]);
  }
  for (std::size_t i = 0; i < kSeen; ++i) {
    select(accepted, end.seen[i], begin.seen[i]).store(seen_[i]);
  }
  alignas(64) Row taken;
  select(counted, h, S(0.0)).store(taken);
  alignas(64) Row stopping;
  one_if(counted && stops).store(stopping);
  for (std::size_t l = 0; l < kLanes; ++l) {
    time_[l] = stopping[l] > 0.5F ? stop_[l] : time_[l] + static_cast<double>(taken[l]);
  }

  // Peaks: at the end of the step and between.
  const auto peak = [&](std::size_t p, const S& a, const S& b, const S& c) {
    const S now = S::load(peak_[p]);
    const S ends = max(a, c);
    const M near = counted && max(b, ends) > kNearPeak * now;
    if (!any(near)) return;
    M inside;
    const S top = extreme(1.0, a, b, c, 0.0, inside);
    select(near, max(now, max(ends, select(inside, top, ends))), now).store(peak_[p]);
  };
  const auto size_peak = [&](std::size_t p, Seen what) {
    const S sign = select(begin.seen[what] + middle.seen[what] < S(0.0), S(-1.0), S(1.0));
    peak(p, sign * begin.seen[what], sign * middle.seen[what], sign * end.seen[what]);
  };
  {
    const S now = S::load(peak_[0]);
    select(counted, max(now, y1[kTravel]), now).store(peak_[0]);
  }
  peak(1, begin.seen[kFork], middle.seen[kFork], end.seen[kFork]);
  peak(2, begin.seen[kTyre], middle.seen[kTyre], end.seen[kTyre]);
  size_peak(3, kHand);
  size_peak(4, kSprung);
  size_peak(5, kDamper);
  peak(6, begin.seen[kAxle], middle.seen[kAxle], end.seen[kAxle]);
  {
    const S middle_speed = y0[kTravelSpeed] + 0.25 * h * (k[0][kTravelSpeed] + k[1][kTravelSpeed]);
    const S work = h * (1.0 / 6.0) *
                   (begin.seen[kDamper] * v0 + 4.0 * middle.seen[kDamper] * middle_speed +
                    end.seen[kDamper] * v1);
    const S now = S::load(damper_work_);
    select(counted, now + work, now).store(damper_work_);
  }

  // Grazes of the tyre: it nearly left the ground, or nearly met it, or hardly did.
  {
    const S doubtful(wish_.doubtful_force);
    M inside;
    const S valley = extreme(-1.0, n0, nm, n1, 0.25, inside);
    const M nearly_left = counted && touches && !lifts && inside && valley < doubtful;
    const S crest = extreme(1.0, a0, am, a1, 0.25, inside);
    const M nearly_met = counted && !touches && !meets && inside && crest > -doubtful;
    const S hop = S::load(hop_lowest_);
    select(counted && !touches, min(hop, min(nm, n1)), hop).store(hop_lowest_);
    const S ground = S::load(ground_highest_);
    select(counted && touches, max(ground, max(nm, n1)), ground).store(ground_highest_);
    const S doubt = S::load(doubt_);
    select(nearly_left || nearly_met, S(1.0), doubt).store(doubt_);
  }

  // Grazes of the rim, which is looked at where steps end: it was nearly struck or hardly, or left
  // or met inside a step alone.
  {
    const S rim = rider_.tyre.rim_depth;
    const S d0 = begin.seen[kDeflection];
    const S dm = middle.seen[kDeflection];
    const S d1 = end.seen[kDeflection];
    const M deep = counted && max(max(d0, dm), d1) > kNearPeak * rim;
    if (any(deep)) {
      const S near(wish_.doubtful_travel);
      M tops;
      const S crest = extreme(1.0, d0, dm, d1, 0.25, tops) - rim;
      M dips_inside;
      const S valley = extreme(-1.0, d0, dm, d1, 0.25, dips_inside) - rim;
      const M over = tops && crest > -near && (crest < near || max(d0, d1) < rim);
      const M under = dips_inside && valley < near && (valley > -near || min(d0, d1) > rim);
      select(deep && (over || under), S(1.0), S::load(rim_doubt_)).store(rim_doubt_);
    }
  }

  if (samples_) sample(counted, h, y0, k[0], y1, k[4], begin, middle, end);

  // What only some lanes have to look at.
  const S x1 = y1[kTravel];
  const M in_bumper = rider_.bumper.depth(x1) > S(0.0);
  const M in_metal = rider_.metal.depth(x1) > S(0.0);
  const M in_top_out = rider_.top_out.depth(x1) > S(0.0);
  const M on_rim = end.seen[kDeflection] > rider_.tyre.rim_depth;
  const M bumps = counted && in_bumper && !load_mask(in_bumper_);
  const M knocks = counted && in_metal && !load_mask(in_metal_);
  const M tops = counted && in_top_out && !load_mask(in_top_out_);
  const M strikes = counted && on_rim && !load_mask(on_rim_);
  select(counted, one_if(in_bumper), S::load(in_bumper_)).store(in_bumper_);
  select(counted, one_if(in_metal), S::load(in_metal_)).store(in_metal_);
  select(counted, one_if(in_top_out), S::load(in_top_out_)).store(in_top_out_);
  select(counted, one_if(on_rim), S::load(on_rim_)).store(on_rim_);

  const M turns = (accepted && turned) || (good && turned_before);
  const M lands = (accepted && meets) || (good && met_before);
  const M leaves = (accepted && lifts) || (good && lifted_before);
  const M onward = speed + h * (acceleration + 0.5 * h * jerk) > v1 * rider_.cosine;
  const S past = select(onward, wheel_at_end - S::load(length_), -wheel_at_end);
  const M goes_on = counted && past > -near_kink;
  const M at_stop = counted && stops;
  const S waits = select(counted || !alive, S(0.0), S::load(waits_) + S(1.0));
  waits.store(waits_);
  (S::load(steps_) + one_if(counted)).store(steps_);
  (S::load(tries_) + S(1.0)).store(tries_);
  const M stuck = (alive && !good && h < S(kShortestStep) && !stale) || waits > S(kMostWaits);
  const M lost = alive && stale && !good;
  const M other = bumps || knocks || tops || strikes || at_stop || stuck || lost;
  const std::uint32_t onward_bits = lane_bits(onward);
  alignas(64) Row wheel_row;
  wheel_at_end.store(wheel_row);
  alignas(64) Row near_row;
  near_kink.store(near_row);
  const auto next_piece = [&](std::size_t l) {
    const std::vector<LanePiece>& path = *rides_[ride_[l]].path;
    const double wheel = piece_start_[l] + static_cast<double>(wheel_row[l]);
    const auto near = static_cast<double>(near_row[l]);
    std::size_t next = piece_[l];
    bool kink = false;
    if ((onward_bits >> l & 1) != 0) {
      while (!kink && next + 1 < path.size() && wheel > path[next + 1].start - near) {
        kink = path[++next].kink;
      }
    } else {
      while (!kink && next > 0 && wheel < path[next].start + near) kink = path[next--].kink;
    }
    if (kink) {
      stale_[l] = 1;
      // A kink that lifts the tyre's load just before it would have been nothing.
      const auto load = static_cast<double>(seen_[kTyreFree][l]);
      if (touches_[l] > 0.5F && load < wish_.doubtful_force) doubt_[l] = 1;
    }
    set_piece(l, next);
  };
  std::uint32_t noted = lane_bits((turns || lands || leaves || other || stale) && alive);
  const std::uint32_t going_on = lane_bits(goes_on);
  for (std::uint32_t bits = going_on & ~noted; bits != 0; bits &= bits - 1) {
    next_piece(static_cast<std::size_t>(std::countr_zero(bits)));
  }
  if (noted == 0) return;

  const struct {
    std::uint32_t turns, lands, leaves, going_on, bumps, knocks, tops, strikes, stops, gives_up,
        looked;
  } in = {lane_bits(turns),
          lane_bits(lands),
          lane_bits(leaves),
          going_on,
          lane_bits(bumps),
          lane_bits(knocks),
          lane_bits(tops),
          lane_bits(strikes),
          lane_bits(at_stop),
          lane_bits(stuck || lost),
          lane_bits(stale && accepted)};
  alignas(64) Row x0_row;
  alignas(64) Row v0_row;
  y0[kTravel].store(x0_row);
  v0.store(v0_row);
  for (; noted != 0; noted &= noted - 1) {
    const auto l = static_cast<std::size_t>(std::countr_zero(noted));
    const auto is = [l](std::uint32_t bits) { return (bits >> l & 1) != 0; };
    LaneOutcome& outcome = outcomes_[ride_[l]];
    const Rider& rider = *rides_[ride_[l]].rider;
    Record& record = outcome.record;
    if (is(in.looked)) {
      stale_[l] = 0;
      if (samples_ && next_sample_[l] == 0) sample_start(l);
      if (time_[l] == 0.0) {
        const Real firsts[] = {state_[kTravel][l], seen_[kFork][l],   seen_[kTyre][l],
                               seen_[kHand][l],    seen_[kSprung][l], seen_[kDamper][l],
                               seen_[kAxle][l]};
        for (std::size_t p = 0; p < std::size(firsts); ++p) {
          const Real size = p > 2 && p < 6 && firsts[p] < 0 ? -firsts[p] : firsts[p];
          if (size > peak_[p][l]) peak_[p][l] = size;
        }
      }
    }
    if (is(in.gives_up)) {
      outcome.doubts |= kDoubtStuck;
      finish(l);
      continue;
    }
    const auto x = static_cast<double>(state_[kTravel][l]);
    if (is(in.turns)) {
      const double bumper = x - rider.bumper.start;
      const double metal = x - rider.metal.limit;
      const double near = wish_.doubtful_travel;
      if ((bumper < near && bumper > -near) || (metal < near && metal > -near)) {
        outcome.doubts |= kDoubtContact;
      }
      compresses_[l] = compresses_[l] > 0.5F ? 0 : 1;
    }
    if (is(in.bumps)) ++record.bumper_contacts;
    if (is(in.tops)) ++record.top_outs;
    if (is(in.strikes)) ++record.rim_strikes;
    if (is(in.knocks)) {
      // Speed at the limit of the travel: even acceleration between the ends of the step.
      const auto from = static_cast<double>(x0_row[l]);
      const auto slow = static_cast<double>(v0_row[l]);
      const auto fast = static_cast<double>(state_[kTravelSpeed][l]);
      const double share = (rider.metal.limit - from) / (x - from);
      record.metal.push_back(
          {time_[l], std::sqrt(slow * slow + share * (fast * fast - slow * slow))});
    }
    if (is(in.leaves)) {
      touches_[l] = 0;
      ++record.lift_offs;
      airborne_since_[l] = time_[l];
      if (static_cast<double>(ground_highest_[l]) < wish_.doubtful_force) {
        outcome.doubts |= kDoubtLiftOff;
      }
      hop_lowest_[l] = 0;
    }
    if (is(in.lands)) {
      touches_[l] = 1;
      record.airborne_time += time_[l] - airborne_since_[l];
      if (static_cast<double>(hop_lowest_[l]) > -wish_.doubtful_force) {
        outcome.doubts |= kDoubtLiftOff;
      }
      ground_highest_[l] = 0;
      stale_[l] = 1;
    }
    if (is(in.going_on)) next_piece(l);
    if (is(in.stops)) {
      if (!(time_[l] < rides_[ride_[l]].line->duration())) {
        finish(l);
      } else {
        set_phase(l);
      }
    }
  }
}

}  // namespace plunge
