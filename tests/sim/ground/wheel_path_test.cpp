#include "sim/ground/wheel_path.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <random>
#include <stdexcept>
#include <thread>
#include <vector>

namespace plunge::wheel_path_test {
namespace {

PathPiece line(double start, double height, double slope) {
  return {start, {height, slope, 0.0, 0.0, 0.0, 0.0}};
}

// Level, a cosine bump of three quintics on [0, 3], level from 3 on with a kink at 3, where the
// last piece leaves at slope 0.25.
WheelPath bump_path() {
  const auto wave = [](double s) {
    return PathPoint<double>{0.1 - 0.1 * std::cos(s), 0.1 * std::sin(s), 0.1 * std::cos(s)};
  };
  std::vector<PathPiece> pieces{line(-1.0, 0.0, 0.0)};
  for (int i = 0; i < 3; ++i) pieces.push_back(quintic_between(i, wave(i), i + 1, wave(i + 1)));
  pieces.push_back(line(3.0, wave(3.0).height, 0.25));
  return WheelPath(pieces, {4});
}

// By hand: p(s) = 1 - 2 s + 3 s^2 - s^3 + s^4/2 - s^5/4 about s = 2, so the quintic between any two
// of its points is itself.
TEST(QuinticBetween, ReturnsTheQuinticItIsTakenFrom) {
  const PathPiece p{2.0, {1.0, -2.0, 3.0, -1.0, 0.5, -0.25}};
  const PathPiece q =
      quintic_between(2.0, WheelPath::evaluate(p, 2.0), 3.5, WheelPath::evaluate(p, 3.5));
  for (std::size_t k = 0; k < 6; ++k) EXPECT_NEAR(q.c[k], p.c[k], 1e-12) << k;
}

TEST(WheelPath, SlopeAndCurvatureAreTheDerivativesOfHeight) {
  const PathPiece p{0.3, {1.0, -2.0, 3.0, -1.0, 0.5, -0.25}};
  constexpr double kStep = 1e-4;
  for (double s = 0.0; s < 1.5; s += 0.1) {
    const PathPoint<double> a = WheelPath::evaluate(p, s - kStep);
    const PathPoint<double> b = WheelPath::evaluate(p, s);
    const PathPoint<double> c = WheelPath::evaluate(p, s + kStep);
    EXPECT_NEAR(b.slope, (c.height - a.height) / (2.0 * kStep), 1e-6);
    EXPECT_NEAR(b.curvature, (c.slope - a.slope) / (2.0 * kStep), 1e-6);
  }
}

TEST(WheelPath, LevelPathIsLevelEverywhere) {
  const WheelPath path = WheelPath::level();
  for (const double s : {-1e6, -1.0, 0.0, 1.0, 1e6}) {
    EXPECT_EQ(path.at(s).height, 0.0);
    EXPECT_EQ(path.at(s).slope, 0.0);
    EXPECT_EQ(path.at(s).curvature, 0.0);
  }
}

TEST(WheelPath, GoesOnStraightBeforeAndAfter) {
  const WheelPath path = bump_path();
  EXPECT_EQ(path.at(-100.0).height, 0.0);
  // By hand: 0.1 - 0.1 cos 3 + 0.25 * 10.
  EXPECT_NEAR(path.at(13.0).height, 0.1 - 0.1 * std::cos(3.0) + 2.5, 1e-12);
  EXPECT_EQ(path.at(13.0).curvature, 0.0);
}

TEST(WheelPath, StretchesRunFromKinkToKink) {
  const WheelPath path = bump_path();
  ASSERT_EQ(path.stretches().size(), 2u);
  EXPECT_EQ(path.stretches()[0].end, 3.0);
  EXPECT_EQ(path.stretches()[1].begin, 3.0);
  EXPECT_TRUE(std::isinf(path.stretches()[0].begin));
  EXPECT_TRUE(std::isinf(path.stretches()[1].end));
  EXPECT_EQ(path.stretch_at(2.999), 0u);
  EXPECT_EQ(path.stretch_at(3.0), 1u);  // at a kink: the stretch that follows
  EXPECT_EQ(path.stretch_at(-1e9), 0u);
  EXPECT_EQ(path.stretch_at(1e9), 1u);
}

TEST(WheelPath, StretchGoesOnSmoothlyPastItsKink) {
  const WheelPath path = bump_path();
  const Stretch& before = path.stretches()[0];
  const Stretch& after = path.stretches()[1];
  const PathPoint<double> beyond = path.at(3.1, before);
  // The quintic of the cosine, a little extrapolated; error of sixth order, computed.
  EXPECT_NEAR(beyond.height, 0.1 - 0.1 * std::cos(3.1), 1e-6);
  EXPECT_NEAR(beyond.slope, 0.1 * std::sin(3.1), 1e-5);
  EXPECT_NEAR(path.at(3.1, after).slope, 0.25, 0.0);
  EXPECT_NEAR(path.at(2.9, after).slope, 0.25, 0.0);  // and before its begin
}

// Pieces of very uneven length: the look-up must find what a plain search finds.
TEST(WheelPath, FindsTheRightPieceAmongUnevenOnes) {
  std::mt19937_64 random(5);
  std::vector<PathPiece> pieces{line(-2.0, 0.0, 0.0)};
  double start = 0.0;
  for (int i = 0; i < 3000; ++i) {
    // Pieces differ only in start: all are the level line.
    pieces.push_back(line(start, 0.0, 0.0));
    start += std::pow(10.0, -7.0 + 8.0 * static_cast<double>(random() >> 11) * 0x1p-53);
  }
  const auto make = [&](std::size_t marked) {
    std::vector<PathPiece> copy = pieces;
    copy[marked].c[0] = 1e-7;  // below kJoinHeight, but seen by ==
    return WheelPath(copy, {});
  };
  for (int trial = 0; trial < 300; ++trial) {
    const std::size_t marked = 1 + random() % (pieces.size() - 2);
    const WheelPath path = make(marked);
    const double begin = pieces[marked].start;
    const double end = pieces[marked + 1].start;
    EXPECT_EQ(path.at(begin).height, 1e-7);
    EXPECT_EQ(path.at(0.5 * (begin + end)).height, 1e-7);
    EXPECT_EQ(path.at(std::nextafter(end, 0.0)).height, 1e-7);
    EXPECT_EQ(path.at(end).height, 0.0);
    EXPECT_EQ(path.at(std::nextafter(begin, -1.0)).height, 0.0);
  }
}

TEST(WheelPath, RefusesWhatIsNoPath) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  EXPECT_THROW(WheelPath({}, {}), std::invalid_argument);
  EXPECT_THROW(WheelPath({line(0.0, nan, 0.0)}, {}), std::invalid_argument);
  EXPECT_THROW(WheelPath({line(nan, 0.0, 0.0)}, {}), std::invalid_argument);
  // First or last piece not linear.
  const PathPiece bent{0.0, {0.0, 0.0, 1.0, 0.0, 0.0, 0.0}};
  EXPECT_THROW(WheelPath({bent}, {}), std::invalid_argument);
  // Starts that do not rise.
  EXPECT_THROW(WheelPath({line(0.0, 0.0, 0.0), line(0.0, 0.0, 0.0)}, {}), std::invalid_argument);
  // A jump of height; a jump of slope that is no kink, and the same as a kink.
  EXPECT_THROW(WheelPath({line(0.0, 0.0, 0.0), line(1.0, 0.1, 0.0)}, {}), std::invalid_argument);
  EXPECT_THROW(WheelPath({line(0.0, 0.0, 0.0), line(1.0, 0.0, 0.1)}, {}), std::invalid_argument);
  EXPECT_NO_THROW(WheelPath({line(0.0, 0.0, 0.0), line(1.0, 0.0, 0.1)}, {1}));
  // Kinks that are not piece numbers in rising order.
  EXPECT_THROW(WheelPath({line(0.0, 0.0, 0.0), line(1.0, 0.0, 0.1)}, {0}), std::invalid_argument);
  EXPECT_THROW(WheelPath({line(0.0, 0.0, 0.0), line(1.0, 0.0, 0.1)}, {2}), std::invalid_argument);
}

TEST(WheelPath, ServesSeveralThreadsAtOnce) {
  const WheelPath path = bump_path();
  std::vector<double> sums(4, 0.0);
  std::vector<std::thread> threads;
  for (double& sum : sums) {
    threads.emplace_back([&path, &sum] {
      for (int i = 0; i < 20000; ++i) sum += path.at(-1.0 + i * 3e-4).height;
    });
  }
  for (std::thread& thread : threads) thread.join();
  EXPECT_GT(sums[0], 0.0);
  for (const double sum : sums) EXPECT_EQ(sum, sums[0]);
}

}  // namespace
}  // namespace plunge::wheel_path_test
