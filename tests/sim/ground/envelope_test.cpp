#include "sim/ground/envelope.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <memory>
#include <string>
#include <utility>

#include "models/laws/constants.hpp"
#include "sim/ground/rough.hpp"

namespace plunge::envelope_test {
namespace {

constexpr double kRadius = 0.35;
constexpr double kSteepest = 4.0;

// A curve with level ground on both sides of it, at the heights of its ends.
GroundCurves with_level_sides(std::unique_ptr<const GroundCurve> curve) {
  const double begin = curve->begin();
  const double end = curve->end();
  const double left = curve->at(begin).height;
  const double right = curve->at(end).height;
  GroundCurves ground;
  ground.push_back(std::make_unique<LineCurve>(-kInfinity, begin, begin, left, 0.0));
  ground.push_back(std::move(curve));
  ground.push_back(std::make_unique<LineCurve>(end, kInfinity, end, right, 0.0));
  return ground;
}

// Closed form: where the circle touches the ground at c, at angle theta, its centre is at
// c - R sin(theta) and R cos(theta) above. Taken along a bump steep enough to matter.
TEST(CirclePath, FitsTheOffsetCurveWithinItsTolerance) {
  const SineCurve bump(2.0, 0.9, 0.0, 0.2);
  const WheelPath path = circle_path(
      with_level_sides(std::make_unique<SineCurve>(2.0, 0.9, 0.0, 0.2)), kRadius, kSteepest);
  double steepest = 0.0;
  for (double c = 2.13; c < 2.77; c += 0.00137) {
    const PathPoint<double> y = bump.at(c);
    const double cosine = 1.0 / std::sqrt(1.0 + y.slope * y.slope);
    const PathPoint<double> h = path.at(c - kRadius * y.slope * cosine);
    EXPECT_NEAR(h.height, y.height + kRadius * (cosine - 1.0), 1.1 * kFitHeight);
    EXPECT_NEAR(h.slope, y.slope, 1.1 * kFitSlope);
    steepest = std::max(steepest, y.slope);
  }
  EXPECT_GT(steepest, 0.6);
}

// Closed form: rolling over a crest of radius r the centre moves on a circle of radius r + R, in a
// hollow of radius r > R on one of r - R.
TEST(CirclePath, RollsOnCircles) {
  for (const double r : {0.5, 2.0, -0.5, -2.0}) {
    const WheelPath path = circle_path(
        with_level_sides(std::make_unique<ArcCurve>(1.0, 1.4, 1.2, 0.0, r)), kRadius, kSteepest);
    const double offset = r + kRadius;  // signed
    for (const double s : {1.15, 1.2, 1.22}) {
      const double x = (s - 1.2) / offset;
      EXPECT_NEAR(path.at(s).height, offset * (std::sqrt(1.0 - x * x) - 1.0), kFitHeight) << r;
    }
    EXPECT_NEAR(path.at(1.2).curvature, -1.0 / offset, 1e-3) << r;
  }
}

// By hand: a hollow of just the wheel's own radius, 0.4 wide, is touched all over while the centre
// stands at its lowest; on either side the wheel pivots about an end of it. So one kink, of slopes
// -+0.2/sqrt(R^2 - 0.04).
TEST(CirclePath, HollowOfTheWheelsOwnRadiusIsOneKink) {
  for (const double r : {kRadius, kRadius * (1.0 - 1e-9), kRadius * (1.0 + 1e-12)}) {
    const WheelPath path = circle_path(
        with_level_sides(std::make_unique<ArcCurve>(1.0, 1.4, 1.2, 0.0, -r)), kRadius, kSteepest);
    ASSERT_EQ(path.stretches().size(), 2u);
    EXPECT_NEAR(path.stretches()[0].end, 1.2, 1e-9);
    EXPECT_NEAR(path.at(1.2).height, 0.0, 2e-8);
    EXPECT_NEAR(path.at(1.2).slope, 0.2 / std::sqrt(kRadius * kRadius - 0.04), 1e-6);
  }
}

// The radius of curvature at the bottom of a cosine hollow is l^2/(2 pi^2 H) (closed form). Passing
// from wider to tighter than the wheel the kink at its bottom appears and grows from nothing.
TEST(CirclePath, KinkGrowsFromNothingAsAHollowTightens) {
  const double height = 0.1;
  double last_jump = 0.0;
  for (const double ratio : {1.05, 1.001, 1.0, 0.9999, 0.99, 0.9, 0.8}) {
    const double length = kPi * std::sqrt(2.0 * height * kRadius * ratio);
    const WheelPath path =
        circle_path(with_level_sides(std::make_unique<CosineCurve>(1.0, length, 0.0, -height)),
                    kRadius, kSteepest);
    const double bottom = 1.0 + 0.5 * length;
    const double jump = path.at(bottom + 1e-9).slope - path.at(bottom - 1e-9).slope;
    EXPECT_GE(path.at(bottom).height, -height - 2.0 * kFitHeight);
    EXPECT_GE(jump, last_jump - 2.0 * kFitSlope) << ratio;
    if (ratio > 1.0) {
      EXPECT_NEAR(jump, 0.0, 1e-4) << ratio;
    }
    last_jump = jump;
  }
  EXPECT_GT(last_jump, 0.1);
}

// Rough ground of every class, from gravel to boulders: pieces join, the path turns up at every
// kink, and a step that overshoots a kink by 1 cm does not meet nonsense.
TEST(CirclePath, HoldsTogetherOnRoughGround) {
  std::size_t kinks = 0;
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    const double density = 16e-6 * std::pow(2.0, static_cast<double>(seed % 12));
    const double shortest = 0.025 * std::pow(2.0, static_cast<double>(seed % 5));
    RoughGround rough = rough_ground({density, 10.0, shortest, 1.0, seed}, 20.0);
    const WheelPath path = circle_path(
        with_level_sides(std::make_unique<NodeCurve>(1.0, 0.0, rough.step, std::move(rough.nodes))),
        kRadius, kSteepest);
    for (std::size_t i = 1; i < path.pieces().size(); ++i) {
      const double s = path.pieces()[i].start;
      EXPECT_NEAR(WheelPath::evaluate(path.pieces()[i - 1], s).height, path.at(s).height,
                  3.0 * kFitHeight);
    }
    for (std::size_t i = 0; i + 1 < path.stretches().size(); ++i) {
      const Stretch& before = path.stretches()[i];
      const Stretch& after = path.stretches()[i + 1];
      const PathPoint<double> p = path.at(before.end, before);
      const PathPoint<double> q = path.at(before.end, after);
      EXPECT_GT(q.slope, p.slope);
      EXPECT_NEAR(path.at(before.end + 0.01, before).height, p.height + 0.01 * p.slope, 1.0);
      EXPECT_NEAR(path.at(before.end - 0.01, after).height, q.height - 0.01 * q.slope, 1.0);
      ++kinks;
    }
  }
  EXPECT_GT(kinks, 1000u);
}

// Boulders that rise and fall within centimetres: hollows far tighter than the wheel and more than
// one to a node. The path must still join (WheelPath refuses it otherwise) and lie over the ground.
TEST(CirclePath, HoldsTogetherOnTheRoughestGround) {
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    RoughGround rough = rough_ground({0.05, 10.0, 0.15, 0.0115, seed}, 0.08);
    const NodeCurve ground(1.0, 0.0, rough.step, rough.nodes);
    const WheelPath path = circle_path(
        with_level_sides(std::make_unique<NodeCurve>(1.0, 0.0, rough.step, rough.nodes)), kRadius,
        kSteepest);
    for (double s = 1.0; s < 1.08; s += 0.0007) {
      EXPECT_GE(path.at(s).height, ground.at(s).height - kFitHeight);
    }
  }
}

TEST(PointPath, IsTheGroundItself) {
  const SineCurve bump(2.0, 0.9, 0.0, 0.2);
  const WheelPath path =
      point_path(with_level_sides(std::make_unique<SineCurve>(2.0, 0.9, 0.0, 0.2)));
  for (double s = 2.0; s < 2.9; s += 0.0093) {
    EXPECT_NEAR(path.at(s).height, bump.at(s).height, kFitHeight);
    EXPECT_NEAR(path.at(s).slope, bump.at(s).slope, kFitSlope);
  }
  EXPECT_EQ(path.stretches().size(), 3u);  // corners at both feet
}

// A window longer than the curve, with both ends on level ground: the mean is the area over the
// length; a half-sine has 2 H l/pi (closed form).
TEST(AveragePath, WholeBumpInTheWindow) {
  const WheelPath path =
      average_path(with_level_sides(std::make_unique<SineCurve>(2.0, 0.9, 0.0, 0.2)), 2.0);
  EXPECT_NEAR(path.at(2.45).height, 2.0 * 0.2 * 0.9 / kPi / 2.0, 1e-12);
  EXPECT_NEAR(path.at(2.45).slope, 0.0, 1e-12);
  EXPECT_EQ(path.at(0.9).height, 0.0);
  EXPECT_EQ(path.stretches().size(), 1u);
}

}  // namespace
}  // namespace plunge::envelope_test
