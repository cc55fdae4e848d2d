#include "sim/ground/grade_line.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <vector>

#include "models/laws/constants.hpp"
#include "models/setup/parameters.hpp"
#include "sim/ground/terrain.hpp"
#include "tests/builders.hpp"
#include "tests/support.hpp"

namespace plunge::grade_line_test {
namespace {

constexpr double kWindow = 4.0;
constexpr double kWheelbase = 1.2;
constexpr double kDegree = kPi / 180.0;

Ground ground_of(std::vector<Feature> features, double window = kWindow) {
  Setup setup = worked_design_point();
  setup.bike.line_length = window;
  setup.bike.wheelbase = kWheelbase;
  for (Feature& feature : features) fill_defaults(feature);
  return build_ground(features, setup.bike);
}

GradeLine line_of(const std::vector<Feature>& features, double window = kWindow) {
  return ground_of(features, window).grade;
}

// A face: level ground that goes on `height` higher from s = 10 m on.
GradeLine line_over_face(double height, double window = kWindow) {
  GroundCurves ground;
  ground.push_back(std::make_unique<LineCurve>(-kInfinity, 10.0, 0.0, 0.0, 0.0));
  ground.push_back(std::make_unique<LineCurve>(10.0, kInfinity, 0.0, height, 0.0));
  return GradeLine(ground, window, 0.0);
}

// The part of the raised cosine window before u, 0 to 1: from -l/2 to l/2.
double window_before(double u, double window) {
  const double t = std::clamp(u / window, -0.5, 0.5);
  return 0.5 + t + std::sin(2.0 * kPi * t) / (2.0 * kPi);
}

double window_at(double u, double window) {
  return std::abs(u) < window / 2.0 ? (1.0 + std::cos(2.0 * kPi * u / window)) / window : 0.0;
}

// Height gained by the line from a to b, in closed form piece by piece.
double gained(const GradeLine& line, double a, double b) {
  double sum = 0.0;
  double from = a;
  while (from < b) {
    const std::size_t i = line.piece_at(from);
    double to = i + 1 < line.pieces().size() ? std::min(line.start_of(i + 1), b) : b;
    if (!(to > from)) to = std::min(std::nextafter(from, b) + 1e-12, b);
    const double middle = 0.5 * (from + to);
    // Simpson's rule is exact for a cubic.
    sum +=
        (to - from) / 6.0 * (line.at(from).slope + 4.0 * line.at(middle).slope + line.at(to).slope);
    from = to;
  }
  return sum;
}

// Largest difference of a line from the closed form over changes of slope at places.
struct Change {
  double place;
  double by;
};

void expect_convolved(const GradeLine& line, double first, const std::vector<Change>& changes,
                      double tolerance) {
  for (double s = -10.0; s < 60.0; s += 0.0371) {
    double slope = first;
    for (const Change& change : changes) {
      slope += change.by * window_before(s - kWheelbase / 2.0 - change.place, kWindow);
    }
    EXPECT_NEAR(line.at(s).slope, slope, tolerance) << s;
  }
}

TEST(GradeLine, AnEvenGradeIsExactEverywhere) {
  for (const double degrees : {-25.0, -8.0, 3.0, 20.0}) {
    const GradeLine line = line_of({flat(12.0, degrees * kDegree)});
    EXPECT_FALSE(line.level());
    for (double s = -50.0; s < 80.0; s += 0.173) {
      EXPECT_NEAR(line.at(s).slope, std::tan(degrees * kDegree), 2e-14);
      EXPECT_NEAR(line.at(s).rate, 0.0, 1e-12);
      EXPECT_NEAR(line.at(s).bend, 0.0, 1e-10);
    }
  }
}

TEST(GradeLine, LevelGroundIsLevel) {
  EXPECT_TRUE(GradeLine().level());
  EXPECT_TRUE(line_of({flat(20.0), flat(3.0)}).level());
  EXPECT_EQ(line_of({flat(20.0)}).at(3.0).slope, 0.0);
}

TEST(GradeLine, WithoutAWindowTheBikeStaysLevel) {
  const GradeLine line = line_of({flat(20.0, -0.3)}, 0.0);
  EXPECT_TRUE(line.level());
  EXPECT_EQ(line.at(7.0).slope, 0.0);
  EXPECT_EQ(line.at(7.0).rate, 0.0);
}

TEST(GradeLine, AChangeOfGradeIsTheIntegralOfTheWindow) {
  // Convolution in closed form: the slope changes by the part of the window that is past the break,
  // at mid-bike. What the spline leaves at nodes an eighth of a metre apart is far below a
  // thousandth of a degree.
  const double down = std::tan(-15.0 * kDegree);
  const double up = std::tan(10.0 * kDegree);
  const GradeLine line =
      line_of({flat(10.0), flat(12.0, -15.0 * kDegree), flat(3.0), flat(14.0, 10.0 * kDegree)});
  expect_convolved(line, 0.0, {{10.0, down}, {22.0, -down}, {25.0, up}}, 2e-6);
  // Also the rate, whose largest is that of the window's middle.
  EXPECT_NEAR(line.at(10.0 + kWheelbase / 2.0).rate, down * 2.0 / kWindow, 2e-4);
  // Half-way through the break half of the change is past.
  EXPECT_NEAR(line.at(10.0 + kWheelbase / 2.0).slope, down / 2.0, 1e-9);
  // Half a window before and behind it nothing is left.
  EXPECT_NEAR(line.at(10.0 + kWheelbase / 2.0 - 2.3).slope, 0.0, 2e-6);
  EXPECT_NEAR(line.at(10.0 + kWheelbase / 2.0 + 2.3).slope, down, 2e-6);
}

TEST(GradeLine, SteepensAsTheWindowGetsShorter) {
  const std::vector<Feature> ground = {flat(10.0), flat(12.0, -0.2)};
  const double at = 10.0 + kWheelbase / 2.0;
  const double slope = std::tan(-0.2);
  for (const double window : {1.0, 2.0, 4.0, 8.0}) {
    EXPECT_NEAR(line_of(ground, window).at(at).rate, slope * 2.0 / window, 1e-3 / window);
  }
}

TEST(GradeLine, HighFacesAreLeftOutAndLowOnesKept) {
  // From 0.15 m on, up or down. A low face adds its height times the window.
  EXPECT_TRUE(line_over_face(kLeastFace).level());
  EXPECT_TRUE(line_over_face(-0.4).level());
  EXPECT_TRUE(line_over_face(2.0).level());
  for (const double height : {0.149, 0.03, -0.1, -0.149}) {
    const GradeLine line = line_over_face(height);
    ASSERT_FALSE(line.level()) << height;
    for (double s = 7.0; s < 13.0; s += 0.0413) {
      EXPECT_NEAR(line.at(s).slope, height * window_at(s - 10.0, kWindow), 1e-3 * std::abs(height))
          << s;
    }
    EXPECT_NEAR(gained(line, 0.0, 20.0), height, 1e-9);
  }
}

TEST(GradeLine, ADropsFaceIsLeftOutAndItsLandingIsNot) {
  // 0.6 m straight down, then a landing of 20 degrees over 3 m and a run-out: the line falls by the
  // landing and the run-out alone. A face of 0.1 m is all of a low drop.
  const Feature high = drop(0.6, 20.0 * kDegree, 3.0, 3.0);
  const Ground ground = ground_of({flat(12.0), high, flat(12.0)});
  const double all = ground.elevation.back() - ground.elevation.front();
  EXPECT_NEAR(gained(ground.grade, 0.0, 30.0), all + 0.6, 1e-6);
  EXPECT_LT(all + 0.6, -1.0);
  const Ground low = ground_of({flat(12.0), drop(0.1), flat(12.0)});
  EXPECT_NEAR(gained(low.grade, 0.0, 24.0), -0.1, 1e-9);
  EXPECT_TRUE(line_of({flat(12.0), drop(0.4), flat(12.0)}).level());
}

TEST(GradeLine, RootsWithUprightEndsCount) {
  // A half circle begins and ends upright without a face. Against the window's integral by parts,
  // T(s) = -integral of w'(u) y(s + u) du, by a fine sum; the bend's jumps where the root enters
  // and leaves the window are spread over a node or two.
  const double height = 0.06;
  const GradeLine line =
      line_of({flat(10.0), bump(BumpShape::root, 2.0 * height, height), flat(10.0)});
  const double centre = 10.0 + height;
  for (double s = 7.5; s < 13.5; s += 0.0617) {
    const double middle = s - kWheelbase / 2.0;
    double sum = 0.0;
    constexpr int kParts = 4000;
    for (int i = 0; i < kParts; ++i) {
      const double u = height * (2.0 * (i + 0.5) / kParts - 1.0);
      const double y = std::sqrt(height * height - u * u);
      const double at = centre + u - middle;
      if (std::abs(at) >= kWindow / 2.0) continue;
      sum += y * 2.0 * kPi / (kWindow * kWindow) * std::sin(2.0 * kPi * at / kWindow) * 2.0 *
             height / kParts;
    }
    EXPECT_NEAR(line.at(s).slope, sum, 3e-5) << s;
  }
  EXPECT_GT(line.at(10.0 + kWheelbase / 2.0 - 1.0).slope, 2e-3);
  EXPECT_NEAR(gained(line, 0.0, 20.0), 0.0, 1e-9);
}

// Ground with everything that a line is made of.
std::vector<Feature> varied_ground() {
  return {flat(6.0, -0.2),
          bump(BumpShape::square, 0.4, 0.08),
          flat(2.0, 0.1),
          bumps(BumpShape::cosine, 1.0, 0.06, 1.5, 4.0),
          drop(0.5, 0.3, 3.0, 2.0),
          rough(12.0, 2.56e-4, 20.0, 0.1, kUnset, 7.0),
          bump(BumpShape::root, 0.12, 0.06),
          bump(BumpShape::ramp, 1.2, 0.2),
          profile(ProfileJoin::smooth, {0.0, 1.0, 2.0, 3.5}, {0.0, 0.1, -0.1, 0.05}),
          flat(5.0, 0.15)};
}

TEST(GradeLine, ValueRateAndBendGoOnUnbrokenOverEveryNode) {
  const GradeLine line = line_of(varied_ground());
  const std::vector<GradePiece>& pieces = line.pieces();
  ASSERT_GT(pieces.size(), 300u);
  double steepest = 0.0;
  for (std::size_t i = 0; i + 1 < pieces.size(); ++i) {
    // The first and the last piece are even: what comes before a piece's end is its start.
    const double length = i == 0 ? line.step() : line.start_of(i + 1) - line.start_of(i);
    const Grade<double> before = GradeLine::evaluate(pieces[i], length);
    const Grade<double> after = GradeLine::evaluate(pieces[i + 1], 0.0);
    EXPECT_NEAR(before.slope, after.slope, 1e-13) << i;
    EXPECT_NEAR(before.rate, after.rate, 1e-12) << i;
    EXPECT_NEAR(before.bend, after.bend, 2e-9) << i;
    steepest = std::max(steepest, std::abs(after.slope));
  }
  EXPECT_GT(steepest, 0.15);
}

TEST(GradeLine, RateAndBendAreTheSlopesOfSlopeAndRate) {
  const GradeLine line = line_of(varied_ground());
  const double h = 1e-5;
  for (double s = -5.0; s < 60.0; s += 0.0317) {
    const Grade<double> before = line.at(s - h);
    const Grade<double> after = line.at(s + h);
    EXPECT_NEAR(line.at(s).rate, (after.slope - before.slope) / (2.0 * h), 1e-6) << s;
    EXPECT_NEAR(line.at(s).bend, (after.rate - before.rate) / (2.0 * h), 1e-3) << s;
  }
}

TEST(GradeLine, TheLineGainsTheHeightOfTheGroundLessItsHighFaces) {
  // The window's integral is 1 and its middle is 0, so that from even ground to even ground the
  // line gains what the ground does. Here a drop of 0.5 m and a ramp that ends with 0.2 m are left
  // out; 3 m before and behind are as steep as the ends.
  const Ground ground = ground_of(varied_ground());
  const double before = 3.0 * std::tan(-0.2);
  const double behind = 3.0 * std::tan(0.15);
  const double height = ground.elevation.back() - ground.elevation.front();
  const double line =
      gained(ground.grade, -3.0 + kWheelbase / 2.0, ground.length + 3.0 + kWheelbase / 2.0);
  const double drawn = ground.distance.back() - ground.length;  // of the ground past its end
  const double ahead = ground.distance.front();
  EXPECT_NEAR(
      line, height + before + behind + 0.5 + 0.2 - drawn * std::tan(0.15) + ahead * std::tan(-0.2),
      1e-6);
}

TEST(GradeLine, RoughGroundIsSmoothedAsItsWindowDoes) {
  // A line over short waves alone is all but level; over waves of twice the window's length most of
  // the slope is left: the raised cosine passes sinc(f l)/(1 - (f l)^2) of a wave of frequency f.
  const auto passed = [](double length) {
    Feature waves = bumps(BumpShape::cosine, length, 0.1, length, 12.0);
    const GradeLine line = line_of({flat(10.0), waves, flat(10.0)});
    double largest = 0.0;
    for (double s = 10.0 + 4.0 * length; s < 10.0 + 8.0 * length; s += 0.003) {
      largest = std::max(largest, std::abs(line.at(s).slope));
    }
    return largest / (0.1 * kPi / length);
  };
  for (const double length : {8.0, 6.0, 2.5, 1.5}) {
    const double x = kWindow / length;
    const double gain = std::abs(std::sin(kPi * x) / (kPi * x * (1.0 - x * x)));
    EXPECT_NEAR(passed(length), gain, 2e-3) << length;
  }
  // Rough ground of a forest floor is no hill, but no plane either.
  const GradeLine line =
      line_of({flat(5.0), rough(40.0, 2.56e-4, 20.0, 0.1, kUnset, 3.0), flat(5.0)});
  double largest = 0.0;
  for (double s = 0.0; s < 55.0; s += 0.01) {
    ASSERT_TRUE(std::isfinite(line.at(s).bend));
    largest = std::max(largest, std::abs(line.at(s).slope));
  }
  EXPECT_GT(largest, 5e-3);
  EXPECT_LT(largest, 0.2);
}

}  // namespace
}  // namespace plunge::grade_line_test
