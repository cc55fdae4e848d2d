// The numbers that sum up a ride and a fork, each defined once, here and in its long_name.
//
// Maxima come from the integrator's own evaluations in every step, between samples too. Means,
// shares, percentiles and weighted values come from the samples.
//
//   dive             travel in a braking (or cornering) event less the mean travel over the 0.5 s
//                    before it; steady: mean over the second half of the time at full effort;
//                    settle: time from full effort until the travel stays within 10 % of the steady
//                    dive, at least 1 mm. Given for the event with the largest dive; after
//                    braking also how long, from when the brake is off, the travel takes to stay
//                    within as much of where it then rides: the mean over the last 0.5 s
//                    (stroke.hpp) before the next event or the end, of at most kRecovery.
//   packing          mean travel over the last pitch of a bump train less that over the first
//   metal            closing speed and energy m_x v^2/2 of the hardest contact, and the band that
//                    unknown stiffnesses leave of its force (metal_hit.hpp)
//   reserve          energy that springs and bumper could take up between the deepest travel and
//                    metal, and as height of a drop that holds the deepest travel (reserve.hpp)
//   return           from the deepest travel until the fork is first back at its ride height, the
//                    travel with which the ride begins, within kBack of the travel; how far past
//                    the ride height it then extends (stroke.hpp)
//   ride height loss mean travel over rough ground less the ride height; what is ridden between the
//                    begin and the end of a braking is left out. Rough are rough ground, measured
//                    profiles and trains of bumps, and bumps that stand less than kBumpGap apart
//                    from one another and from these, where there are kBumpTrain or more.
//   strokes past 90  rises past 90 % of travel from below 85 % (stroke.hpp), over the time ridden
//   light tyre       share of the time on the ground with less than kLightTyre of the tyre force at
//                    rest on level ground
//   hand, body       ISO 5349-1:2001 W_h rms and ISO 2631-1:1997 W_k vibration dose of the vertical
//                    acceleration of the sprung mass, at the bar; from its speed, because samples
//                    of the acceleration itself are aliased where metal meets metal (weighting.hpp)
//   fork speeds      percentiles over the time in which the fork is faster than kLeastSpeed in one
//                    direction, samples joined by straight lines
//   tyre variation   rms about the mean over mean of the vertical tyre force
// Sources are named where each building block is defined (statistics.hpp, weighting.hpp,
// statics.hpp); the choice of windows is ours.
#pragma once

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "models/setup/assemble.hpp"
#include "models/setup/ride_line.hpp"
#include "models/setup/statics.hpp"
#include "sim/measure/agreement.hpp"
#include "sim/measure/label.hpp"
#include "sim/measure/metal_hit.hpp"
#include "sim/measure/result.hpp"
#include "sim/measure/stroke.hpp"
#include "sim/numerics/statistics.hpp"

namespace plunge {

// Largest values among the integrator's evaluations.
struct Peaks {
  double travel = 0.0;
  double fork_force = 0.0;
  double ground_force = 0.0;
  double hand_force = 0.0;           // size
  double sprung_acceleration = 0.0;  // size
  double damper_force = 0.0;         // size
  double axle_force = 0.0;
};

// Slower than this a fork counts as standing still [m/s]. A fork at rest creeps by rounding, whose
// sign means nothing, and one that sticks moves by its friction's bristles alone, some 10 um: this
// is below the slowest damper movement that anyone sets up for, 10 mm/s, and far above both.
// Chosen.
inline constexpr double kLeastSpeed = 1e-3;

// The deepest stroke is over within so much of the travel of the ride height [1]: chosen, what a
// slow rebound creeps at last.
inline constexpr double kBack = 0.05;

// A tyre with less than this share of its load at rest no longer steers or brakes [1]: chosen.
inline constexpr double kLightTyre = 0.3;
inline constexpr double kBumpGap = 2.0;      // chosen, a wheelbase and a half [m]
inline constexpr double kBumpTrain = 3.0;    // chosen: fewer don't tell of a ride height
inline constexpr double kLeastRough = 0.25;  // time over rough ground that tells of it: chosen [s]
inline constexpr double kRecovery = 3.0;     // longest look at a fork after braking: chosen [s]
inline constexpr double kDropStroke = 0.5;  // after a free fall a drop's stroke is over: chosen [s]

// What a ride recorded besides its samples.
struct Record {
  Peaks peaks;
  std::vector<Closing> metal;  // closing of metal on metal
  int bumper_contacts = 0;
  int lift_offs = 0;
  int rim_strikes = 0;
  int top_outs = 0;
  double start_travel = 0.0;     // in equilibrium with the speed and the grade of the start [m]
  double airborne_time = 0.0;    // [s]
  double end_time = 0.0;         // [s]
  double damper_work = 0.0;      // [J]
  double brake_grip_time = 0.0;  // grip limits the front wheel while an event brakes [s]
  double brake_air_time = 0.0;   // the front wheel is off the ground while an event brakes [s]
};

// The traces that metrics are drawn from, sampled at one rate from time 0; those that no wanted
// metric needs may be empty.
struct Traces {
  double rate = 0.0;  // [Hz]
  std::span<const double> travel;
  std::span<const double> travel_speed;
  std::span<const double> sprung_speed;
  std::span<const double> hand_force;
  std::span<const double> ground_force;
};

// What a metric is drawn from besides the record: traces, counts that must be right where a graze
// may be one more or one less, a rider who loads the fork.
enum Need : unsigned {
  kNeedsTravel = 1,
  kNeedsTravelSpeed = 2,
  kNeedsSprungSpeed = 4,
  kNeedsHandForce = 8,
  kNeedsGroundForce = 16,
  kNeedsLiftOffs = 32,
  kNeedsContacts = 64,
  kNeedsRider = 128,
  kNeedsRimStrikes = 256,
  kNeedsTravelLines = 512,  // time past lines of travel, near which a fork may rest
  // Strokes that count from a line on, or of which the deepest is meant: there may be others that
  // are as deep but for a micron.
  kNeedsStrokes = 1024,
};

// What braking or cornering does to the travel.
struct Dive {
  double largest = 0.0;    // [m]
  double steady = 0.0;     // [m]
  double settle = kUnset;  // [s]
  double after = kUnset;   // settles so long after it [s]
};

// A ride, as metrics are drawn from it; what several of them share is worked out once. It refers to
// what it was made from.
class Ridden {
 public:
  Ridden(const Rider& a_rider, const RideLine& a_line, const Setup& a_setup,
         const Traces& the_traces, const Record& a_record)
      : rider(a_rider), line(a_line), setup(a_setup), traces(the_traces), record(a_record) {}

  const Rider& rider;
  const RideLine& line;
  const Setup& setup;
  const Traces traces;
  const Record& record;

  // The largest dive among the events of one kind; none: no such event was ridden.
  const std::optional<Dive>& dive(EventKind kind);
  const Histogram& tenths();
  double sag();
  const TravelBand& sag_band();
  // Where the fork rides when nothing disturbs it: in equilibrium with the speed and the grade at
  // which the ride begins.
  double ride_height() const { return record.start_travel; }
  const std::optional<StrokeReturn>& stroke_return();
  std::optional<double> packing() const;
  // Mean travel over rough ground outside of braking, less the ride height.
  std::optional<double> ride_height_loss();
  // Of metal on metal the one with the largest closing speed; null: none.
  const Closing* hardest_hit() const;
  const std::optional<ForceBand>& hit_force();
  // Whether the deepest travel is that of a landing.
  bool deepest_after_drop() const;
  // A percentile of the speeds above kLeastSpeed of one direction, positive; sign: 1 compression,
  // -1 rebound; 0 where the fork never moves that way.
  double speed_percentile(double sign, double percent);

 private:
  std::optional<std::optional<Dive>> brake_;
  std::optional<std::optional<Dive>> corner_;
  std::optional<Histogram> tenths_;
  std::optional<double> sag_;
  std::optional<TravelBand> sag_band_;
  std::optional<std::optional<StrokeReturn>> return_;
  std::optional<std::optional<ForceBand>> hit_;
  std::optional<TimesAbove> compression_;
  std::optional<TimesAbove> rebound_;
};

// The questions of a workshop, in the order in which people read the answers.
enum class Group { rest, travel, forces, grip, events, speed };
std::string_view heading(Group group);

// Which way a setting is better as far as this number goes.
enum class Sense { less, more, neither };

// Where a metric is shown.
enum Shown : unsigned {
  kWithOneRide = 1,    // by `ride`, for a ride alone
  kSideBySide = 2,     // by `ride`, a column for rides side by side
  kInComparisons = 4,  // by `compare`
  kInUsualSweeps = 8,  // by a sweep whose plan names no metrics
};

// All about one metric, and its definition. `value` is nothing where it does not apply: dive
// without braking.
struct MetricRow : Label {
  Group group = Group::travel;
  unsigned shown = 0;  // of Shown
  Sense sense = Sense::neither;
  Agreement agreement;  // of the lanes with the adaptive path
  unsigned needs = 0;   // of Need
  std::function<std::optional<double>(Ridden&)> value;
};

// All metrics, in print order.
const std::vector<MetricRow>& metric_rows();

// The row of that name, or null.
const MetricRow* find_metric(std::string_view name);

// Every metric that applies.
std::vector<Metric> metrics_of(Ridden& ridden);

// Those of the fork at rest, which need no ride.
std::vector<Metric> static_metrics(const Rider& rider, const Setup& setup);

// The values of one channel. Throws std::out_of_range for a name that is not there.
const std::vector<double>& channel(const Result& result, const std::string& name);

}  // namespace plunge
