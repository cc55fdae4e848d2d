#include "sim/ground/terrain.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <random>
#include <string>
#include <vector>

#include "models/laws/constants.hpp"
#include "models/laws/numeric.hpp"
#include "models/setup/fault.hpp"
#include "tests/builders.hpp"

namespace plunge::terrain_test {
namespace {

constexpr double kRadius = 0.35;

BikeSetup round_wheel(double radius = kRadius) {
  BikeSetup bike;
  bike.contact = WheelContact::circle;
  bike.wheel_radius = radius;
  return bike;
}

BikeSetup point_wheel() {
  BikeSetup bike;
  bike.contact = WheelContact::point;
  return bike;
}

BikeSetup average_wheel(double length) {
  BikeSetup bike;
  bike.contact = WheelContact::average;
  bike.contact_length = length;
  return bike;
}

std::vector<double> kinks(const WheelPath& path) {
  std::vector<double> places;
  for (std::size_t i = 1; i < path.stretches().size(); ++i) {
    places.push_back(path.stretches()[i].begin);
  }
  return places;
}

// The dilation as it is defined, by trying every contact: a check on the path that shares nothing
// with it. f is the round outline continued by its tangents.
double dilation(const std::function<double(double)>& y, const std::vector<double>& edges, double s,
                double radius, double reach) {
  const double cap = radius * kSteepestContact / std::sqrt(1.0 + square(kSteepestContact));
  const auto f = [&](double u) {
    const double round = std::min(std::abs(u), cap);
    return std::sqrt(radius * radius - round * round) - radius -
           kSteepestContact * (std::abs(u) - round);
  };
  const auto value = [&](double c) { return y(c) + f(c - s); };
  double best = -1e9;
  // Both sides of each edge.
  for (const double edge : edges) {
    best = std::max({best, value(edge - 1e-12), value(edge + 1e-12)});
  }
  constexpr double kStep = 5e-4;
  const auto count = static_cast<int>(2.0 * reach / kStep);
  std::vector<double> coarse;
  for (int i = 0; i <= count; ++i) coarse.push_back(value(s - reach + kStep * i));
  best = std::max(best, *std::max_element(coarse.begin(), coarse.end()));
  // Finer wherever the coarse values come close to the best.
  for (int i = 0; i <= count; ++i) {
    if (coarse[static_cast<std::size_t>(i)] < best - 2e-5) continue;
    for (int k = -50; k <= 50; ++k) best = std::max(best, value(s - reach + kStep * i + 1e-5 * k));
  }
  return best;
}

// The ground, written down once more from the definitions in terrain.hpp.
class PlainGround {
 public:
  void add(const Feature& feature) {
    const double begin = end_;
    const double level = level_;
    const auto put = [&](double length, std::function<double(double)> y) {
      edges.push_back(end_);
      parts_.push_back({end_, end_ + length, std::move(y)});
      end_ += length;
      edges.push_back(end_);
    };
    const double l = feature.length;
    const double h = feature.height;
    switch (feature.kind) {
      case FeatureKind::flat: {
        const double slope = std::tan(feature.grade);
        put(l, [=](double s) { return level + slope * (s - begin); });
        level_ += slope * l;
        break;
      }
      case FeatureKind::bump:
        switch (feature.shape) {
          case BumpShape::half_sine:
            put(l, [=](double s) { return level + h * std::sin(kPi * (s - begin) / l); });
            break;
          case BumpShape::cosine:
            put(l, [=](double s) {
              return level + 0.5 * h * (1.0 - std::cos(2.0 * kPi * (s - begin) / l));
            });
            break;
          case BumpShape::square:
            put(l, [=](double) { return level + h; });
            break;
          case BumpShape::ramp:
            put(l, [=](double s) { return level + h * (s - begin) / l; });
            break;
          case BumpShape::root: {
            const double r = (l * l / 4.0 + h * h) / (2.0 * std::abs(h));
            put(l, [=](double s) {
              const double x = s - begin - 0.5 * l;
              const double y = std::sqrt(std::max(0.0, r * r - x * x)) - (r - std::abs(h));
              return level + std::copysign(y, h);
            });
            break;
          }
        }
        break;
      case FeatureKind::drop: {
        const double slope = std::tan(feature.landing_angle);
        put(feature.landing_length, [=](double s) { return level - h - slope * (s - begin); });
        const double foot = level - h - slope * feature.landing_length;
        const double r = feature.run_out / std::sin(feature.landing_angle);
        const double bottom = foot - r * (1.0 - std::cos(feature.landing_angle));
        const double flat_from = end_ + feature.run_out;
        put(feature.run_out, [=](double s) {
          return bottom + r - std::sqrt(r * r - (flat_from - s) * (flat_from - s));
        });
        level_ = bottom;
        break;
      }
      case FeatureKind::profile: {
        const auto x = feature.distance;
        const auto z = feature.elevation;
        const double scale = feature.scale;
        put(x.back() - x.front(), [=](double s) {
          const double along = s - begin + x.front();
          std::size_t i = 1;
          while (i + 1 < x.size() && x[i] < along) ++i;
          const double t = (along - x[i - 1]) / (x[i] - x[i - 1]);
          return level + scale * ((1.0 - t) * z[i - 1] + t * z[i] - z[0]);
        });
        for (const double place : x) edges.push_back(begin + place - x.front());
        level_ += scale * (z.back() - z.front());
        break;
      }
      default:
        FAIL() << "not written down here";
    }
  }

  double operator()(double s) const {
    if (s < 0.0) return 0.0;
    for (const Part& part : parts_) {
      if (s < part.end) return part.y(s);
    }
    return level_;
  }
  double length() const { return end_; }
  std::vector<double> edges;

 private:
  struct Part {
    double begin;
    double end;
    std::function<double(double)> y;
  };
  std::vector<Part> parts_;
  double end_ = 0.0;
  double level_ = 0.0;
};

// 300 random grounds of up to five features: every shape up and down, drops, jagged profiles.
TEST(RoundWheel, RollsOnTheGroundAndNeverIntoIt) {
  std::mt19937_64 random(20);
  const auto between = [&](double low, double high) {
    return low + (high - low) * static_cast<double>(random() >> 11) * 0x1p-53;
  };
  int with_kinks = 0;
  for (int trial = 0; trial < 300; ++trial) {
    SCOPED_TRACE("ground " + std::to_string(trial));
    const double radius = between(0.2, 0.4);
    std::vector<Feature> features{flat(1.0)};
    const auto count = static_cast<int>(between(1.0, 5.99));
    for (int i = 0; i < count; ++i) {
      const double choice = between(0.0, 8.0);
      const double tall = 0.5 * tallest_step(radius);
      if (choice < 5.0) {
        const auto shape = static_cast<BumpShape>(static_cast<int>(choice));
        const double length = between(0.02, 1.0);
        const double most = shape == BumpShape::root ? std::min(tall, 0.499 * length) : tall;
        features.push_back(bump(shape, length, between(-most, most)));
      } else if (choice < 6.0) {
        features.push_back(
            drop(between(0.05, 1.0), between(0.05, 0.8), between(0.1, 2.0), between(0.2, 3.0)));
      } else if (choice < 7.0) {
        std::vector<double> x{0.5};
        std::vector<double> z{0.2};
        for (int k = 0; k < 12; ++k) {
          x.push_back(x.back() + between(0.02, 0.2));
          z.push_back(between(0.0, 0.1));
        }
        features.push_back(profile(ProfileJoin::linear, x, z, between(0.5, 1.2)));
      } else {
        features.push_back(flat(between(0.05, 1.0)));
      }
    }
    PlainGround plain;
    for (const Feature& feature : features) plain.add(feature);
    const Ground ground = build_ground(features, round_wheel(radius));
    ASSERT_NEAR(ground.length, plain.length(), 1e-12);
    with_kinks += ground.path.stretches().size() > 1;
    for (int i = 0; i < 60; ++i) {
      const double s = between(-0.5, ground.length + 0.5);
      const double wanted = dilation(plain, plain.edges, s, radius, 2.0);
      // Trying every contact may miss the best by its grid: 5e-6^2/2 * f'' (200 1/m) and, at the
      // sheer side of a root, 1e-12 from the edge.
      ASSERT_NEAR(ground.path.at(s).height, wanted, 2e-7) << "s = " << s;
    }
  }
  EXPECT_GT(with_kinks, 250);
}

// Rough ground and a smooth profile: the ground itself is known from the point wheel.
TEST(RoundWheel, RollsOnRoughAndMeasuredGround) {
  std::vector<double> x;
  std::vector<double> z;
  for (int i = 0; i <= 60; ++i) {
    x.push_back(0.1 * i + 0.03 * std::sin(7.0 * i));
    z.push_back(0.03 * std::sin(2.3 * i) + 0.02 * std::cos(0.7 * i));
  }
  const std::vector<Feature> features{flat(1.0), rough(8.0, 1024e-6, 10.0, 0.06, 1.0, 3),
                                      profile(ProfileJoin::smooth, x, z), flat(1.0)};
  const Ground point = build_ground(features, point_wheel());
  const Ground round = build_ground(features, round_wheel());
  EXPECT_GT(round.path.stretches().size(), 20u);
  const auto y = [&](double s) { return point.path.at(s).height; };
  const std::vector<double> edges{9.0, 9.0 + x.back() - x.front()};  // a spline's ends are corners
  for (double s = 0.0; s < 17.0; s += 0.0113) {
    ASSERT_NEAR(round.path.at(s).height, dilation(y, edges, s, kRadius, 0.6), 5e-8) << "s = " << s;
  }
}

// Closed form: the circle meets an edge of height H when its centre is sqrt(2 R H - H^2) before it,
// with the slope of its outline there.
TEST(RoundWheel, ClimbsASquareEdgeFromAKnownDistance) {
  for (const double height : {0.01, 0.05, 0.1, 0.2}) {
    const Ground ground =
        build_ground({flat(2.0), bump(BumpShape::square, 1.0, height), flat(2.0)}, round_wheel());
    const double before = std::sqrt(2.0 * kRadius * height - height * height);
    const std::vector<double> places = kinks(ground.path);
    ASSERT_EQ(places.size(), 2u);
    EXPECT_NEAR(places[0], 2.0 - before, 1e-12);
    EXPECT_NEAR(places[1], 3.0 + before, 1e-12);
    EXPECT_NEAR(ground.path.at(places[0]).slope, before / (kRadius - height), 1e-9);
    EXPECT_NEAR(ground.path.at(places[0] - 1e-9).slope, 0.0, 1e-12);
    // Over the edge: its outline, and its curvature -1/R just before the top.
    const double s = 2.0 - 0.5 * before;
    EXPECT_NEAR(ground.path.at(s).height,
                height - kRadius + std::sqrt(kRadius * kRadius - square(0.5 * before)), 1e-8);
    EXPECT_NEAR(ground.path.at(2.0 - 1e-9).curvature, -1.0 / kRadius, 1e-4);
    EXPECT_NEAR(ground.path.at(2.5).height, height, 1e-15);
    EXPECT_EQ(ground.path.at(2.5).curvature, 0.0);
  }
}

// Closed form: off a lip the centre falls along a circle about it, then, where that would be
// steeper than kSteepestContact, along its tangent, until the wheel stands on the ground below.
TEST(RoundWheel, RollsOffALipThenFalls) {
  const Ground ground = build_ground({flat(5.0), drop(1.0), flat(5.0)}, round_wheel());
  const double cap = kRadius * kSteepestContact / std::sqrt(17.0);
  const auto& path = ground.path;
  EXPECT_NEAR(path.at(5.0).height, 0.0, 1e-12);
  EXPECT_NEAR(path.at(5.0 + 1e-9).curvature, -1.0 / kRadius, 1e-4);
  EXPECT_NEAR(path.at(5.2).height, std::sqrt(kRadius * kRadius - 0.04) - kRadius, 1e-8);
  EXPECT_NEAR(path.at(5.2).slope, -0.2 / std::sqrt(kRadius * kRadius - 0.04), 1e-6);
  EXPECT_EQ(path.at(5.0 + cap + 0.05).slope, -kSteepestContact);
  EXPECT_EQ(path.at(5.0 + cap + 0.05).curvature, 0.0);
  // By hand: the tangent begins R (1 - 1/sqrt(17)) below and ends 1 m below.
  const double landing =
      5.0 + cap + (1.0 - kRadius * (1.0 - 1.0 / std::sqrt(17.0))) / kSteepestContact;
  ASSERT_EQ(kinks(path).size(), 1u);
  EXPECT_NEAR(kinks(path)[0], landing, 1e-12);
  EXPECT_EQ(path.at(landing + 1e-6).height, -1.0);
  EXPECT_EQ(path.at(landing + 1e-6).slope, 0.0);
}

// Closed form: on a plane of angle a the centre is R (1/cos a - 1) higher than above its point of
// the plane, and a landing arc of radius r is an arc of radius r - R for the centre.
TEST(RoundWheel, LandsOnASlopeAndRunsOut) {
  const double angle = 0.5;
  const double run_out = 3.0;
  const Ground ground =
      build_ground({flat(5.0), drop(0.6, angle, 4.0, run_out), flat(5.0)}, round_wheel());
  const auto& path = ground.path;
  EXPECT_NEAR(ground.length, 17.0, 1e-12);
  const double plane = -0.6 - 2.5 * std::tan(angle) + kRadius * (1.0 / std::cos(angle) - 1.0);
  EXPECT_NEAR(path.at(7.5).height, plane, 1e-12);
  EXPECT_NEAR(path.at(7.5).slope, -std::tan(angle), 1e-12);
  const double r = run_out / std::sin(angle);
  EXPECT_NEAR(path.at(12.0 - 1e-9).curvature, 1.0 / (r - kRadius), 1e-5);
  const double bottom = -0.6 - 4.0 * std::tan(angle) - r * (1.0 - std::cos(angle));
  EXPECT_NEAR(path.at(14.0).height, bottom, 1e-12);
  EXPECT_EQ(kinks(path).size(), 1u);  // where it touches down; straight to arc is no kink
}

// Closed form: over the crest of a half-sine the curvature k = H pi^2/l^2 of the ground becomes
// -k/(1 + R k), and the crest is as high as the bump.
TEST(RoundWheel, CrestOfAHalfSineIsBluntedByTheWheel) {
  const double height = 0.12;
  const double length = 0.8;
  const Ground ground = build_ground(
      {flat(2.0), bump(BumpShape::half_sine, length, height), flat(2.0)}, round_wheel());
  const PathPoint<double> crest = ground.path.at(2.4);
  const double k = height * kPi * kPi / (length * length);
  EXPECT_NEAR(crest.height, height, 1e-8);
  EXPECT_NEAR(crest.slope, 0.0, 1e-6);
  EXPECT_NEAR(crest.curvature, -k / (1.0 + kRadius * k), 1e-3);
  EXPECT_EQ(kinks(ground.path).size(), 2u);  // its two feet
}

// A hollow with a radius of curvature below R at its bottom is touched on both flanks at once: one
// kink, by symmetry in the middle. A wider one is followed without a kink.
TEST(RoundWheel, HollowTighterThanTheWheelGivesOneKink) {
  const auto hollow = [](double length) {
    return std::vector<Feature>{flat(2.0), bump(BumpShape::cosine, length, -0.1), flat(2.0)};
  };
  // Radius of curvature at the bottom l^2/(2 pi^2 H): 0.324 m and 0.507 m.
  const Ground tight = build_ground(hollow(0.8), round_wheel());
  ASSERT_EQ(kinks(tight.path).size(), 1u);
  EXPECT_NEAR(kinks(tight.path)[0], 2.4, 1e-12);
  EXPECT_GT(tight.path.at(2.4).height, -0.1 + 1e-6);
  const Ground wide = build_ground(hollow(1.0), round_wheel());
  EXPECT_EQ(kinks(wide.path).size(), 0u);
  EXPECT_NEAR(wide.path.at(2.5).height, -0.1, 1e-8);
}

// By hand: a gap of width w < 2 R lets the wheel sink R - sqrt(R^2 - w^2/4); the kink is in its
// middle.
TEST(RoundWheel, BridgesAGap) {
  const double width = 0.2;
  const Ground ground =
      build_ground({flat(1.0), bump(BumpShape::square, width, -0.15), flat(1.0)}, round_wheel());
  ASSERT_EQ(kinks(ground.path).size(), 1u);
  EXPECT_NEAR(kinks(ground.path)[0], 1.1, 1e-12);
  EXPECT_NEAR(ground.path.at(1.1).height,
              std::sqrt(kRadius * kRadius - 0.25 * width * width) - kRadius, 1e-8);
}

TEST(RoundWheel, TrainRepeatsItsBump) {
  Feature train = bump(BumpShape::root, 0.2, 0.06);
  train.kind = FeatureKind::bumps;
  train.count = 5;
  train.spacing = 1.3;
  const Ground ground = build_ground({flat(2.0), train, flat(2.0)}, round_wheel());
  EXPECT_NEAR(ground.length, 2.0 + 4.0 * 1.3 + 0.2 + 2.0, 1e-12);
  for (int i = 1; i < 5; ++i) {
    for (double s = 1.6; s < 2.8; s += 0.01) {
      EXPECT_NEAR(ground.path.at(s + 1.3 * i).height, ground.path.at(s).height, 2e-8);
    }
  }
  EXPECT_NEAR(ground.path.at(2.1).height, 0.06, 1e-8);
}

// Slope and curvature of the path are the derivatives of its height, stretch by stretch, and its
// pieces join.
TEST(RoundWheel, PathIsConsistentWithItself) {
  Feature train = bump(BumpShape::square, 0.15, 0.05);
  train.kind = FeatureKind::bumps;
  train.count = 4;
  train.spacing = 0.6;
  const Ground ground = build_ground({flat(1.0), train, drop(0.5, 0.4, 2.0, 1.0),
                                      rough(6.0, 4096e-6, 5.0, 0.1, 0.5, 2), flat(2.0, -0.2)},
                                     round_wheel());
  const WheelPath& path = ground.path;
  constexpr double kStep = 1e-6;
  for (std::size_t i = 1; i < path.pieces().size(); ++i) {
    const double s = path.pieces()[i].start;
    const PathPoint<double> left = WheelPath::evaluate(path.pieces()[i - 1], s);
    const PathPoint<double> right = path.at(s);
    EXPECT_NEAR(left.height, right.height, 2.0 * 1e-8);
    const bool kink = path.stretches()[path.stretch_at(s)].begin == s;
    if (kink) {
      EXPECT_GT(right.slope, left.slope);  // an upper envelope turns up only
    } else {
      EXPECT_NEAR(left.slope, right.slope, 2e-6);
    }
  }
  for (const Stretch& stretch : path.stretches()) {
    const double begin = std::max(stretch.begin, 0.0);
    const double end = std::min(stretch.end, ground.length);
    for (int k = 1; k < 8; ++k) {
      const double s = begin + (end - begin) * k / 8.0;
      const double rise = path.at(s + kStep, stretch).height - path.at(s - kStep, stretch).height;
      EXPECT_NEAR(path.at(s, stretch).slope, rise / (2.0 * kStep), 1e-3);
    }
    // A step that overshoots the kink by 5 mm sees no leap.
    if (std::isfinite(stretch.end)) {
      const PathPoint<double> at = path.at(stretch.end, stretch);
      const PathPoint<double> past = path.at(stretch.end + 5e-3, stretch);
      EXPECT_NEAR(past.height, at.height + 5e-3 * at.slope, 0.02);
    }
  }
}

TEST(RoundWheel, LevelGroundIsOneLevelLine) {
  const Ground ground = build_ground({flat(2000.0)}, round_wheel());
  EXPECT_EQ(ground.length, 2000.0);
  EXPECT_EQ(ground.path.pieces().size(), 1u);
  EXPECT_EQ(ground.path.at(777.7).height, 0.0);
  EXPECT_EQ(build_ground({}, round_wheel()).length, 0.0);
}

// By hand: 10 m at -5 degrees end 10 tan(5 deg) lower; the bump after it stands on that level.
TEST(Ground, GradeChangesTheLevel) {
  const double grade = -5.0 * kPi / 180.0;
  const Ground ground = build_ground(
      {flat(10.0, grade), bump(BumpShape::half_sine, 1.0, 0.1), flat(3.0)}, point_wheel());
  const double level = 10.0 * std::tan(grade);
  EXPECT_NEAR(ground.path.at(10.5).height, level + 0.1, 1e-8);
  EXPECT_NEAR(ground.path.at(13.0).height, level, 1e-12);
  EXPECT_NEAR(ground.path.at(-1.0).slope, std::tan(grade), 1e-15);  // reaches back
  EXPECT_EQ(ground.path.at(1000.0).slope, 0.0);
}

TEST(PointWheel, FollowsTheGround) {
  const std::vector<Feature> features{
      flat(1.0), bump(BumpShape::cosine, 1.0, 0.1), flat(1.0, 0.1),
      profile(ProfileJoin::linear, {3.0, 4.0, 5.0}, {1.0, 1.3, 1.2}, 0.5)};
  const Ground ground = build_ground(features, point_wheel());
  PlainGround plain;
  for (const Feature& feature : features) plain.add(feature);
  for (double s = -1.0; s < 6.0; s += 0.01) {
    EXPECT_NEAR(ground.path.at(s).height, plain(s), 1e-8);
  }
  // Corners: into the grade, into the profile (0.1003 to 0.15), at its sample, at its end.
  const std::vector<double> wanted{2.0, 3.0, 4.0, 5.0};
  const std::vector<double> found = kinks(ground.path);
  ASSERT_EQ(found.size(), wanted.size());
  for (std::size_t i = 0; i < found.size(); ++i) EXPECT_NEAR(found[i], wanted[i], 1e-12);
}

// By hand: natural spline through (0,0), (1,1), (2,0): y = 1.5 s - 0.5 s^3 up to s = 1.
TEST(PointWheel, FollowsASmoothProfile) {
  const Ground ground = build_ground(
      {flat(1.0), profile(ProfileJoin::smooth, {5.0, 6.0, 7.0}, {2.0, 3.0, 2.0})}, point_wheel());
  EXPECT_NEAR(ground.path.at(1.5).height, 0.75 - 0.0625, 1e-12);
  EXPECT_NEAR(ground.path.at(1.5).slope, 1.5 - 0.375, 1e-12);
  EXPECT_NEAR(ground.path.at(2.0).curvature, -3.0, 1e-9);
  EXPECT_EQ(kinks(ground.path).size(), 2u);  // its ends only
}

// Closed form: over a step of height H the mean over b rises by H as a straight line of slope H/b.
TEST(AveragingWheel, TurnsAStepIntoALine) {
  const Ground ground = build_ground({flat(2.0), drop(0.3), flat(2.0)}, average_wheel(0.25));
  const auto& path = ground.path;
  EXPECT_EQ(path.at(1.87).height, 0.0);
  EXPECT_NEAR(path.at(2.0).height, -0.15, 1e-14);
  EXPECT_NEAR(path.at(2.0).slope, -1.2, 1e-13);
  EXPECT_NEAR(path.at(2.2).height, -0.3, 1e-14);
  EXPECT_EQ(kinks(path).size(), 2u);
  EXPECT_NEAR(kinks(path)[0], 1.875, 1e-12);
  EXPECT_NEAR(kinks(path)[1], 2.125, 1e-12);
}

// Closed form: where a slope m begins at s = 0 the mean over b is m (s + b/2)^2/(2 b).
TEST(AveragingWheel, TurnsACornerIntoAParabola) {
  const double angle = std::atan(0.2);
  const Ground ground = build_ground({flat(2.0), flat(3.0, angle)}, average_wheel(0.25));
  const auto& path = ground.path;
  for (double u = -0.125; u <= 0.125; u += 0.01) {
    EXPECT_NEAR(path.at(2.0 + u).height, 0.2 * square(u + 0.125) / 0.5, 1e-14);
    EXPECT_NEAR(path.at(2.0 + u).slope, 0.2 * (u + 0.125) / 0.25, 1e-13);
  }
  EXPECT_NEAR(path.at(2.1).curvature, 0.2 / 0.25, 1e-12);
  EXPECT_EQ(kinks(path).size(), 0u);
  EXPECT_EQ(path.pieces().size(), 3u);
}

// Closed form: the mean of a sine over b is the sine times sin(k b/2)/(k b/2), away from its ends.
TEST(AveragingWheel, WeakensASine) {
  const double length = 2.0;
  const Ground ground = build_ground(
      {flat(1.0), bump(BumpShape::half_sine, length, 0.1), flat(1.0)}, average_wheel(0.25));
  const double half = kPi / length * 0.125;
  for (double u = 0.2; u < 1.8; u += 0.05) {
    EXPECT_NEAR(ground.path.at(1.0 + u).height,
                0.1 * std::sin(half) / half * std::sin(kPi * u / length), 1e-8);
  }
}

// Every quarter metre a sample and a window as long: both ends of it reach samples at once.
TEST(AveragingWheel, FollowsAMeasuredProfile) {
  std::vector<double> x;
  std::vector<double> z;
  for (int i = 0; i <= 400; ++i) {
    x.push_back(0.25 * i);
    z.push_back(0.01 * std::sin(1.7 * i));
  }
  const Ground ground =
      build_ground({flat(1.0), profile(ProfileJoin::linear, x, z)}, average_wheel(0.25));
  // By hand: over a sample the window covers half of each neighbour's line.
  for (std::size_t i = 1; i < 400; ++i) {
    const double wanted = (z[i - 1] + 6.0 * z[i] + z[i + 1]) / 8.0;
    EXPECT_NEAR(ground.path.at(1.0 + x[i]).height, wanted, 1e-12);
  }
  EXPECT_LT(ground.path.pieces().size(), 410u);
}

std::string refusal(const std::vector<Feature>& features, const BikeSetup& bike) {
  try {
    build_ground(features, bike);
  } catch (const InputError& error) {
    return error.what();
  }
  return "";
}

// By hand: a wheel of 0.35 m with its outline cut at slope 4 climbs 0.35 (1 - 1/sqrt(17)) =
// 0.26511 m.
TEST(Ground, RefusesAStepTallerThanTheWheelClimbs) {
  EXPECT_NEAR(tallest_step(0.35), 0.26511, 5e-6);
  EXPECT_EQ(refusal({flat(1.0), bump(BumpShape::square, 1.0, 0.265)}, round_wheel()), "");
  const std::string text = refusal({flat(1.0), bump(BumpShape::square, 1.0, 0.266)}, round_wheel());
  EXPECT_NE(text.find("terrain[1].height"), std::string::npos) << text;
  EXPECT_NE(text.find("0.266"), std::string::npos) << text;
  EXPECT_NE(text.find("0.2651"), std::string::npos) << text;
  // Out of a hollow, and up a wall that leans a little.
  EXPECT_NE(refusal({bump(BumpShape::ramp, 3.0, -0.3), flat(1.0)}, round_wheel())
                .find("terrain[0].height"),
            std::string::npos);
  EXPECT_NE(
      refusal({profile(ProfileJoin::linear, {0.0, 1.0, 1.05}, {0.0, 0.0, 0.4})}, round_wheel())
          .find("terrain[0].elevation"),
      std::string::npos);
  // Down is never too far.
  EXPECT_EQ(refusal({flat(1.0), drop(5.0)}, round_wheel()), "");
}

TEST(Ground, RefusesAStepUnderAPoint) {
  for (const Feature& feature :
       {bump(BumpShape::square, 1.0, 0.05), bump(BumpShape::ramp, 1.0, 0.05), drop(0.2)}) {
    const std::string text = refusal({flat(1.0), feature, flat(1.0)}, point_wheel());
    EXPECT_NE(text.find("terrain[1]"), std::string::npos) << text;
  }
  EXPECT_NE(refusal({bump(BumpShape::root, 1.0, 0.5)}, point_wheel()), "");
  EXPECT_EQ(refusal({flat(1.0), bump(BumpShape::half_sine, 1.0, 0.05)}, point_wheel()), "");
}

TEST(Ground, RefusesWhatIsNotGiven) {
  Feature feature = bump(BumpShape::square, 1.0, 0.1);
  feature.height = kUnset;
  EXPECT_NE(refusal({flat(1.0), feature}, round_wheel()).find("terrain[1].height"),
            std::string::npos);
  // A fade longer than half of the ground, and one too short for its nodes.
  for (const double fade : {6.0, 0.005}) {
    const Feature road = rough(10.0, 64e-6, 10.0, 0.1, fade, 1);
    EXPECT_NE(refusal({road}, round_wheel()).find("terrain[0].fade"), std::string::npos) << fade;
  }
}

TEST(Ground, IsJudgedAsItIsBuilt) {
  for (const double height : {0.1, 0.3}) {
    const std::vector<Feature> features{flat(1.0), bump(BumpShape::square, 1.0, height)};
    const Faults faults = judge_ground(features, round_wheel());
    EXPECT_EQ(faults.empty() ? "" : to_string(faults.front()), refusal(features, round_wheel()));
  }
}

TEST(Ground, DrawingShowsFacesAndEnds) {
  const Ground ground = build_ground(
      {flat(2.0), bump(BumpShape::square, 1.0, 0.1), drop(0.3), flat(2.0)}, round_wheel());
  const std::vector<double> distance{0.0, 2.0, 2.0, 3.0, 3.0, 5.0};
  const std::vector<double> elevation{0.0, 0.0, 0.1, 0.1, -0.3, -0.3};
  EXPECT_EQ(ground.distance, distance);
  EXPECT_EQ(ground.elevation, elevation);
}

}  // namespace
}  // namespace plunge::terrain_test
