// A whole bike in its plane: what the quarter rider leaves out, so that what it costs can be told.
//
// Seven coordinates: along, up and pitch of the main body (frame with what the rider carries
// rigidly), travel of the fork, upper body over the front and over the rear wheel, travel of the
// rear wheel (held at 0 where the rear is rigid). Nothing is prescribed but the speed that the
// rider wants:
//
//   M(q) q'' = Q - sum m_i J_i^T (J_i' q'),     M = sum m_i J_i^T J_i + I J_pitch^T J_pitch
//
// J_i: velocity of mass i by the rates of the coordinates. Q: weights, drag and the forces of the
// ground by the same Jacobians; springs and dampers each in their own coordinate. So load transfer,
// pitch, the turning of the legs and the load across them come out and are nowhere put in.
//
// World: X forward, Z up; pitch psi > 0 raises the front. Body axes e1 forward and e2 up, origin on
// the ground under the rear axle at standstill on level ground (pitch 0, wheelbase L, height h of
// the centre of gravity of all). Travel moves the front axle by u = -cos e1 + sin e2.
//
// Wheels: each is pushed by the distance delta from its centre to the nearest point of the path of
// wheel centres, along the line to that point: F = max(0, k delta + c delta'), rim included. The
// path is the project's own (sim/ground), the same for both.
// Rider's hands and feet: traction wanted T = m (a + 2 w e + w^2 int e + g sin beta) + resistances,
// e the lack of speed, beta the mean slope of the 4 m around mid-bike; T > 0 drives the rear wheel,
// D = min(T, mu N_r), T < 0 brakes: rear R = min((1 - share)(-T), mu N_r), front B = min(-T - R, mu
// N_f), along the ground at the contact. Rolling resistance c_rr N pulls each axle back, drag the
// centre of gravity. Spin: what a wheel's turning adds to its inertia along the ground while it
// touches, I/r^2.
//
// From the project: the fork's own forces (springs, gas, damper, friction, stops: models/laws), its
// slow force at rest, the wanted speed (models/setup/ride_line) and the path. Each has its own
// tests. Not from it: models/laws/quarter_rider.hpp.
// Integrated by Odeint's Dormand-Prince pair, without events: its error control finds the corners.
//
// Sources: virtual work, any text on mechanics. Estimates: engineering estimate, beside each.
#pragma once

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <boost/numeric/odeint/algebra/array_algebra.hpp>
#include <boost/numeric/odeint/algebra/default_operations.hpp>
#include <boost/numeric/odeint/stepper/controlled_runge_kutta.hpp>
#include <boost/numeric/odeint/stepper/runge_kutta_dopri5.hpp>
#include <cmath>
#include <cstddef>
#include <functional>
#include <stdexcept>
#include <utility>
#include <vector>

#include "models/laws/constants.hpp"
#include "models/setup/assemble.hpp"
#include "models/setup/ride_line.hpp"
#include "models/setup/setup.hpp"
#include "models/setup/statics.hpp"
#include "sim/ground/terrain.hpp"
#include "sim/ground/wheel_path.hpp"

namespace plunge::whole_bike {

// Coordinates.
enum Coordinate : int { kAlong, kUp, kPitch, kFork, kFrontBody, kRearBody, kRear, kCoordinates };

using Vector2 = Eigen::Vector2d;
using Coordinates = Eigen::Matrix<double, kCoordinates, 1>;
using Jacobian = Eigen::Matrix<double, 2, kCoordinates>;
using Square = Eigen::Matrix<double, kCoordinates, kCoordinates>;

// What the project's files do not say about a bike.
struct Rest {
  bool sprung = false;          // a rear wheel on a spring and a damper
  double rear_unsprung = 4.2;   // rear wheel, brake, part of the swing arm [kg], estimate
  double rear_sag = 0.040;      // of a sprung rear at standstill [m], estimate
  double rear_damping = 900.0;  // [N.s/m], estimate
  double gyration = 0.40;       // radius of gyration of the main body in pitch [m], estimate
  double share = 0.65;          // of braking that the rider wants at the front
  bool hands = true;            // false: rolls freely
  double air_density = 1.2;     // [kg/m3]
  double hand = 4.0;            // w of the rider's hands and feet [rad/s], estimate
  double look = 4.0;            // stretch whose mean slope the rider answers [m], estimate
};

// Where a wheel meets the path of its centre.
struct Contact {
  double depth = 0.0;  // delta [m], 0: in the air
  Vector2 normal = Vector2::UnitY();
  Vector2 along = Vector2::UnitX();
};

// A wheel centre at X whose height over the radius is z, against the path. The foot of the
// perpendicular is where f(s) = (X - s) + (z - h) h' is 0; f falls with s, at kinks by a jump.
inline Contact meet(const WheelPath& path, double place, double z) {
  const PathPoint<double> below = path.at(place);
  const double gap = below.height - z;
  Contact contact;
  if (!(gap > 0.0)) return contact;
  const auto f = [&](double s) {
    const PathPoint<double> at = path.at(s);
    return (place - s) + (z - at.height) * at.slope;
  };
  double low = place - gap;
  double high = place + gap;
  double f_low = f(low);
  double f_high = f(high);
  double s = place;
  int side = 0;
  for (int i = 0; i < 80 && high - low > 1e-12; ++i) {
    // False position with the old end halved (Illinois), and halves every third time.
    s = i % 3 == 2 ? 0.5 * (low + high) : (low * f_high - high * f_low) / (f_high - f_low);
    if (!(s > low && s < high)) s = 0.5 * (low + high);
    const double value = f(s);
    if (value == 0.0) break;
    if (value > 0.0) {
      low = s;
      f_low = value;
      if (side == 1) f_high *= 0.5;
      side = 1;
    } else {
      high = s;
      f_high = value;
      if (side == -1) f_low *= 0.5;
      side = -1;
    }
  }
  const PathPoint<double> foot = path.at(s);
  const Vector2 push(s - place, foot.height - z);
  contact.depth = push.norm();
  if (contact.depth > 1e-9) {
    contact.normal = push / contact.depth;
  } else {
    contact.normal = Vector2(-foot.slope, 1.0).normalized();
  }
  contact.along = Vector2(contact.normal.y(), -contact.normal.x());
  return contact;
}

// Where each number stands in what is integrated. Gas in grams and the bristle in 1e-5 m, so that
// one tolerance serves all.
enum Place : std::size_t {
  kPosition = 0,
  kRate = kCoordinates,
  kMainHeat = 2 * kCoordinates,  // [K]
  kNegativeHeat,                 // [K]
  kLegHeat,                      // [K]
  kMainGas,                      // [g]
  kBend,                         // bristle [1e-5 m]
  kLack,                         // integral of the lack of speed [m]
  kWork,                         // done on what moves by all that stores nothing [J]
  kPlaces
};
using Values = std::array<double, kPlaces>;

// Where the rate of a coordinate stands.
constexpr std::size_t rate_at(std::size_t coordinate) { return kRate + coordinate; }

// All that acts at one instant.
struct Instant {
  Coordinates acceleration = Coordinates::Zero();
  Contact front_contact;
  Contact rear_contact;
  double front = 0.0;  // along its normal [N]
  double rear = 0.0;   // [N]
  double brake = 0.0;  // B, front [N]
  double rear_brake = 0.0;
  double drive = 0.0;   // D
  double fork = 0.0;    // F_fork [N]
  double side = 0.0;    // N_n, across the legs at the axle [N]
  double wanted = 0.0;  // P > 0 brakes [N]
  double power = 0.0;   // rate of kWork [W]
  double bristle_rate = 0.0;
  double port_flow = 0.0;
};

// What a ride leaves behind.
struct Ridden {
  double deepest = 0.0;         // travel [m]
  double mean_travel = 0.0;     // over time [m]
  double peak = 0.0;            // front load along the normal [N]
  double steepest_pitch = 0.0;  // largest size of pitch [rad]
  double least_rear = 0.0;      // least rear load [N]
  double rear_air = 0.0;        // share of the time with the rear wheel in the air
  double duration = 0.0;        // [s]
  std::vector<double> time;     // at the ends of steps
  std::vector<double> travel;
  std::vector<double> front;  // loads along the normals [N]
  std::vector<double> rear;
  std::vector<double> speed;  // of the centre of gravity, along X
};

class WholeBike {
 public:
  explicit WholeBike(const Setup& setup, const Rest& rest = {});

  // At a steady speed on a straight path, everything at rest in the bike's frame. wheel: where the
  // front wheel would stand at no travel.
  Values steady(const WheelPath& path, double speed, double wheel = 0.0) const;

  Instant at(const Values& y, const WheelPath& path, double wanted_speed,
             double wanted_acceleration) const;
  Values rates(const Values& y, const Instant& now, double wanted_speed) const;

  // Energy of what moves and what stores: kinetic, weight, tyres, rear spring, upper body [J].
  // The fork's is not in it: what it takes is in kWork.
  double energy(const Values& y, const WheelPath& path) const;

  // Sums over all masses.
  struct Sums {
    Vector2 centre = Vector2::Zero();    // of gravity [m]
    Vector2 momentum = Vector2::Zero();  // [kg.m/s]
    double turning = 0.0;                // angular momentum about the centre of gravity [N.m.s]
  };
  Sums sums(const Values& y) const;

  double front_place(const Values& y) const { return front_axle(y).at.x(); }
  double mass() const { return mass_; }
  double static_front() const { return front_share_ * mass_ * kGravity; }
  double resting_travel() const { return rest_travel_; }
  Coordinates rates_of(const Values& y) const {
    return Eigen::Map<const Coordinates>(y.data() + kRate);
  }
  // Forward speed of the main body's centre of gravity.
  double speed_of(const Values& y) const { return (main(y).way * rates_of(y)).x(); }

 private:
  // A point with its velocity by the coordinates and the part of its acceleration that is left
  // when no coordinate accelerates.
  struct Point {
    Vector2 at;
    Jacobian way = Jacobian::Zero();
    Vector2 left = Vector2::Zero();
  };
  struct Axes {
    Vector2 e1, e2;
    double turning;
    explicit Axes(const Values& y)
        : e1(std::cos(y[kPitch]), std::sin(y[kPitch])),
          e2(-e1.y(), e1.x()),
          turning(y[rate_at(kPitch)]) {}
  };
  static Vector2 turned(const Vector2& v) { return {-v.y(), v.x()}; }

  // The point (a, b) of the body that a coordinate moves along `direction` (in the body's axes).
  static Point body_point(const Values& y, double a, double b) {
    const Axes axes(y);
    const Vector2 arm = a * axes.e1 + b * axes.e2;
    Point p;
    p.at = Vector2(y[kAlong], y[kUp]) + arm;
    p.way(0, kAlong) = p.way(1, kUp) = 1.0;
    p.way.col(kPitch) = turned(arm);
    p.left = -axes.turning * axes.turning * arm;
    return p;
  }
  static Point sliding_point(const Values& y, double a, double b, Coordinate slides,
                             const Vector2& direction) {
    const Axes axes(y);
    Point p = body_point(y, a, b);
    const Vector2 along = direction.x() * axes.e1 + direction.y() * axes.e2;
    const double speed = y[rate_at(static_cast<std::size_t>(slides))];
    p.way.col(slides) = along;
    p.left += 2.0 * axes.turning * speed * turned(along);
    return p;
  }
  Point main(const Values& y) const { return body_point(y, main_ahead_, upper_height_); }
  Point front_axle(const Values& y) const {
    const double in = y[kFork] - rest_travel_;
    return sliding_point(y, wheelbase_ - in * cosine_, front_height_ + in * sine_, kFork,
                         {-cosine_, sine_});
  }
  Point rear_axle(const Values& y) const {
    const double in = rest_.sprung ? y[kRear] - rest_.rear_sag : 0.0;
    Point p = sliding_point(y, 0.0, rear_height_ + in, kRear, {0.0, 1.0});
    if (!rest_.sprung) p.way.col(kRear).setZero();
    return p;
  }
  // Upper body: carried along by the frame, free to move along its upward axis.
  Point upper(const Values& y, double ahead, double height, Coordinate which) const {
    return sliding_point(y, ahead, height + y[static_cast<std::size_t>(which)], which, {0.0, 1.0});
  }
  Point front_body(const Values& y) const { return upper(y, wheelbase_, front_seat_, kFrontBody); }
  Point rear_body(const Values& y) const { return upper(y, 0.0, rear_seat_, kRearBody); }

  std::array<std::pair<Point, double>, 5> masses(const Values& y) const {
    return {{{main(y), main_mass_},
             {front_axle(y), front_unsprung_},
             {rear_axle(y), rest_.rear_unsprung},
             {front_body(y), front_body_mass_},
             {rear_body(y), rear_body_mass_}}};
  }

  double tyre_elastic(double d) const {
    return tyre_stiffness_ * d + rim_stiffness_ * std::max(0.0, d - rim_depth_);
  }
  double tyre_energy(double d) const {
    const double rim = std::max(0.0, d - rim_depth_);
    return 0.5 * (tyre_stiffness_ * d * d + rim_stiffness_ * rim * rim);
  }
  double push(const Contact& contact, const Vector2& velocity) const {
    if (contact.depth == 0.0) return 0.0;
    return std::max(0.0,
                    tyre_elastic(contact.depth) - tyre_damping_ * velocity.dot(contact.normal));
  }
  // Forces of ground and air [N], as they act in the coordinates, the couple of brakes and drive
  // [N.m], and the power of all that stores nothing [W].
  struct Outside {
    Vector2 front;
    Vector2 rear;
    Vector2 drag;
    double turn = 0.0;
    Coordinates forces;
    double power = 0.0;
  };
  // The same of springs and dampers inside the bike, without the fork.
  struct Inside {
    Coordinates forces = Coordinates::Zero();
    double power = 0.0;
  };
  Outside outside(const Values& y, const Point& front, const Point& rear, const Instant& now) const;
  Inside inside(const Values& y) const;
  // Adds inertia and weights.
  void gather(const Values& y, const Point& front, const Point& rear, const Instant& now,
              Square& mass, Coordinates& force) const;
  void hands_and_feet(const Values& y, const WheelPath& path, double wanted_speed,
                      double wanted_acceleration, Instant& now) const;
  // F_fork without friction, and the gas that flows.
  double fork_without_friction(const Values& y, Instant& now) const;
  // Friction under a load across the legs.
  double friction(const Values& y, Instant& now) const;

  Rest rest_;
  Rider fork_;  // the laws of its fork only
  double mass_, front_share_, wheelbase_, height_, radius_, sine_, cosine_, grip_;
  double front_unsprung_, front_body_mass_, rear_body_mass_, main_mass_, inertia_;
  double body_stiffness_, body_damping_, rear_body_stiffness_, rear_body_damping_;
  double tyre_stiffness_, tyre_damping_, rim_depth_, rim_stiffness_;
  double rolling_, drag_area_, spin_mass_;
  double rear_stiffness_ = 0.0;
  double rest_travel_, front_height_, rear_height_, main_ahead_, upper_height_;
  double front_seat_, rear_seat_;
};

inline WholeBike::WholeBike(const Setup& setup, const Rest& rest)
    : rest_(rest), fork_(assemble(setup)) {
  const BikeSetup& bike = setup.bike;
  const RiderSetup& rider = setup.rider;
  if (!(bike.tyre_onset == 0.0) || !std::isnan(rider.sprung_mass) || !std::isnan(rider.body_mass)) {
    throw std::invalid_argument("a whole bike has linear tyres and masses by the rider's shares");
  }
  mass_ = rider.mass + bike.mass;
  front_share_ = rider.front_share;
  wheelbase_ = bike.wheelbase;
  height_ = bike.cg_height;
  radius_ = bike.wheel_radius;
  sine_ = std::sin(bike.head_angle);
  cosine_ = std::cos(bike.head_angle);
  grip_ = bike.tyre_grip;
  tyre_stiffness_ = bike.tyre_stiffness;
  tyre_damping_ = bike.tyre_damping;
  rim_depth_ = bike.tyre_height;
  rim_stiffness_ = bike.rim_stiffness;
  rolling_ = bike.rolling_resistance;
  drag_area_ = bike.drag_area;
  spin_mass_ = bike.wheel_inertia / (radius_ * radius_);

  front_unsprung_ = setup.fork.unsprung_mass;
  front_body_mass_ = rider.body_share * front_share_ * rider.mass;
  rear_body_mass_ = rider.body_share * (1.0 - front_share_) * rider.mass;
  main_mass_ = mass_ - front_unsprung_ - rest.rear_unsprung - front_body_mass_ - rear_body_mass_;
  inertia_ = main_mass_ * rest.gyration * rest.gyration;
  // The legs as the arms: the same frequency and damping ratio at both ends.
  body_stiffness_ = rider.body_stiffness;
  body_damping_ = rider.body_damping;
  const double ratio = (1.0 - front_share_) / front_share_;
  rear_body_stiffness_ = ratio * body_stiffness_;
  rear_body_damping_ = ratio * body_damping_;

  // Moments about the rear contact, then about the ground.
  main_ahead_ =
      (front_share_ * mass_ - front_unsprung_ - front_body_mass_) * wheelbase_ / main_mass_;
  const double front = static_front();
  const double rear = mass_ * kGravity - front;
  front_height_ = radius_ - front / tyre_stiffness_;
  rear_height_ = radius_ - rear / tyre_stiffness_;
  upper_height_ =
      (mass_ * height_ - front_unsprung_ * front_height_ - rest.rear_unsprung * rear_height_) /
      (mass_ - front_unsprung_ - rest.rear_unsprung);
  front_seat_ = upper_height_ + front_body_mass_ * kGravity / body_stiffness_;
  rear_seat_ = upper_height_ + rear_body_mass_ * kGravity / rear_body_stiffness_;
  rest_travel_ = travel_under(fork_, (front - front_unsprung_ * kGravity) * sine_);
  if (rest.sprung) rear_stiffness_ = (rear - rest.rear_unsprung * kGravity) / rest.rear_sag;
}

inline void WholeBike::hands_and_feet(const Values& y, const WheelPath& path, double wanted_speed,
                                      double wanted_acceleration, Instant& now) const {
  if (!rest_.hands) return;
  const double speed = speed_of(y);
  const double middle = y[kAlong] + 0.5 * wheelbase_;
  const double slope =
      (path.at(middle + 0.5 * rest_.look).height - path.at(middle - 0.5 * rest_.look).height) /
      rest_.look;
  const double cosine = 1.0 / std::sqrt(1.0 + slope * slope);
  const double ground_speed = wanted_speed / cosine;
  const double pull =
      mass_ * (wanted_acceleration / cosine + kGravity * slope * cosine +
               rest_.hand * (2.0 * (wanted_speed - speed) + rest_.hand * y[kLack])) +
      rolling_ * mass_ * kGravity * cosine +
      0.5 * rest_.air_density * drag_area_ * ground_speed * std::abs(ground_speed);
  now.wanted = -pull;
  if (pull > 0.0) {
    now.drive = std::min(pull, grip_ * now.rear);
    return;
  }
  now.rear_brake = std::min((1.0 - rest_.share) * -pull, grip_ * now.rear);
  now.brake = std::min(-pull - now.rear_brake, grip_ * now.front);
}

inline double WholeBike::fork_without_friction(const Values& y, Instant& now) const {
  const double x = y[kFork];
  const double v = y[rate_at(kFork)];
  const Rider& f = fork_;
  double force = f.coil.force(x) + f.negative_coil.force(x, f.negative_coil.reach(x) > 0.0);
  if (f.has_air) {
    const double main = y[kMainGas] * 1e-3;
    const double p = f.air.main.pressure(main, y[kMainHeat], x);
    const double negative = f.air.negative.pressure(f.gas_mass - main, y[kNegativeHeat], x);
    const double leg =
        f.has_leg_air ? f.air.leg.pressure(f.leg_gas_mass, y[kLegHeat], x) : f.air.ambient;
    force += f.air.force(p, negative, leg);
    now.port_flow = f.air.port.flow(x, p, y[kMainHeat], negative, y[kNegativeHeat]);
  }
  return force + f.damper.force(v, v > 0.0) +
         f.hydraulic_stop.force(x, v, f.hydraulic_stop.depth(x) > 0.0 && v > 0.0) +
         f.bumper.force(x, v, f.bumper.depth(x) > 0.0) +
         f.metal.force(x, v, f.metal.depth(x) > 0.0) +
         f.top_out.force(x, v, f.top_out.depth(x) > 0.0);
}

inline double WholeBike::friction(const Values& y, Instant& now) const {
  if (!fork_.has_friction) return 0.0;
  const double v = y[rate_at(kFork)];
  const double z = y[kBend] * 1e-5;
  const double level =
      fork_.friction.level(fork_.friction.coulomb({now.side, now.brake * radius_}), v);
  now.bristle_rate = fork_.friction.bristle_rate(z, v, std::abs(v), level);
  return fork_.friction.force(z, now.bristle_rate, v);
}

inline WholeBike::Outside WholeBike::outside(const Values& y, const Point& front, const Point& rear,
                                             const Instant& now) const {
  const Coordinates rate = rates_of(y);
  const auto pushed = [this](const Contact& contact, double load, double pull) -> Vector2 {
    return load * contact.normal + (pull - rolling_ * load) * contact.along;
  };
  Outside out;
  out.front = pushed(now.front_contact, now.front, -now.brake);
  out.rear = pushed(now.rear_contact, now.rear, now.drive - now.rear_brake);
  // Brakes and drive act at the ground, a radius below the axles.
  out.turn = (now.drive - now.rear_brake - now.brake) * radius_;
  const Point middle = body_point(y, front_share_ * wheelbase_, height_);
  const Vector2 wind = middle.way * rate;
  out.drag = -0.5 * rest_.air_density * drag_area_ * wind.norm() * wind;
  out.forces = front.way.transpose() * out.front + rear.way.transpose() * out.rear +
               middle.way.transpose() * out.drag;
  out.forces(kPitch) += out.turn;

  // What comes in less what the tyres' dampers take; their springs store.
  const auto power = [&](const Point& axle, const Contact& contact, const Vector2& force) {
    const Vector2 spring = tyre_elastic(contact.depth) * contact.normal;
    const Vector2 kept = contact.depth > 0.0 ? spring : Vector2(Vector2::Zero());
    return (force - kept).dot(axle.way * rate);
  };
  out.power = power(front, now.front_contact, out.front) + power(rear, now.rear_contact, out.rear) +
              out.drag.dot(wind) + out.turn * rate(kPitch);
  return out;
}

inline WholeBike::Inside WholeBike::inside(const Values& y) const {
  const Coordinates rate = rates_of(y);
  const auto pull = [&](double stiffness, double damping, Coordinate which) {
    return -stiffness * y[static_cast<std::size_t>(which)] - damping * rate(which);
  };
  Inside in;
  in.forces(kFrontBody) = pull(body_stiffness_, body_damping_, kFrontBody);
  in.forces(kRearBody) = pull(rear_body_stiffness_, rear_body_damping_, kRearBody);
  in.power = -body_damping_ * rate(kFrontBody) * rate(kFrontBody) -
             rear_body_damping_ * rate(kRearBody) * rate(kRearBody);
  if (rest_.sprung) {
    in.forces(kRear) = pull(rear_stiffness_, rest_.rear_damping, kRear);
    in.power -= rest_.rear_damping * rate(kRear) * rate(kRear);
  }
  return in;
}

inline void WholeBike::gather(const Values& y, const Point& front, const Point& rear,
                              const Instant& now, Square& mass, Coordinates& force) const {
  for (const auto& [p, m] : masses(y)) {
    mass += m * p.way.transpose() * p.way;
    force -= m * p.way.transpose() * (p.left + Vector2(0.0, kGravity));
  }
  mass(kPitch, kPitch) += inertia_;
  if (!rest_.sprung) mass(kRear, kRear) = 1.0;
  const auto spin = [&](const Point& axle, const Contact& contact, double load) {
    if (!(load > 0.0)) return;
    const Coordinates along = axle.way.transpose() * contact.along;
    mass += spin_mass_ * along * along.transpose();
    force -= spin_mass_ * contact.along.dot(axle.left) * along;
  };
  spin(front, now.front_contact, now.front);
  spin(rear, now.rear_contact, now.rear);
}

inline Instant WholeBike::at(const Values& y, const WheelPath& path, double wanted_speed,
                             double wanted_acceleration) const {
  const Coordinates rate = rates_of(y);
  const Point front = front_axle(y);
  const Point rear = rear_axle(y);
  Instant now;
  now.front_contact = meet(path, front.at.x(), front.at.y() - radius_);
  now.rear_contact = meet(path, rear.at.x(), rear.at.y() - radius_);
  now.front = push(now.front_contact, front.way * rate);
  now.rear = push(now.rear_contact, rear.way * rate);
  hands_and_feet(y, path, wanted_speed, wanted_acceleration, now);

  const Outside out = outside(y, front, rear, now);
  const Inside in = inside(y);
  Square mass = Square::Zero();
  Coordinates force = out.forces + in.forces;
  gather(y, front, rear, now, mass, force);

  // Friction hangs on the load across the legs, that on the accelerations, those on friction: the
  // bristle changes little with the load at one instant, so a few rounds settle it.
  const Eigen::LLT<Square> solver(mass);
  const Axes axes(y);
  const Vector2 across = sine_ * axes.e1 + cosine_ * axes.e2;
  const double free_fork = fork_without_friction(y, now);
  constexpr int kMostRounds = 8;
  for (int round = 0; round < kMostRounds; ++round) {
    now.fork = free_fork + friction(y, now);
    Coordinates all = force;
    all(kFork) -= now.fork;
    now.acceleration = solver.solve(all);
    const Vector2 moved = front.way * now.acceleration + front.left;
    Vector2 net = out.front - front_unsprung_ * (moved + Vector2(0.0, kGravity));
    if (now.front > 0.0) {
      net -= spin_mass_ * now.front_contact.along.dot(moved) * now.front_contact.along;
    }
    const double before = now.side;
    now.side = net.dot(across);
    if (!fork_.has_friction || std::abs(now.side - before) < 1e-6) break;
  }
  now.power = out.power + in.power - now.fork * rate(kFork);
  return now;
}

inline Values WholeBike::rates(const Values& y, const Instant& now, double wanted_speed) const {
  Values rate{};
  for (std::size_t i = 0; i < kCoordinates; ++i) {
    rate[kPosition + i] = y[kRate + i];
    rate[rate_at(i)] = now.acceleration(static_cast<Eigen::Index>(i));
  }
  const double x = y[kFork];
  const double v = y[rate_at(kFork)];
  if (fork_.has_air) {
    const AirSpring<double>& air = fork_.air;
    const double main = y[kMainGas] * 1e-3;
    const double upstream = now.port_flow > 0.0 ? y[kMainHeat] : y[kNegativeHeat];
    rate[kMainHeat] =
        air.main.heating(y[kMainHeat], x, v) +
        GasChamber<double>::flow_heating(-now.port_flow, main, y[kMainHeat], upstream);
    rate[kNegativeHeat] = air.negative.heating(y[kNegativeHeat], x, v);
    if (now.port_flow != 0.0) {
      rate[kNegativeHeat] += GasChamber<double>::flow_heating(now.port_flow, fork_.gas_mass - main,
                                                              y[kNegativeHeat], upstream);
    }
    rate[kMainGas] = -now.port_flow * 1e3;
    if (fork_.has_leg_air) rate[kLegHeat] = air.leg.heating(y[kLegHeat], x, v);
  }
  rate[kBend] = now.bristle_rate * 1e5;
  rate[kLack] = wanted_speed - speed_of(y);
  rate[kWork] = now.power;
  return rate;
}

inline WholeBike::Sums WholeBike::sums(const Values& y) const {
  const Coordinates rate = rates_of(y);
  Sums sum;
  double about_origin = inertia_ * rate(kPitch);
  for (const auto& [p, m] : masses(y)) {
    const Vector2 momentum = m * p.way * rate;
    sum.centre += m * p.at / mass_;
    sum.momentum += momentum;
    about_origin += p.at.x() * momentum.y() - p.at.y() * momentum.x();
  }
  sum.turning =
      about_origin - sum.centre.x() * sum.momentum.y() + sum.centre.y() * sum.momentum.x();
  return sum;
}

inline double WholeBike::energy(const Values& y, const WheelPath& path) const {
  const Coordinates rate = rates_of(y);
  double sum = 0.5 * inertia_ * rate(kPitch) * rate(kPitch);
  for (const auto& [p, m] : masses(y)) {
    sum += 0.5 * m * (p.way * rate).squaredNorm() + m * kGravity * p.at.y();
  }
  const Point front = front_axle(y);
  const Point rear = rear_axle(y);
  sum += tyre_energy(meet(path, front.at.x(), front.at.y() - radius_).depth) +
         tyre_energy(meet(path, rear.at.x(), rear.at.y() - radius_).depth);
  sum += 0.5 * body_stiffness_ * y[kFrontBody] * y[kFrontBody] +
         0.5 * rear_body_stiffness_ * y[kRearBody] * y[kRearBody];
  if (rest_.sprung) sum += 0.5 * rear_stiffness_ * y[kRear] * y[kRear];
  return sum;
}

inline Values WholeBike::steady(const WheelPath& path, double speed, double wheel) const {
  Values y{};
  const double place = wheel - wheelbase_ - rest_travel_ * cosine_;
  const PathPoint<double> ground = path.at(place);
  const double angle = std::atan(ground.slope);
  // The rear axle stands as deep in its path as on level ground.
  y[kAlong] = place;
  y[kUp] =
      path.at(place - rear_height_ * std::sin(angle)).height + radius_ * (1.0 - std::cos(angle));
  y[kPitch] = angle;
  y[kFork] = rest_travel_;
  y[kFrontBody] = -front_body_mass_ * kGravity / body_stiffness_;
  y[kRearBody] = -rear_body_mass_ * kGravity / rear_body_stiffness_;
  y[kRear] = rest_.sprung ? rest_.rear_sag : 0.0;
  y[rate_at(kAlong)] = speed;
  y[rate_at(kUp)] = speed * ground.slope;
  y[kMainHeat] = fork_.air.main.wall;
  y[kNegativeHeat] = fork_.air.negative.wall;
  y[kLegHeat] = fork_.air.leg.wall;

  // Newton on the accelerations. The first unknown is the hands', so that the speed is held.
  const std::array<std::size_t, kCoordinates> unknown = {kLack,      kUp,       kPitch, kFork,
                                                         kFrontBody, kRearBody, kRear};
  const auto left_over = [&](Values& at_rest) {
    at_rest[kMainGas] = settled_main_mass(fork_, at_rest[kFork]) * 1e3;
    Coordinates left = at(at_rest, path, speed, 0.0).acceleration;
    if (!rest_.sprung) left(kRear) = at_rest[kRear];
    return left;
  };
  for (int round = 0; round < 50; ++round) {
    const Coordinates left = left_over(y);
    Square slope;
    for (std::size_t k = 0; k < unknown.size(); ++k) {
      constexpr double kStep = 1e-7;
      Values moved = y;
      moved[unknown[k]] += kStep;
      slope.col(static_cast<Eigen::Index>(k)) = (left_over(moved) - left) / kStep;
    }
    const Coordinates change = slope.fullPivLu().solve(-left);
    // As much of the step as brings the accelerations down.
    Values next = y;
    for (double part = 1.0; part > 1e-3; part *= 0.5) {
      for (std::size_t k = 0; k < unknown.size(); ++k) {
        next[unknown[k]] = y[unknown[k]] + part * change(static_cast<Eigen::Index>(k));
      }
      if (left_over(next).norm() < left.norm()) break;
    }
    y = next;
    if (change.cwiseAbs().maxCoeff() < 1e-9) return y;
  }
  throw std::runtime_error("no steady ride found");
}

// Rides from `start`. Wanted speed and its rate come from a function of time. Ends at `duration`,
// or where the front wheel's place at no travel passes `length`.
struct Wish {
  double speed;
  double acceleration;
};
using WishAt = std::function<Wish(double)>;

struct Course {
  const WheelPath& path;
  WishAt wishes;
  double duration;
  double length = kInfinity;
  double tolerance = 1e-6;
  double longest_step = 2e-3;
};

template <class Seen>
void ride(const WholeBike& bike, const Course& course, const Values& start, Seen&& seen) {
  namespace odeint = boost::numeric::odeint;
  using Pair = odeint::runge_kutta_dopri5<Values, double, Values, double, odeint::array_algebra,
                                          odeint::default_operations>;
  using Checker =
      odeint::default_error_checker<double, odeint::array_algebra, odeint::default_operations>;
  auto stepper = odeint::controlled_runge_kutta<Pair>(Checker(course.tolerance, course.tolerance));
  const auto rates = [&](const Values& y, Values& rate, double t) {
    const Wish wish = course.wishes(t);
    rate = bike.rates(y, bike.at(y, course.path, wish.speed, wish.acceleration), wish.speed);
  };
  Values y = start;
  double t = 0.0;
  double step = 1e-4;
  const auto show = [&] {
    const Wish wish = course.wishes(t);
    return seen(t, y, bike.at(y, course.path, wish.speed, wish.acceleration));
  };
  show();
  while (t < course.duration && bike.front_place(y) < course.length) {
    step = std::min({step, course.longest_step, std::max(course.duration - t, 1e-9)});
    if (stepper.try_step(rates, y, t, step) == odeint::success) {
      show();
    } else if (!(step > 1e-13)) {
      throw std::runtime_error("a whole bike's step went to nothing");
    }
  }
}

inline Ridden ridden(const WholeBike& bike, const Course& course, const Values& start) {
  Ridden out;
  out.least_rear = kInfinity;
  double sum = 0.0;
  ride(bike, course, start, [&](double t, const Values& y, const Instant& now) {
    if (!out.time.empty()) {
      const double dt = t - out.time.back();
      sum += 0.5 * dt * (y[kFork] + out.travel.back());
      if (now.rear == 0.0) out.rear_air += dt;
    }
    out.time.push_back(t);
    out.travel.push_back(y[kFork]);
    out.front.push_back(now.front);
    out.rear.push_back(now.rear);
    out.speed.push_back(bike.speed_of(y));
    out.deepest = std::max(out.deepest, y[kFork]);
    out.peak = std::max(out.peak, now.front);
    out.least_rear = std::min(out.least_rear, now.rear);
    out.steepest_pitch = std::max(out.steepest_pitch, std::abs(y[kPitch]));
  });
  out.duration = out.time.back();
  out.mean_travel = sum / out.duration;
  out.rear_air /= out.duration;
  return out;
}

}  // namespace plunge::whole_bike
