#include "models/laws/stops.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>

#include "tests/support.hpp"

namespace plunge::stops_test {
namespace {

Bumper<double> bumper() { return {0.14, 3e4, 6.5e9, 0.2, 0.01}; }
MetalStop<double> metal() { return {0.15, 1e8, 0.2, 0.0}; }
MetalStop<double> metal_in_series() { return {0.15, 1e8, 0.2, 4e-6}; }
TopOut<double> top_out() { return {2e5, 0.3}; }

template <class Contact>
double force(const Contact& contact, double x, double v) {
  return contact.force(x, v, contact.depth(x) > 0.0);
}

// Speed at which a mass that meets the contact at `x` with speed v (signed) leaves it again.
template <class Contact>
double rebound_speed(const Contact& contact, double x, double v, double mass) {
  using Two = std::array<double, 2>;
  const auto rates = [&](double, const Two& y) -> Two {
    return {y[1], -force(contact, y[0], y[1]) / mass};
  };
  Two y{x, v};
  do {
    y = integrate(y, 1e-6, 1, rates);
  } while (contact.depth(y[0]) > 0.0);
  return -y[1];
}

// Closed form for any elastic force f(d) (1 + chi d'): m v dv/(1 + chi v) = -f dd, so that
// G(v) = v - ln(1 + chi v)/chi is the same coming and going.
double closed_form_rebound(double v, double loss) {
  const auto g = [&](double s) { return s - std::log(1.0 + loss * s) / loss; };
  double low = -v;
  double high = 0.0;
  for (int i = 0; i < 200; ++i) {
    const double middle = 0.5 * (low + high);
    (g(middle) > g(v) ? low : high) = middle;
  }
  return -low;
}

TEST(Bumper, ForceIsThatOfItsTwoStiffnesses) {
  // By hand, 8 mm in: 3e4*8e-3 + 6.5e9*512e-9 = 240 + 3328 N; stored 0.96 + 6.656 J. At 1 m/s the
  // loss adds 20 %.
  EXPECT_NEAR(force(bumper(), 0.148, 0.0), 3568.0, 1e-6);
  EXPECT_NEAR(bumper().stored_energy(0.148), 7.616, 1e-9);
  EXPECT_NEAR(force(bumper(), 0.148, 1.0), 1.2 * 3568.0, 1e-6);
  EXPECT_NEAR(force(bumper(), 0.148, -1.0), 0.8 * 3568.0, 1e-6);
  EXPECT_EQ(force(bumper(), 0.139, 1.0), 0.0);
}

TEST(Bumper, IsSqueezedNoFurtherThanToTheMetal) {
  // By hand, 10 mm in: 300 + 6500 N, stored 1.5 + 16.25 J; what the chassis gives past that is
  // work against the same force.
  EXPECT_NEAR(force(bumper(), 0.15, 0.0), 6800.0, 1e-6);
  EXPECT_NEAR(force(bumper(), 0.155, 0.0), 6800.0, 1e-6);
  EXPECT_NEAR(bumper().stored_energy(0.15), 17.75, 1e-9);
  EXPECT_NEAR(bumper().stored_energy(0.155), 17.75 + 34.0, 1e-9);
}

TEST(MetalStop, ForceOfARigidChassisIsHertzian) {
  // By hand, 0.1 mm in: 1e8*(1e-4)^1.5 = 100 N, stored 0.4*100*1e-4 = 4 mJ.
  EXPECT_NEAR(force(metal(), 0.1501, 0.0), 100.0, 1e-6);
  EXPECT_NEAR(metal().stored_energy(0.1501), 4e-3, 1e-9);
  EXPECT_EQ(force(metal(), 0.1499, 3.0), 0.0);
}

TEST(MetalStop, ContactAndChassisCarryTheSameForce) {
  // By hand: 800 N squeeze the contact by (800/1e8)^(2/3) = 0.4 mm and give the chassis 800/2.5e5 =
  // 3.2 mm; stored 0.4*800*0.4e-3 + 800^2/(2*2.5e5) = 0.128 + 1.28 J.
  EXPECT_NEAR(force(metal_in_series(), 0.1536, 0.0), 800.0, 1e-6);
  EXPECT_NEAR(metal_in_series().stored_energy(0.1536), 1.408, 1e-9);
  // At 1 m/s the loss adds 20 %.
  EXPECT_NEAR(force(metal_in_series(), 0.1536, 1.0), 960.0, 1e-6);
  // Past the end of the contact the law goes on as an odd function.
  EXPECT_EQ(metal_in_series().elastic(-2e-3), -metal_in_series().elastic(2e-3));
  EXPECT_EQ(metal_in_series().elastic(0.0), 0.0);
}

TEST(MetalStop, TheSharesAddUpWhateverTheStiffnesses) {
  // b r^3 + r^2 = 1 to the last digits: from a rigid chassis to one that gives all but nothing to
  // the contact. b = 1e6 is the hardest contact (1e11 N/m^1.5) on the softest chassis (1e4 N/m) at
  // 0.01 mm; the hardest on the default chassis has 6.3e4 at 25 mm.
  EXPECT_EQ(MetalStop<double>::inverse_share_root(0.0), 1.0);
  double before = 1.0;
  for (double b = 1e-9; b < 1e6; b *= 1.01) {
    const double r = 1.0 / MetalStop<double>::inverse_share_root(b);
    EXPECT_NEAR(b * r * r * r + r * r, 1.0, 4e-15) << b;
    EXPECT_LE(r, before) << b;
    before = r;
  }
  EXPECT_LT(before, 0.0101);
}

TEST(MetalStop, TwoStepsAreEnoughForAFloatsForce) {
  // F is as 1/(s + b): an s that is off weighs little where b is large.
  using Stop = MetalStop<double>;
  for (double b = 1e-9; b < 1e9; b *= 1.01) {
    const double force = (Stop::inverse_share_root(b) + b) / (Stop::inverse_share_root(b, 2) + b);
    EXPECT_NEAR(force, 1.0, 4e-6) << b;
  }
}

TEST(MetalStop, AHardContactLeavesThePeakToTheChassis) {
  // A mass of 2.8 kg at 2 m/s, 5.6 J: a contact ten times as hard raises the force by less than a
  // fifth, where a rigid chassis would have it rise by 10^0.4 = 2.5 (0.4 k d^2.5 = E gives
  // F ~ k^0.4). Without loss the peak is where all is stored.
  const auto peak = [](double stiffness, double give) {
    const MetalStop<double> stop{0.15, stiffness, 0.0, give};
    double d = 0.0;
    while (stop.stored_energy(0.15 + d) < 5.6) d += 1e-7;
    return stop.elastic(d);
  };
  EXPECT_NEAR(peak(1e9, 0.0) / peak(1e8, 0.0), std::pow(10.0, 0.4), 1e-3);
  EXPECT_LT(peak(1e9, 4e-6) / peak(1e8, 4e-6), 1.2);
  EXPECT_GT(peak(1e9, 4e-6) / peak(1e8, 4e-6), 1.0);
  // sqrt(2 E k_c) = 1673 N is what a contact that is squeezed by nothing leaves.
  EXPECT_LT(peak(1e9, 4e-6), std::sqrt(2.0 * 5.6 * 2.5e5));
}

TEST(TopOut, PullsAnOverExtendedForkIn) {
  // By hand, 1 mm over: -200 N, 0.1 J; extending at 1 m/s, -260 N; coming back, -140 N.
  EXPECT_NEAR(force(top_out(), -1e-3, 0.0), -200.0, 1e-9);
  EXPECT_NEAR(top_out().stored_energy(-1e-3), 0.1, 1e-12);
  EXPECT_NEAR(force(top_out(), -1e-3, -1.0), -260.0, 1e-9);
  EXPECT_NEAR(force(top_out(), -1e-3, 1.0), -140.0, 1e-9);
  EXPECT_EQ(force(top_out(), 1e-3, -1.0), 0.0);
}

TEST(Stops, ContactsPushAndNeverPull) {
  Dice dice(4);
  for (int i = 0; i < 10'000; ++i) {
    const double x = dice.between(-0.01, 0.16);
    const double v = dice.between(-20.0, 20.0);
    EXPECT_GE(force(bumper(), x, v), 0.0);
    EXPECT_GE(force(metal(), x, v), 0.0);
    EXPECT_GE(force(metal_in_series(), x, v), 0.0);
    EXPECT_LE(force(top_out(), x, v), 0.0);
  }
  EXPECT_EQ(force(bumper(), 0.148, -6.0), 0.0);  // parts faster than 1/chi
}

TEST(Stops, AGentleHitLosesTwoThirdsOfTheLossTimesItsSpeed) {
  // Hunt & Crossley 1975: restitution e = 1 - 2/3 chi v for small chi v, whatever the exponent.
  for (const double v : {0.02, 0.05}) {
    const double expected = 1.0 - 2.0 / 3.0 * 0.2 * v;
    EXPECT_NEAR(rebound_speed(metal(), 0.15, v, 30.0) / v, expected, 2e-4);
    EXPECT_NEAR(rebound_speed(metal_in_series(), 0.15, v, 30.0) / v, expected, 2e-4);
    EXPECT_NEAR(rebound_speed(bumper(), 0.14, v, 30.0) / v, expected, 2e-4);
    const double topped = 1.0 - 2.0 / 3.0 * 0.3 * v;
    EXPECT_NEAR(rebound_speed(top_out(), 0.0, -v, 4.0) / -v, topped, 2e-4);
  }
}

TEST(Stops, AHardHitLeavesWithTheClosedFormSpeed) {
  // v - ln(1 + chi v)/chi is kept: 3 m/s at chi 0.2 leaves with 2.13585 m/s (computed).
  EXPECT_NEAR(closed_form_rebound(3.0, 0.2), 2.13585, 1e-5);
  for (const double v : {0.5, 1.5, 3.0}) {
    EXPECT_NEAR(rebound_speed(metal(), 0.15, v, 30.0), closed_form_rebound(v, 0.2), 2e-4 * v);
    EXPECT_NEAR(rebound_speed(metal_in_series(), 0.15, v, 30.0), closed_form_rebound(v, 0.2),
                2e-4 * v);
    EXPECT_NEAR(rebound_speed(bumper(), 0.14, v, 30.0), closed_form_rebound(v, 0.2), 2e-4 * v);
    EXPECT_NEAR(rebound_speed(top_out(), 0.0, -v, 4.0), -closed_form_rebound(v, 0.3), 2e-4 * v);
  }
}

TEST(Stops, WithoutLossAHitGivesAllBack) {
  MetalStop<double> hard = metal();
  hard.loss = 0.0;
  EXPECT_NEAR(rebound_speed(hard, 0.15, 2.0, 30.0), 2.0, 1e-4);
}

}  // namespace
}  // namespace plunge::stops_test
