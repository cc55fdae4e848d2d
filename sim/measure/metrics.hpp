// The numbers that sum up a ride and a fork, each defined once, here and in its long_name.
//
// Maxima come from the integrator's own evaluations in every step, between samples too. Means,
// shares, percentiles and weighted values come from the samples.
//
//   dive             travel in a braking (or cornering) event less the mean travel over the 0.5 s
//                    before it; steady: mean over the second half of the time at full effort;
//                    settle: time from full effort until the travel stays within 10 % of the steady
//                    dive, at least 1 mm. Given for the event with the largest dive.
//   packing          mean travel over the last pitch of a bump train less that over the first
//   metal energy     m_x v^2/2, m_x = m_u (m_s + m_u cos^2)/(m_s + m_u): kinetic energy of the
//                    closing fork as metal meets metal
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
#include "sim/measure/result.hpp"
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

struct Closing {
  double time = 0.0;
  double speed = 0.0;
};

// What a ride recorded besides its samples.
struct Record {
  Peaks peaks;
  std::vector<Closing> metal;  // closing of metal on metal
  int bumper_contacts = 0;
  int lift_offs = 0;
  int rim_strikes = 0;
  int top_outs = 0;
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
};

// What braking or cornering does to the travel.
struct Dive {
  double largest = 0.0;    // [m]
  double steady = 0.0;     // [m]
  double settle = kUnset;  // [s]
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
  std::optional<double> packing() const;
  // A percentile of the speeds above kLeastSpeed of one direction, positive; sign: 1 compression,
  // -1 rebound; 0 where the fork never moves that way.
  double speed_percentile(double sign, double percent);

 private:
  std::optional<std::optional<Dive>> brake_;
  std::optional<std::optional<Dive>> corner_;
  std::optional<Histogram> tenths_;
  std::optional<double> sag_;
  std::optional<TravelBand> sag_band_;
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
