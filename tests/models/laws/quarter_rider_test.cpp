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

  Course<double> line() const { return rider.course(motion); }
  Modes<double> modes() const { return modes_of_state(rider, state, line(), point); }
  Forces<double> forces() const { return rider.forces(state, line(), point, modes()); }
};

Motion<double> rolling(double speed, double acceleration = 0.0, double brake_share = 0.65) {
  return {0.0, speed, acceleration, brake_share, kGravity, {}};
}

State<double> at_rest(const Rider& rider, const Motion<double>& motion) {
  return state_at_rest_on(
      rider, [](double) { return PathPoint<double>{}; }, motion);
}

// A rider of any build, somewhere in a ride: on and off the ground, on the stops, in the port,
// braking and leaning, on a grade that changes.
Scene random_scene(Dice& dice) {
  auto setup = standard_setup();
  setup.bike.head_angle = dice.between(60.0, 90.0) * kPi / 180.0;
  setup.bike.tyre_onset = dice.coin() ? 6e-3 : 0.0;
  setup.bike.wheel_inertia = dice.coin() ? dice.between(0.05, 0.3) : 0.0;
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
  scene.rider = assemble_ridden(setup);
  const double places[] = {dice.between(-2e-3, 0.15), dice.between(4e-3, 6e-3),
                           dice.between(0.14, 0.151)};
  scene.motion = {dice.between(0.0, 100.0),
                  dice.between(1.0, 15.0),
                  dice.between(-6.0, 3.0),
                  dice.between(0.0, 1.0),
                  kGravity / std::cos(dice.between(0.0, 0.7)),
                  {dice.between(-0.6, 0.6), dice.between(-0.3, 0.3), dice.between(-0.5, 0.5)}};
  State<double>& y = scene.state;
  y[kTravel] = places[static_cast<int>(dice.between(0.0, 3.0))];
  y[kTravelSpeed] = dice.between(-6.0, 6.0);
  y[kSprungSpeed] = dice.between(-4.0, 4.0);
  y[kBodySpeed] = dice.between(-4.0, 4.0);
  scene.point = {dice.between(-0.5, 0.5), dice.between(-0.9, 0.9), dice.between(-5.0, 5.0)};
  const double deflection = dice.between(-5e-3, 0.06);
  y[kSprungHeight] = scene.point.height - deflection - y[kTravel] * scene.line().sine;
  y[kBodyHeight] = y[kSprungHeight] + dice.between(-0.15, 0.05);
  y[kMainTemperature] = dice.between(270.0, 420.0);
  y[kNegativeTemperature] = dice.between(200.0, 350.0);
  y[kLegTemperature] = dice.between(270.0, 420.0);
  y[kMainMass] = scene.rider.main_mass_at_port * dice.between(0.97, 1.02);
  y[kBristle] = dice.between(-6e-5, 6e-5);
  return scene;
}

// The equations of motion from the energies alone. Coordinates q = (z_s, x, z_r); prescribed are
// s(t) = s0 + v t + a t^2/2 and theta(t) = theta0 + theta' t + theta'' t^2/2.
//   z_u = z_s + x sin(theta), s_w = s - x cos(theta)
//   T = m_s z_s'^2/2 + m_u (z_u'^2 + s_w'^2)/2 + m_r z_r'^2/2, where the tyre holds + I/r^2
//   s_w'^2/2 V = g (m_s z_s + m_u z_u + m_r z_r) + k (z_r - z_s)^2/2
// All else by virtual work, of forces at the places of wheel and frame.
struct Lagrangian {
  using Real = long double;
  using Q = std::array<Real, 3>;

  const Scene& scene;
  Course<double> line;
  bool on_ground;
  double grounded;  // how far the wheel spins with the ground [1]

  Real angle(Real t) const {
    const Real start = std::atan2(static_cast<Real>(line.sine), static_cast<Real>(line.cosine));
    return start + line.pitch_rate * t + line.pitch_acceleration * t * t / 2;
  }
  // Place of the wheel from where the frame now stands: along and up.
  std::array<Real, 2> wheel(const Q& q, Real t) const {
    const Real frame = static_cast<Real>(scene.motion.speed) * t +
                       static_cast<Real>(scene.motion.acceleration) * t * t / 2;
    return {frame - q[1] * std::cos(angle(t)), q[0] + q[1] * std::sin(angle(t))};
  }
  std::array<Real, 2> wheel_speed(const Q& q, const Q& rate, Real t) const {
    const Real turn = line.pitch_rate + line.pitch_acceleration * t;
    const Real frame =
        static_cast<Real>(scene.motion.speed) + static_cast<Real>(scene.motion.acceleration) * t;
    const Real sine = std::sin(angle(t));
    const Real cosine = std::cos(angle(t));
    return {frame - rate[1] * cosine + q[1] * sine * turn,
            rate[0] + rate[1] * sine + q[1] * cosine * turn};
  }
  Real operator()(const Q& q, const Q& rate, Real t) const {
    const Rider& r = scene.rider;
    const auto [forward, up] = wheel_speed(q, rate, t);
    const Real body = r.has_body ? static_cast<Real>(r.body_mass) : 0.0;
    const Real spin = grounded * r.spin_mass;
    const Real kinetic =
        (r.sprung_mass * rate[0] * rate[0] + r.unsprung_mass * (up * up + forward * forward) +
         spin * forward * forward + body * rate[2] * rate[2]) /
        2;
    const Real weight = static_cast<Real>(scene.motion.gravity) *
                        (r.sprung_mass * q[0] + r.unsprung_mass * wheel(q, t)[1] + body * q[2]);
    const Real stretch = r.has_body ? q[2] - q[0] : 0;
    return kinetic - weight - r.body.stiffness * stretch * stretch / 2;
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

// Force of the ground on the wheel, along and up, from the tyre's law along the normal of the path
// and the brake along its tangent.
struct Ground {
  double along = 0.0;
  double up = 0.0;
};

Ground ground_on_wheel(const Lagrangian& lagrangian, const Forces<double>& f) {
  const Scene& scene = lagrangian.scene;
  const State<double>& y = scene.state;
  if (!lagrangian.on_ground) return {};
  const Tyre<double>& tyre = scene.rider.tyre;
  const auto [forward, rising] = lagrangian.wheel_speed(
      {y[kSprungHeight], y[kTravel], 0.0}, {y[kSprungSpeed], y[kTravelSpeed], 0.0}, 0.0L);
  const double angle = std::atan(scene.point.slope);
  const double gap = scene.point.height - static_cast<double>(lagrangian.wheel(
                                              {y[kSprungHeight], y[kTravel], 0.0}, 0.0L)[1]);
  const double rate =
      scene.point.slope * static_cast<double>(forward) - static_cast<double>(rising);
  const double deep = gap * std::cos(angle);
  const double normal = std::max(
      0.0, tyre.elastic(deep, deep > tyre.rim_depth) + tyre.damping * rate * std::cos(angle));
  const double brake = std::min(lagrangian.line.brake_wanted, scene.rider.bike.grip * normal);
  EXPECT_NEAR(f.tyre, normal, 1e-9 * (1.0 + normal));
  EXPECT_NEAR(f.brake, brake, 1e-9 * (1.0 + brake));
  return {-normal * std::sin(angle) - brake * std::cos(angle),
          normal * std::cos(angle) - brake * std::sin(angle)};
}

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

    const Lagrangian lagrangian{scene, scene.line(), mode[kTyreTouches], r.bike.grounded(f.tyre)};
    const Ground ground = ground_on_wheel(lagrangian, f);
    const State<double>& y = scene.state;
    const double v = y[kTravelSpeed];
    const double body_loss = r.has_body ? r.body.damping * (y[kBodySpeed] - y[kSprungSpeed]) : 0.0;
    double along =
        -r.damper.force(v, v > 0.0) - f.friction - f.air - f.coil - f.bumper - f.metal - f.top_out;
    if (y[kTravel] > r.hydraulic_stop.start && v > 0.0) {
      along -= r.hydraulic_stop.gradient * (y[kTravel] - r.hydraulic_stop.start) * v;
    }
    // The wheel stands at (s - x cos, z_s + x sin).
    const std::array<long double, 3> generalised{
        ground.up + body_loss - f.transfer,
        along + ground.up * lagrangian.line.sine - ground.along * lagrangian.line.cosine,
        -body_loss};
    const std::array<double, 3> expected = lagrangian.accelerations(generalised);
    const double size = 10.0 + std::abs(expected[0]) + std::abs(expected[1]);
    EXPECT_NEAR(f.sprung_acceleration, expected[0], 1e-6 * size) << i;
    EXPECT_NEAR(f.travel_acceleration, expected[1], 1e-6 * size) << i;
    if (r.has_body) {
      EXPECT_NEAR(f.body_acceleration, expected[2], 1e-6 * size) << i;
    }
  }
  EXPECT_GT(on_ground, 250);
  EXPECT_LT(on_ground, 480);
  EXPECT_GT(braking, 100);
}

TEST(QuarterRider, ThePushAcrossTheLegsIsWhatTheWheelIsHeldBy) {
  // Newton's law for the wheel, m_u (s_w'', z_u'') = ground + weight + legs, with the legs' force
  // N_n from the wheel to the legs along (sin, cos): its part across the legs. The accelerations
  // are second differences of the wheel's place.
  Dice dice(16);
  for (int i = 0; i < 500; ++i) {
    const Scene scene = random_scene(dice);
    const Forces<double> f = scene.forces();
    const State<double>& y = scene.state;
    const Lagrangian lagrangian{scene, scene.line(), scene.modes()[kTyreTouches],
                                scene.rider.bike.grounded(f.tyre)};
    const Ground ground = ground_on_wheel(lagrangian, f);
    const long double h = 1e-5L;
    const auto moved = [&](long double t) {
      return lagrangian.wheel_speed(
          {y[kSprungHeight] + y[kSprungSpeed] * t,
           y[kTravel] + y[kTravelSpeed] * t + f.travel_acceleration * t * t / 2, 0.0L},
          {y[kSprungSpeed] + f.sprung_acceleration * t, y[kTravelSpeed] + f.travel_acceleration * t,
           0.0L},
          t);
    };
    const double forward = static_cast<double>((moved(h)[0] - moved(-h)[0]) / (2 * h));
    const double up = static_cast<double>((moved(h)[1] - moved(-h)[1]) / (2 * h));
    const double mass = scene.rider.unsprung_mass;
    const Course<double> line = scene.line();
    const double across = (ground.along - mass * forward) * line.sine +
                          (ground.up - mass * (up + scene.motion.gravity)) * line.cosine;
    EXPECT_NEAR(f.side, across, 1e-6 * (100.0 + std::abs(across))) << i;
  }
}

TEST(QuarterRider, FrictionSideLoadAndMotionAgree) {
  // The friction follows from the side load, the side load from the acceleration of the frame and
  // that from the friction: all three hold at once, to rounding.
  Dice dice(17);
  int rubs = 0;
  for (int i = 0; i < 4000; ++i) {
    const Scene scene = random_scene(dice);
    const Rider& r = scene.rider;
    if (!r.has_friction) continue;
    ++rubs;
    const Forces<double> f = scene.forces();
    const State<double>& y = scene.state;
    const Course<double> line = scene.line();
    const double v = y[kTravelSpeed];
    const double level =
        r.friction.level(r.friction.coulomb({f.side, f.brake * r.wheel_radius}), v);
    const double friction = r.friction.force(
        y[kBristle], r.friction.bristle_rate(y[kBristle], v, std::abs(v), level), v);
    const double turned_over = std::abs(f.tyre) + std::abs(f.brake) + std::abs(f.fork) + 100.0;
    EXPECT_NEAR(f.friction, friction, 1e-12 * turned_over) << i;

    const GroundContact<double> at = r.ground_contact(y, line, scene.point);
    const double along_sine = line.sine * at.cosine + line.cosine * at.sine;
    const double along_cosine = line.cosine * at.cosine - line.sine * at.sine;
    const double bend = 2.0 * v * line.pitch_rate + y[kTravel] * line.pitch_acceleration;
    const double across = f.tyre * along_cosine - f.brake * along_sine -
                          r.unsprung_mass * ((line.gravity + f.sprung_acceleration) * line.cosine +
                                             line.acceleration * line.sine + bend);
    EXPECT_NEAR(f.side, across, 1e-12 * turned_over) << i;
    const double legs = f.tyre * along_sine + f.brake * along_cosine + f.spin - f.fork -
                        r.unsprung_mass * line.gravity * line.sine;
    const double moves =
        r.unsprung_mass * (f.travel_acceleration - y[kTravel] * square(line.pitch_rate) +
                           f.sprung_acceleration * line.sine - line.acceleration * line.cosine);
    EXPECT_NEAR(legs, moves, 1e-12 * turned_over) << i;
  }
  EXPECT_GT(rubs, 1500);
}

TEST(QuarterRider, PowerInIsPowerStoredAndPowerOut) {
  // d(stores)/dt along the motion, exact by forward differentiation, against the audit's integrals.
  Dice dice(12);
  for (int i = 0; i < 2000; ++i) {
    const Scene scene = random_scene(dice);
    const Rider& r = scene.rider;
    const Course<double> line = scene.line();
    Modes<double> mode = scene.modes();
    // The balance holds whichever way direction, brake and hydraulic stop are held, and with the
    // tyre held free.
    mode[kCompresses] = dice.coin();
    mode[kBrakeSlips] = dice.coin();
    mode[kPastHydraulicStop] = dice.coin();
    if (dice.coin()) mode[kTyreTouches] = false;
    const Forces<double> f = r.forces(scene.state, line, scene.point, mode);
    const State<double> rate = r.rates(scene.state, line, scene.point, mode, f);

    State<Dual> moving{};
    for (std::size_t k = 0; k < kMotionStates; ++k) moving[k] = Dual(scene.state[k], rate[k]);
    // d(gap cos_w)/dt: the path turns under the wheel.
    const GroundContact<double> at = r.ground_contact(scene.state, line, scene.point);
    const double turn = scene.point.curvature / (1.0 + square(scene.point.slope)) * at.wheel_speed;
    const Dual touching(f.deflection, f.deflection_rate - at.gap * at.sine * turn);
    const Dual deflection = mode[kTyreTouches] ? touching : Dual(0.0);
    const double stored = with_slopes(r).stores(moving, pitching(line), deflection).total().slope;
    double in = 0.0;
    double out = 0.0;
    double turned_over = 0.0;
    for (std::size_t k = kGravityIn; k < kDamperOut; ++k) in += rate[k];
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
        scene.rider.rates(scene.state, scene.line(), scene.point, scene.modes(), f);
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
  // At 90 deg on level ground the equations fall apart into m_s z_s'' and m_u z_u'', by hand; a
  // brake and a forward acceleration of the wheel do not act along the legs.
  auto setup = standard_setup();
  setup.bike.head_angle = kPi / 2.0;
  setup.fork.friction.bushing = 0.0;
  setup.bike.cg_height = 0.0;
  setup.bike.rolling_resistance = 0.0;
  Scene scene;
  scene.rider = assemble(setup);
  scene.motion = rolling(6.0);
  scene.state = at_rest(scene.rider, scene.motion);
  scene.state[kSprungHeight] -= 4e-3;
  scene.state[kTravelSpeed] = 0.7;
  scene.state[kSprungSpeed] = -0.2;
  const Forces<double> f = scene.forces();
  const Rider& r = scene.rider;
  EXPECT_NEAR(r.sprung_mass * f.sprung_acceleration, f.fork + f.body - r.sprung_mass * kGravity,
              1e-9);
  EXPECT_NEAR(r.unsprung_mass * (f.sprung_acceleration + f.travel_acceleration),
              f.tyre - f.fork - r.unsprung_mass * kGravity, 1e-9);

  Scene braked = scene;
  braked.motion = rolling(6.0, -4.0);
  EXPECT_GT(braked.forces().brake, 200.0);
  EXPECT_NEAR(braked.forces().sprung_acceleration, f.sprung_acceleration, 1e-12);
  EXPECT_NEAR(braked.forces().travel_acceleration, f.travel_acceleration, 1e-12);
}

TEST(QuarterRider, TheAxleCarriesWhatMovesTheLowerLegs) {
  // Newton's law for the lower legs alone, (1 - k) m_u, along the legs: the wheel presses at the
  // axle, the fork pushes back, their weight pulls. Their acceleration along e = (-cos, sin) is
  // x'' - x theta'^2 + z_s'' sin - a cos: that of the frame's point plus that of the stroke.
  Dice dice(15);
  for (int i = 0; i < 2000; ++i) {
    Scene scene = random_scene(dice);
    Rider& r = scene.rider;
    r.wheel_share = dice.between(0.0, 1.0);
    const Forces<double> f = scene.forces();
    const Course<double> line = scene.line();
    const double acceleration =
        f.travel_acceleration - scene.state[kTravel] * square(line.pitch_rate) +
        f.sprung_acceleration * line.sine - scene.motion.acceleration * line.cosine;
    const double legs = (1.0 - r.wheel_share) * r.unsprung_mass;
    const double axle = f.fork + legs * (acceleration + scene.motion.gravity * line.sine);
    EXPECT_NEAR(f.axle, axle, 1e-9 * (std::abs(f.fork) + std::abs(f.tyre) + 100.0)) << i;
    // A wheel that is all of the unsprung mass leaves the fork's force alone at the axle.
    r.wheel_share = 1.0;
    EXPECT_NEAR(scene.forces().axle, f.fork, 1e-9 * (std::abs(f.fork) + 1.0));
  }
}

TEST(QuarterRider, BrakingPressesASlopingForkIn) {
  // By hand, at rest on level ground: the load that moves forward and B cos along the legs both
  // push towards compression; at a steeper head angle the brake does less.
  const auto pressed = [](double angle, double height) {
    auto setup = standard_setup();
    setup.bike.head_angle = angle * kPi / 180.0;
    setup.bike.cg_height = height;
    setup.bike.rolling_resistance = 0.0;
    setup.fork.friction.seal = setup.fork.friction.bushing = 0.0;
    Scene scene;
    scene.rider = assemble(setup);
    scene.state = at_rest(scene.rider, rolling(6.0));
    scene.motion = rolling(6.0, -3.0);
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
  scene.state = at_rest(scene.rider, rolling(6.0));
  scene.motion = rolling(6.0, -20.0, 1.0);
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
        scene.rider.indicators(scene.state, scene.line(), scene.forces(), mode);
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
    setup.bike.wheelbase = 1e6;  // nothing moves load to and fro
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
    scene.motion = rolling(5.0);
    scene.state = at_rest(scene.rider, scene.motion);
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
    const Course<Marked> line;
    Modes<Marked> mode{};
    mode[kPastPortTop] = (parts & 16) != 0;
    const Forces<Marked> f =
        rider.forces_with(y, line, rider.ground_contact(y, line, {}), mode, {Marked(0.0), 2},
                          [](Marked, Marked, Marked) { return Marked(0.0); });
    const auto forces = std::bit_cast<std::array<Marked, sizeof f / sizeof(Marked)>>(f);
    const State<Marked> rates = rider.rates(y, line, {}, mode, f);
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
