#include "models/laws/quarter_rider.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <complex>

#include "models/setup/statics.hpp"
#include "tests/support.hpp"

namespace plunge::quarter_rider_test {
namespace {

struct Scene {
  Rider rider;
  State<double> state{};
  Motion<double> motion;
  PathPoint<double> point;

  Modes<double> modes() const { return modes_of_state(rider, state, motion, point); }
  Forces<double> forces() const { return rider.forces(state, motion, point, modes()); }
};

// A rider of any build, somewhere in a ride: on and off the ground, on the stops, in the port,
// braking and leaning.
Scene random_scene(Dice& dice) {
  auto setup = standard_setup();
  setup.bike.head_angle = dice.between(60.0, 90.0) * kPi / 180.0;
  setup.bike.tyre_onset = dice.coin() ? 6e-3 : 0.0;
  setup.rider.body_mass = dice.coin() ? dice.between(10.0, 40.0) : 0.0;
  setup.fork.hydraulic_stop.length = dice.coin() ? 0.03 : 0.0;
  setup.fork.hydraulic_stop.damping = 1500.0;
  setup.fork.friction.seal = dice.coin() ? dice.between(5.0, 40.0) : 0.0;
  setup.fork.friction.bushing = setup.fork.friction.seal > 0.0 ? 0.02 : 0.0;
  if (dice.coin()) {
    setup.fork.spring = Spring::coil;
    setup.fork.coil.rate = dice.between(4e3, 12e3);
    setup.fork.coil.preload = dice.between(0.0, 100.0);
  } else if (dice.coin()) {
    setup.fork.negative = NegativeSpring::coil;
    setup.fork.negative_coil = {5e3, 0.03};
  }
  if (dice.coin()) {
    setup.fork.air.leg_area = 10e-4;
    setup.fork.air.leg_volume = 300e-6;
    setup.fork.air.leg_time = 1.0;
  }

  Scene scene;
  scene.rider = assemble(setup);
  const double places[] = {dice.between(-2e-3, 0.15), dice.between(4e-3, 6e-3),
                           dice.between(0.14, 0.151)};
  State<double>& y = scene.state;
  y[kTravel] = places[static_cast<int>(dice.between(0.0, 3.0))];
  y[kTravelSpeed] = dice.between(-6.0, 6.0);
  y[kSprungSpeed] = dice.between(-4.0, 4.0);
  y[kBodySpeed] = dice.between(-4.0, 4.0);
  scene.point = {dice.between(-0.5, 0.5), dice.between(-0.6, 0.6)};
  const double deflection = dice.between(-5e-3, 0.06);
  y[kSprungHeight] = scene.point.height - deflection - y[kTravel] * scene.rider.bike.sine;
  y[kBodyHeight] = y[kSprungHeight] + dice.between(-0.15, 0.05);
  y[kMainTemperature] = dice.between(270.0, 420.0);
  y[kNegativeTemperature] = dice.between(200.0, 350.0);
  y[kLegTemperature] = dice.between(270.0, 420.0);
  y[kMainMass] = scene.rider.main_mass_at_port * dice.between(0.97, 1.02);
  y[kBristle] = dice.between(-6e-5, 6e-5);
  scene.motion = {dice.between(0.0, 100.0), dice.between(1.0, 15.0), dice.between(-6.0, 3.0),
                  dice.coin() ? dice.between(0.0, 900.0) : 0.0,
                  kGravity / std::cos(dice.between(0.0, 0.7))};
  return scene;
}

// The equations of motion from the energies alone. Coordinates q = (z_s, x, z_r), prescribed
// s(t) = s0 + v t + a t^2/2; the path is its tangent under the wheel.
//   T = m_s z_s'^2/2 + m_u (z_u'^2 + s_w'^2)/2 + m_r z_r'^2/2,  z_u = z_s + x sin, s_w = s - x cos
//   V = g (m_s z_s + m_u z_u + m_r z_r) + U_arms + U_tyre(h(s_w) - z_u)
// All else by virtual work: forces along x, loss of tyre and arms, brake -B ds_w, transfer -F dz_s.
struct Lagrangian {
  using Real = long double;
  using Q = std::array<Real, 3>;

  const Scene& scene;
  bool on_ground;

  Real wheel(const Q& q, Real t) const {
    return static_cast<Real>(scene.motion.speed) * t +
           static_cast<Real>(scene.motion.acceleration) * t * t / 2 -
           (q[1] - static_cast<Real>(scene.state[kTravel])) * scene.rider.bike.cosine;
  }
  Real deflection(const Q& q, Real t) const {
    return scene.point.height + scene.point.slope * wheel(q, t) -
           (q[0] + q[1] * scene.rider.bike.sine);
  }
  Real tyre_energy(Real d) const {
    const auto& tyre = scene.rider.tyre;
    Real energy = 0;
    if (!on_ground || d < 0) return 0;
    const Real k = tyre.stiffness;
    const Real onset = tyre.onset;
    if (onset > 0 && d < onset) {
      energy = k * 4 / 15 * std::pow(d, 2.5L) / std::sqrt(onset);
    } else {
      energy = k * (d * d / 2 - onset * d / 3 + onset * onset / 10);
    }
    if (d > tyre.rim_depth) {
      energy += tyre.rim_stiffness * (d - tyre.rim_depth) * (d - tyre.rim_depth) / 2;
    }
    return energy;
  }
  Real operator()(const Q& q, const Q& rate, Real t) const {
    const Rider& r = scene.rider;
    const Real up = rate[0] + rate[1] * r.bike.sine;
    const Real forward = static_cast<Real>(scene.motion.speed) +
                         static_cast<Real>(scene.motion.acceleration) * t - rate[1] * r.bike.cosine;
    const Real body = r.has_body ? static_cast<Real>(r.body_mass) : 0.0;
    const Real kinetic =
        (r.sprung_mass * rate[0] * rate[0] + r.unsprung_mass * (up * up + forward * forward) +
         body * rate[2] * rate[2]) /
        2;
    const Real weight =
        static_cast<Real>(scene.motion.gravity) *
        (r.sprung_mass * q[0] + r.unsprung_mass * (q[0] + q[1] * r.bike.sine) + body * q[2]);
    const Real stretch = r.has_body ? q[2] - q[0] : 0;
    return kinetic - weight - r.body.stiffness * stretch * stretch / 2 -
           tyre_energy(deflection(q, t));
  }

  // M q'' = dL/dq - (d2L/dq' dq) q' - d2L/dq' dt + Q, all by central differences.
  std::array<double, 3> accelerations(const std::array<Real, 3>& generalised) const {
    const State<double>& y = scene.state;
    const Q q{y[kSprungHeight], y[kTravel], y[kBodyHeight]};
    const Q rate{y[kSprungSpeed], y[kTravelSpeed], y[kBodySpeed]};
    const Real h = 1e-6L;  // for places and time
    const Real w = 1e-1L;  // for speeds, in which L is quadratic
    const auto moved = [](Q a, std::size_t i, Real by) {
      a[i] += by;
      return a;
    };
    const auto momentum = [&](const Q& at, const Q& speed, Real t, std::size_t i) {
      return ((*this)(at, moved(speed, i, w), t) - (*this)(at, moved(speed, i, -w), t)) / (2 * w);
    };
    const std::size_t n = scene.rider.has_body ? 3 : 2;
    Real m[3][4] = {};
    for (std::size_t i = 0; i < n; ++i) {
      for (std::size_t k = 0; k < n; ++k) {
        m[i][k] = (momentum(q, moved(rate, k, w), 0, i) - momentum(q, moved(rate, k, -w), 0, i)) /
                  (2 * w);
        m[i][3] -= (momentum(moved(q, k, h), rate, 0, i) - momentum(moved(q, k, -h), rate, 0, i)) /
                   (2 * h) * rate[k];
      }
      m[i][3] -= (momentum(q, rate, h, i) - momentum(q, rate, -h, i)) / (2 * h);
      m[i][3] += ((*this)(moved(q, i, h), rate, 0) - (*this)(moved(q, i, -h), rate, 0)) / (2 * h);
      m[i][3] += generalised[i];
    }
    // Gauss elimination; the mass matrix is positive definite.
    for (std::size_t p = 0; p < n; ++p) {
      for (std::size_t i = 0; i < n; ++i) {
        if (i == p) continue;
        const Real factor = m[i][p] / m[p][p];
        for (std::size_t k = 0; k < 4; ++k) m[i][k] -= factor * m[p][k];
      }
    }
    std::array<double, 3> result{};
    for (std::size_t i = 0; i < n; ++i) result[i] = static_cast<double>(m[i][3] / m[i][i]);
    return result;
  }
};

TEST(QuarterRider, MotionFollowsFromTheEnergies) {
  // Lagrange's equations, set up independently in this test.
  Dice dice(11);
  int on_ground = 0;
  int braking = 0;
  for (int i = 0; i < 500; ++i) {
    const Scene scene = random_scene(dice);
    const Rider& r = scene.rider;
    const Modes<double> mode = scene.modes();
    const Forces<double> f = scene.forces();
    on_ground += mode[kTyreTouches] ? 1 : 0;
    braking += f.brake > 0.0 ? 1 : 0;

    const Lagrangian lagrangian{scene, mode[kTyreTouches]};
    const State<double>& y = scene.state;
    const double v = y[kTravelSpeed];
    const double wheel_speed = scene.motion.speed - v * r.bike.cosine;
    // Loss of the tyre: -c d' dd, with d = h - z_s - x sin - h' cos dx.
    const double rate = scene.point.slope * wheel_speed - y[kSprungSpeed] - v * r.bike.sine;
    const double tyre_loss = mode[kTyreTouches] ? r.tyre.damping * rate : 0.0;
    const double arm_loss = r.has_body ? r.body.damping * (y[kBodySpeed] - y[kSprungSpeed]) : 0.0;
    double along =
        -r.damper.force(v, v > 0.0) - f.friction - f.air - f.coil - f.bumper - f.metal - f.top_out;
    if (y[kTravel] > r.hydraulic_stop.start && v > 0.0) {
      along -= r.hydraulic_stop.gradient * (y[kTravel] - r.hydraulic_stop.start) * v;
    }
    const double normal = mode[kTyreTouches] ? f.tyre : 0.0;
    const double brake = std::min(scene.motion.brake_wanted, r.bike.grip * normal);
    const double transfer = -r.bike.total_mass * scene.motion.acceleration * r.bike.cg_lever;
    const std::array<long double, 3> generalised{
        tyre_loss + arm_loss - transfer,
        along + tyre_loss * (r.bike.sine + scene.point.slope * r.bike.cosine) +
            brake * r.bike.cosine,
        -arm_loss};
    const std::array<double, 3> expected = lagrangian.accelerations(generalised);
    const double size = 10.0 + std::abs(expected[0]) + std::abs(expected[1]);
    EXPECT_NEAR(f.sprung_acceleration, expected[0], 1e-6 * size) << i;
    EXPECT_NEAR(f.travel_acceleration, expected[1], 1e-6 * size) << i;
    if (r.has_body) {
      EXPECT_NEAR(f.body_acceleration, expected[2], 1e-6 * size) << i;
    }
  }
  EXPECT_GT(on_ground, 300);
  EXPECT_LT(on_ground, 480);
  EXPECT_GT(braking, 100);
}

TEST(QuarterRider, PowerInIsPowerStoredAndPowerOut) {
  // d(stores)/dt along the motion, exact by forward differentiation, against the audit's integrals.
  Dice dice(12);
  for (int i = 0; i < 2000; ++i) {
    const Scene scene = random_scene(dice);
    const Rider& r = scene.rider;
    Modes<double> mode = scene.modes();
    // The balance holds whichever way direction, brake and hydraulic stop are held, and with the
    // tyre held free.
    mode[kCompresses] = dice.coin();
    mode[kBrakeSlips] = dice.coin();
    mode[kPastHydraulicStop] = dice.coin();
    if (dice.coin()) mode[kTyreTouches] = false;
    const Forces<double> f = r.forces(scene.state, scene.motion, scene.point, mode);
    const State<double> rate = r.rates(scene.state, scene.motion, scene.point, mode, f);

    State<Dual> moving{};
    for (std::size_t k = 0; k < kMotionStates; ++k) moving[k] = Dual(scene.state[k], rate[k]);
    const QuarterRider<Dual> differentiable = with_slopes(r);
    const double stored =
        differentiable.stores(moving, Dual(f.deflection, f.deflection_rate)).total().slope;
    double in = 0.0;
    double out = 0.0;
    double turned_over = 0.0;
    for (std::size_t k = kGravityIn; k <= kTransferIn; ++k) in += rate[k];
    for (std::size_t k = kDamperOut; k < kStates; ++k) out += rate[k];
    for (std::size_t k = kGravityIn; k < kStates; ++k) turned_over += std::abs(rate[k]);
    turned_over += std::abs(f.fork * scene.state[kTravelSpeed]);
    EXPECT_NEAR(stored, in - out, 1e-9 * turned_over) << i;
    EXPECT_GT(turned_over, 1.0);
  }
}

TEST(QuarterRider, LossesOnlyTakeEnergyOut) {
  Dice dice(13);
  for (int i = 0; i < 2000; ++i) {
    const Scene scene = random_scene(dice);
    const Forces<double> f = scene.forces();
    const State<double> rate =
        scene.rider.rates(scene.state, scene.motion, scene.point, scene.modes(), f);
    EXPECT_GE(rate[kDamperOut], 0.0);
    EXPECT_GE(rate[kStopsOut], -1e-9);
    EXPECT_GE(rate[kBodyOut], 0.0);
    if (scene.modes()[kTyreTouches]) {
      EXPECT_GE(rate[kTyreOut], 0.0);
    }
    EXPECT_GE(f.tyre, 0.0);
  }
}

TEST(QuarterRider, AnUprightForkKnowsNothingOfWhatHappensAlong) {
  // At 90 deg the equations fall apart into m_s z_s'' and m_u z_u'', by hand; a brake, a forward
  // acceleration of the wheel and the slope under it do not act along the legs.
  auto setup = standard_setup();
  setup.bike.head_angle = kPi / 2.0;
  setup.fork.friction.bushing = 0.0;
  setup.bike.cg_height = 0.0;
  Scene scene;
  scene.rider = assemble(setup);
  scene.state = state_at_rest(scene.rider, {0.0, 0.0}, {0.0, 6.0, 0.0, 0.0, kGravity});
  scene.state[kSprungHeight] -= 4e-3;
  scene.state[kTravelSpeed] = 0.7;
  scene.state[kSprungSpeed] = -0.2;
  scene.motion = {0.0, 6.0, 0.0, 0.0, kGravity};
  const Forces<double> f = scene.forces();
  const Rider& r = scene.rider;
  EXPECT_NEAR(r.sprung_mass * f.sprung_acceleration, f.fork + f.arms - r.sprung_mass * kGravity,
              1e-9);
  EXPECT_NEAR(r.unsprung_mass * (f.sprung_acceleration + f.travel_acceleration),
              f.tyre - f.fork - r.unsprung_mass * kGravity, 1e-9);

  Scene braked = scene;
  braked.motion = {0.0, 6.0, -4.0, 250.0, kGravity};
  EXPECT_NEAR(braked.forces().brake, 250.0, 1e-12);
  EXPECT_NEAR(braked.forces().sprung_acceleration, f.sprung_acceleration, 1e-12);
  EXPECT_NEAR(braked.forces().travel_acceleration, f.travel_acceleration, 1e-12);
}

TEST(QuarterRider, TheAxleCarriesWhatMovesTheLowerLegs) {
  // Newton's law for the lower legs alone, (1 - k) m_u, along the legs: the wheel presses at the
  // axle, the fork pushes back, their weight pulls. Their acceleration along e = (-cos, sin) is
  // x'' + z_s'' sin - a cos: that of the frame's point plus that of the stroke.
  Dice dice(15);
  for (int i = 0; i < 2000; ++i) {
    Scene scene = random_scene(dice);
    Rider& r = scene.rider;
    r.wheel_share = dice.between(0.0, 1.0);
    const Forces<double> f = scene.forces();
    const double acceleration = f.travel_acceleration + f.sprung_acceleration * r.bike.sine -
                                scene.motion.acceleration * r.bike.cosine;
    const double legs = (1.0 - r.wheel_share) * r.unsprung_mass;
    const double axle = f.fork + legs * (acceleration + scene.motion.gravity * r.bike.sine);
    EXPECT_NEAR(f.axle, axle, 1e-9 * (std::abs(f.fork) + std::abs(f.tyre) + 100.0)) << i;
    // A wheel that is all of the unsprung mass leaves the fork's force alone at the axle.
    r.wheel_share = 1.0;
    EXPECT_NEAR(scene.forces().axle, f.fork, 1e-9 * (std::abs(f.fork) + 1.0));
  }
}

TEST(QuarterRider, BrakingPressesASlopingForkIn) {
  // By hand, at rest on level ground: the transfer m a h/b on the sprung mass and B cos along the
  // legs both push towards compression; at a steeper head angle the brake does less.
  const auto pressed = [](double angle, double height) {
    auto setup = standard_setup();
    setup.bike.head_angle = angle * kPi / 180.0;
    setup.bike.cg_height = height;
    setup.fork.friction.seal = setup.fork.friction.bushing = 0.0;
    Scene scene;
    scene.rider = assemble(setup);
    scene.state = state_at_rest(scene.rider, {}, {0.0, 6.0, 0.0, 0.0, kGravity});
    scene.motion = {0.0, 6.0, 0.0, 200.0, kGravity};
    if (height > 0.0) scene.motion.acceleration = -3.0;
    return scene.forces().travel_acceleration;
  };
  EXPECT_GT(pressed(65.0, 0.0), 0.0);
  EXPECT_GT(pressed(65.0, 1.1), pressed(65.0, 0.0));
  EXPECT_LT(pressed(75.0, 0.0), pressed(65.0, 0.0));
  EXPECT_NEAR(pressed(90.0, 0.0), 0.0, 1e-9);
}

TEST(QuarterRider, GripLimitsTheBrake) {
  Scene scene;
  scene.rider = assemble(standard_setup());
  scene.state = state_at_rest(scene.rider, {}, {0.0, 6.0, 0.0, 0.0, kGravity});
  scene.motion = {0.0, 6.0, 0.0, 5000.0, kGravity};
  const Forces<double> f = scene.forces();
  EXPECT_NEAR(f.brake, scene.rider.bike.grip * f.tyre, 1e-9);
  EXPECT_GT(f.tyre, 100.0);
  scene.state[kSprungHeight] += 0.5;  // in the air nothing brakes
  EXPECT_EQ(scene.forces().brake, 0.0);
  EXPECT_EQ(scene.forces().tyre, 0.0);
}

TEST(QuarterRider, IndicatorsSignTheModes) {
  // Each mode is on while its indicator is positive, at any state.
  Dice dice(14);
  for (int i = 0; i < 2000; ++i) {
    const Scene scene = random_scene(dice);
    const Modes<double> mode = scene.modes();
    const Indicators<double> indicator =
        scene.rider.indicators(scene.state, scene.motion, scene.forces(), mode);
    for (std::size_t k = 0; k < kSwitches; ++k) {
      EXPECT_EQ(indicator[k] > 0.0, mode[k]) << "switch " << k << " of scene " << i;
    }
  }
}

// A linear quarter car, its coefficients read off the model by finite differences.
struct LinearCar {
  using Complex = std::complex<double>;
  std::array<std::array<double, 5>, 2> slopes{};  // of z_s'', x'' by z_s, x, z_s', x', h

  LinearCar(double rate, double damping) {
    auto setup = standard_setup();
    setup.bike.head_angle = kPi / 2.0;
    setup.bike.tyre_damping = 0.0;
    setup.rider.body_mass = 0.0;
    setup.rider.sprung_mass = 30.0;
    setup.fork.unsprung_mass = 4.0;
    setup.fork.spring = Spring::coil;
    setup.fork.coil = {rate, 0.0};
    setup.fork.friction.seal = setup.fork.friction.bushing = 0.0;
    for (DamperSetup* side : {&setup.fork.compression, &setup.fork.rebound}) {
      side->low_speed = side->high_speed = damping;
    }
    Scene scene;
    scene.rider = assemble(setup);
    scene.motion = {0.0, 5.0, 0.0, 0.0, kGravity};
    scene.state = state_at_rest(scene.rider, {}, scene.motion);
    constexpr std::array<std::size_t, 4> kPlaces{kSprungHeight, kTravel, kSprungSpeed,
                                                 kTravelSpeed};
    const double nudge = 1e-4;
    for (std::size_t k = 0; k < 5; ++k) {
      const auto nudged = [&](double by) {
        Scene moved = scene;
        (k < 4 ? moved.state[kPlaces[k]] : moved.point.height) += by;
        return moved.forces();
      };
      const Forces<double> up = nudged(nudge);
      const Forces<double> down = nudged(-nudge);
      slopes[0][k] = (up.sprung_acceleration - down.sprung_acceleration) / (2.0 * nudge);
      slopes[1][k] = (up.travel_acceleration - down.travel_acceleration) / (2.0 * nudge);
    }
  }

  // Amplitudes of z_s and x over that of the road at an angular frequency.
  std::array<Complex, 2> gain(double w) const {
    const Complex j(0.0, 1.0);
    Complex m[2][2];
    for (std::size_t i = 0; i < 2; ++i) {
      for (std::size_t k = 0; k < 2; ++k) {
        m[i][k] = -slopes[i][k] - j * w * slopes[i][k + 2] - (i == k ? w * w : 0.0);
      }
    }
    const Complex determinant = m[0][0] * m[1][1] - m[0][1] * m[1][0];
    return {(slopes[0][4] * m[1][1] - m[0][1] * slopes[1][4]) / determinant,
            (m[0][0] * slopes[1][4] - m[1][0] * slopes[0][4]) / determinant};
  }
};

TEST(QuarterRider, InvariantPointsDoNotKnowTheStrut) {
  // Classical: with an undamped tyre, |X_s/Y| = m_u/m_s at sqrt(k_t/m_u) and |stroke/Y| = 1 +
  // m_u/m_s at sqrt(k_t/(m_s + m_u)), for any linear spring and damper between the masses.
  const double wheel_hop = std::sqrt(90e3 / 4.0);
  const double body_on_tyre = std::sqrt(90e3 / 34.0);
  for (const double rate : {4e3, 9e3, 15e3}) {
    for (const double damping : {150.0, 400.0, 1200.0}) {
      const LinearCar car(rate, damping);
      EXPECT_NEAR(std::abs(car.gain(wheel_hop)[0]), 4.0 / 30.0, 1e-6) << rate << " " << damping;
      EXPECT_NEAR(std::abs(car.gain(body_on_tyre)[1]), 34.0 / 30.0, 1e-6) << rate << " " << damping;
    }
  }
  // Elsewhere the strut does matter.
  EXPECT_GT(std::abs(LinearCar(9e3, 400.0).gain(60.0)[0]),
            1.1 * std::abs(LinearCar(4e3, 150.0).gain(60.0)[0]));
}

TEST(QuarterRider, ALongSlowRoadIsSimplyFollowed) {
  const std::array<std::complex<double>, 2> gain = LinearCar(9e3, 400.0).gain(1e-3);
  EXPECT_NEAR(std::abs(gain[0]), 1.0, 1e-6);
  EXPECT_NEAR(std::abs(gain[1]), 0.0, 1e-6);
}

// A number that knows whether anything was ever put into it.
struct Marked {
  double value = 0.0;
  bool set = false;

  Marked() = default;
  Marked(double v) : value(v), set(true) {}
  Marked& operator+=(Marked b) { return *this = *this + b; }
  Marked& operator-=(Marked b) { return *this = *this - b; }
  friend Marked operator-(Marked a) { return -a.value; }
  friend Marked operator+(Marked a, Marked b) { return a.value + b.value; }
  friend Marked operator-(Marked a, Marked b) { return a.value - b.value; }
  friend Marked operator*(Marked a, Marked b) { return a.value * b.value; }
  friend Marked operator/(Marked a, Marked b) { return a.value / b.value; }
  friend bool operator<(Marked a, Marked b) { return a.value < b.value; }
  friend bool operator>(Marked a, Marked b) { return b < a; }
  friend Marked sqrt(Marked a) { return std::sqrt(a.value); }
  friend Marked exp(Marked a) { return std::exp(a.value); }
  friend Marked abs(Marked a) { return std::abs(a.value); }
  friend Marked max(Marked a, Marked b) { return std::max(a.value, b.value); }
  friend Marked select(bool mask, Marked a, Marked b) { return mask ? a.value : b.value; }
};

TEST(QuarterRider, ForcesAndRatesAreSetWhateverPartsAreThere) {
  // Both start unset, so a part that is absent has to leave its 0.
  for (unsigned parts = 0; parts < 32; ++parts) {
    QuarterRider<Marked> rider;
    rider.has_air = (parts & 1) != 0;
    rider.has_leg_air = (parts & 2) != 0;
    rider.has_body = (parts & 4) != 0;
    rider.has_friction = (parts & 8) != 0;
    rider.air.ambient = 1e5;
    State<Marked> y;
    y.fill(1.0);
    Motion<Marked> motion;
    motion.brake_wanted = 0.0;
    Modes<Marked> mode{};
    mode[kPastPortTop] = (parts & 16) != 0;
    const Forces<Marked> f =
        rider.forces_with(y, motion, {}, mode, [](Marked, Marked, Marked) { return Marked(0.0); });
    const auto forces = std::bit_cast<std::array<Marked, sizeof f / sizeof(Marked)>>(f);
    const State<Marked> rates = rider.rates(y, motion, {}, mode, f);
    for (std::size_t i = 0; i < forces.size(); ++i) {
      EXPECT_TRUE(forces[i].set) << "force " << i << ", parts " << parts;
    }
    for (std::size_t i = 0; i < rates.size(); ++i) {
      EXPECT_TRUE(rates[i].set) << "rate " << i << ", parts " << parts;
    }
  }
}

}  // namespace
}  // namespace plunge::quarter_rider_test
