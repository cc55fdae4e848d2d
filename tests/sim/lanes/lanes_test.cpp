#include "sim/lanes/lanes.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <string>
#include <vector>

#include "tests/grade_starts.hpp"
#include "tests/lane_rides.hpp"
#include "tests/support.hpp"

namespace plunge::lanes_test {
namespace {

TEST(Lanes, APathInPiecesIsThePath) {
  for (const char* name : {"rock-garden", "drop-to-landing", "descent"}) {
    SCOPED_TRACE(name);
    const Prepared prepared = prepare(shipped(name));
    const WheelPath& path = prepared.ground.path;
    const std::vector<WheelPiece> pieces = lane_pieces(path);
    double height_off = 0.0;
    double slope_off = 0.0;
    std::size_t kinks = 0;
    std::size_t free = 0;  // of a kink
    std::size_t overlapping = 0;
    for (std::size_t i = 0; i + 1 < pieces.size(); ++i) {
      const WheelPiece& piece = pieces[i];
      const auto reach = static_cast<double>(piece.reach);
      EXPECT_NEAR(piece.start + static_cast<double>(piece.length), pieces[i + 1].start, 1e-7);
      EXPECT_GE(piece.reach, piece.length);
      kinks += piece.kink ? 1 : 0;
      free += pieces[i + 1].kink ? 0 : 1;
      overlapping += piece.reach > 1.1F * piece.length ? 1 : 0;
      // All of its reach stands for the path up to a kink: here, just before it.
      const Stretch& stretch = path.stretches()[path.stretch_at(piece.start + 1e-7)];
      EXPECT_LE(piece.start + reach, stretch.end + 1e-7);
      for (int part = 0; part <= 20; ++part) {
        const double u = reach * part / 20.0;
        double height = 0.0;
        double slope = 0.0;
        for (std::size_t c = 5; c-- > 0;) {
          height = (height + static_cast<double>(piece.slope[c])) * u;
          slope = slope * u + static_cast<double>(c + 1) * static_cast<double>(piece.slope[c]);
        }
        const PathPoint<double> point = path.at(piece.start + u, stretch);
        height_off = std::max(height_off, std::abs(piece.height + height - point.height));
        slope_off = std::max(slope_off, std::abs(slope - point.slope));
      }
    }
    // The fit was looked at in a few places of each piece; single numbers take a little more.
    EXPECT_LT(height_off, 1.2 * kLaneFitHeight);
    EXPECT_LT(slope_off, 1.5 * kLaneFitSlope);
    EXPECT_GT(height_off, 0.1 * kLaneFitHeight);  // or nothing was joined
    // Curvature that jumps, as where a wheel pivots about an edge, can not be joined.
    EXPECT_GT(static_cast<double>(overlapping), 0.4 * static_cast<double>(free));
    EXPECT_EQ(kinks, path.stretches().size() - 1);
  }
}

TEST(Lanes, ALawInPiecesIsTheLaw) {
  const plunge::Setup hydraulic = shipped("rock-garden");
  for (const DamperSetup* damper : {&hydraulic.fork.compression, &hydraulic.fork.rebound}) {
    const DamperLaw<double> law = make_damper(*damper, hydraulic.fork.oil);
    const LaneLaw lanes = lane_law(law);
    ASSERT_EQ(lanes.first.size(), kLaneBuckets);
    // No search runs past the end, whatever a trial step that is thrown away has made of the speed.
    EXPECT_FALSE(std::numeric_limits<float>::infinity() >= lanes.pieces.back().start);
    for (double v = 1e-5; v < 15.0; v *= 1.07) {
      std::size_t piece = 0;
      while (static_cast<double>(lanes.pieces[piece + 1].start) <= v) ++piece;
      const LawPiece& p = lanes.pieces[piece];
      const double u = v - static_cast<double>(p.start);
      const double force = static_cast<double>(p.force) +
                           u * (static_cast<double>(p.slope) +
                                u * (static_cast<double>(p.c2) + u * static_cast<double>(p.c3)));
      EXPECT_NEAR(force, law.force(v), 2e-6 * law.force(v) + 1e-6) << v;
    }
  }
}

TEST(Lanes, ALaneRidesAsTheAdaptivePathDoes) {
  // Every instruction set, every short scene, trace against trace.
  LaneWish wish;
  wish.tolerance = 1e-5;
  for (bool& channel : wish.channels) channel = true;
  for (const char* scene : {"braking-bumps", "corner", "drop-to-flat", "drop-to-landing", "g-out",
                            "rock-garden", "roots", "square-edge"}) {
    const plunge::Setup setup = shipped(scene);
    const Kept kept(setup);
    const Result result = run_ride(setup);
    wish.sample_rate = setup.ride.sample_rate;
    for (const Way& way : ways_here()) {
      SCOPED_TRACE(std::string(scene) + ", " + way.name);
      const LaneRide lane = kept.lane();
      LaneOutcome outcome;
      way.ride({&lane, 1}, wish, {&outcome, 1});
      EXPECT_EQ(outcome.doubts & kDoubtStuck, 0u);
      const std::vector<double>& travel = channel(result, "travel");
      ASSERT_EQ(outcome.samples[kLaneTravel].size(), travel.size());
      const double worst = largest_difference(outcome.samples[kLaneTravel], travel);
      EXPECT_LT(worst, 0.05e-3);
      const auto near = [&](double got, const char* name) {
        for (const Metric& metric : result.metrics) {
          if (metric.name != name) continue;
          EXPECT_NEAR(got, metric.value, 0.005 * metric.value) << name;
        }
      };
      const Record& record = outcome.record;
      near(record.peaks.travel, "travel_max");
      near(record.peaks.fork_force, "fork_force_max");
      near(record.peaks.ground_force, "ground_force_max");
      near(record.peaks.hand_force, "hand_force_max");
      near(record.peaks.sprung_acceleration, "sprung_acceleration_max");
      near(record.peaks.damper_force, "damper_force_max");
      near(record.damper_work / record.end_time, "damper_power");
      if (record.airborne_time > 0.1)
        near(record.airborne_time / record.end_time, "time_off_ground");
    }
  }
}

TEST(Lanes, ARideIsTheSameBesideAnyNeighbours) {
  // Bit for bit: alone, in company, early or late in the queue.
  LaneWish wish;
  wish.tolerance = 1e-5;
  wish.sample_rate = 500.0;
  wish.channels[kLaneTravel] = wish.channels[kLaneGroundForce] = true;
  std::vector<Kept> kept;
  for (int i = 0; i < 40; ++i) {
    // No two with one damper: what a lane remembers of its last ride's would show.
    plunge::Setup setup = shipped("roots", 0.8 + 0.01 * i);
    setup.fork.oil.temperature += i;
    kept.emplace_back(setup);
    ASSERT_TRUE(kept.back().tabled);
  }
  for (const Way& way : ways_here()) {
    SCOPED_TRACE(way.name);
    std::vector<LaneRide> lanes;
    for (const Kept& one : kept) lanes.push_back(one.lane());
    std::vector<LaneOutcome> together(lanes.size());
    way.ride(lanes, wish, together);
    for (const std::size_t i : {0u, 7u, 39u}) {
      LaneOutcome alone;
      way.ride({&lanes[i], 1}, wish, {&alone, 1});
      EXPECT_EQ(alone.samples[kLaneTravel], together[i].samples[kLaneTravel]);
      EXPECT_EQ(alone.samples[kLaneGroundForce], together[i].samples[kLaneGroundForce]);
      EXPECT_EQ(alone.record.peaks.fork_force, together[i].record.peaks.fork_force);
      EXPECT_EQ(alone.record.damper_work, together[i].record.damper_work);
      EXPECT_EQ(alone.doubts, together[i].doubts);
    }
  }
}

TEST(Lanes, OnAGradeNothingMovesBeforeSomethingHappens) {
  // As the adaptive path's test of that name: by hand nothing accelerates. What a lane moves is the
  // rounding of single precision: 12 m of 15 deg climb 3.2 m, where floats lie 0.24 um apart.
  for (const GradeStart& start : grade_starts()) {
    const Kept kept(start.setup);
    const LaneRide ride = kept.lane();
    LaneWish wish;
    wish.sample_rate = 1000.0;
    wish.channels[kLaneTravel] = true;
    for (const Way& way : ways_here()) {
      SCOPED_TRACE(start.name + ", " + way.name);
      LaneOutcome outcome;
      way.ride({&ride, 1}, wish, {&outcome, 1});
      const std::vector<float>& travel = outcome.samples[kLaneTravel];
      const auto still = static_cast<std::size_t>(start.undisturbed * wish.sample_rate);
      ASSERT_GT(travel.size(), still + 200);
      double most = 0.0;
      double later = 0.0;
      for (std::size_t k = 0; k < travel.size(); ++k) {
        double& largest = k < still ? most : later;
        largest = std::max(largest, std::abs(static_cast<double>(travel[k] - travel[0])));
      }
      EXPECT_LE(most, 5e-7);
      EXPECT_GT(later, 5e-3);  // the bump
    }
  }
}

TEST(Lanes, EveryMeetingOfMetalIsRecorded) {
  // A fork whose metal meets far too early, hard and without give, over bumps: more often than a
  // lane holds at a time.
  const plunge::Setup setup = shipped("braking-bumps");
  Kept kept(setup);
  Rider& rider = kept.prepared.rider;
  rider.metal.limit = 0.3 * rider.travel;
  rider.metal.give = 0.0;
  const Result result = run_ride(setup, kept.prepared);
  const auto contacts = std::ranges::find(result.metrics, "metal_contacts", &Metric::name);
  const auto fastest = std::ranges::find(result.metrics, "metal_speed_max", &Metric::name);
  ASSERT_NE(contacts, result.metrics.end());
  ASSERT_NE(fastest, result.metrics.end());
  ASSERT_GT(contacts->value, 2 * 16);
  LaneWish wish;
  wish.tolerance = 1e-5;
  for (const Way& way : ways_here()) {
    SCOPED_TRACE(way.name);
    const LaneRide lane = kept.lane();
    LaneOutcome outcome;
    way.ride({&lane, 1}, wish, {&outcome, 1});
    const std::vector<Closing>& metal = outcome.record.metal;
    EXPECT_EQ(static_cast<double>(metal.size()), contacts->value);
    EXPECT_TRUE(std::ranges::is_sorted(metal, {}, &Closing::time));
    const double speed = std::ranges::max(metal, {}, &Closing::speed).speed;
    EXPECT_NEAR(speed, fastest->value, 0.005 * fastest->value);
  }
}

TEST(Lanes, EverySampleIsThere) {
  // Rides that end on a sample, at the lowest and the highest rates: as many as the adaptive path.
  for (const double rate : {20.0, 1e3, 48e3, 100e3}) {
    for (const double duration : {0.1, 0.25, 0.35, 0.7}) {
      SCOPED_TRACE(rate);
      plunge::Setup setup = shipped("square-edge");
      setup.ride.sample_rate = rate;
      setup.ride.duration = duration;
      const Kept kept(setup);
      LaneWish wish;
      wish.tolerance = 1e-4;
      wish.sample_rate = rate;
      wish.channels[kLaneTravel] = true;
      for (const Way& way : ways_here()) {
        const LaneRide lane = kept.lane();
        LaneOutcome outcome;
        way.ride({&lane, 1}, wish, {&outcome, 1});
        EXPECT_EQ(outcome.samples[kLaneTravel].size(),
                  static_cast<std::size_t>(std::floor(duration * rate + 1e-6)) + 1)
            << way.name;
      }
    }
  }
}

TEST(Lanes, AWheelThatRollsBackStaysOnItsPath) {
  // A slow landing: the axle goes backward over the ground faster than the bike goes forward, and
  // to and fro over the kink at the edge of the landing.
  for (const double speed : {0.2, 0.5, 0.9}) {
    SCOPED_TRACE(speed);
    plunge::Setup setup = shipped("drop-to-landing");
    setup.ride.speed = speed;
    setup.events.clear();
    const Result result = run_ride(setup);
    const std::vector<double>& travel_speed = channel(result, "travel_speed");
    const double fastest = *std::max_element(travel_speed.begin(), travel_speed.end());
    ASSERT_GT(fastest * std::cos(setup.bike.head_angle), speed);
    const Kept kept(setup);
    LaneWish wish;
    wish.tolerance = 1e-5;
    wish.sample_rate = setup.ride.sample_rate;
    wish.channels[kLaneTravel] = true;
    const std::vector<double>& travel = channel(result, "travel");
    for (const Way& way : ways_here()) {
      const LaneRide lane = kept.lane();
      LaneOutcome outcome;
      way.ride({&lane, 1}, wish, {&outcome, 1});
      EXPECT_EQ(outcome.doubts & kDoubtStuck, 0u);
      ASSERT_EQ(outcome.samples[kLaneTravel].size(), travel.size());
      const double worst = largest_difference(outcome.samples[kLaneTravel], travel);
      EXPECT_LT(worst, 0.1e-3);
    }
  }
}

TEST(Lanes, ATighterToleranceComesNearer) {
  // To the adaptive path at 1e-9, on rough ground: the error falls until the floats' rounding.
  plunge::Setup setup = shipped("corner");
  const Kept kept(setup);
  setup.ride.tolerance = 1e-9;
  const Result result = run_ride(setup);
  const std::vector<double>& travel = channel(result, "travel");
  double before = 1.0;
  for (const double tolerance : {1e-3, 1e-4, 1e-5}) {
    LaneWish wish;
    wish.tolerance = tolerance;
    wish.sample_rate = setup.ride.sample_rate;
    wish.channels[kLaneTravel] = true;
    const LaneRide lane = kept.lane();
    LaneOutcome outcome;
    ride_lanes_portable({&lane, 1}, wish, {&outcome, 1});
    const double worst = largest_difference(outcome.samples[kLaneTravel], travel);
    EXPECT_LT(worst, 0.9 * before);
    before = worst;
  }
  EXPECT_LT(before, 0.02e-3);
}

}  // namespace
}  // namespace plunge::lanes_test
