// What speed and grade prescribe: the pitch of the bike, the forces asked of its wheels, and the
// load that they move to the front.
//
//   theta' = theta - beta,  beta = atan T,  beta' = T' cos2(beta)
//   dtheta'/dt = -beta' v,  d2theta'/dt2 = -(beta'' v^2 + beta' a)
//   kappa = v^2 T'                                      vertical acceleration on a bent line
//   F_rr = c_rr m g0 cos(beta),  F_aero = rho CdA/2 (v/cos(beta))^2                     resistance
//   P = -[m (a/cos(beta) + (g0 + kappa) sin(beta)) + F_rr + F_aero]   what must slow the bike
//   P > 0:  N_r = m_r (g + kappa) cos(beta) - P h/L - F_rr (h - r)/L            load on the rear
//           R = max(0, min((1 - share) P, mu N_r)),  front wanted P - R,  D = 0
//   else    D = -P drives the rear wheel, no wheel brakes
//   N = m_f (g + kappa) cos(beta) + (B + R - D) h/L + F_rr (h - r)/L
//       + (m g h/L^2)(x - x_rest) sin(theta')       load on the front along the normal of the line
//   F_tr = e [N cos(beta) - B sin(beta) - m_f (g + a T + kappa)] + (1 - e) R h/L
//   e = u^2 (3 - 2 u),  u = F_n/(0.05 m_f g0), 0 to 1       from the air onto the ground
//
// m: bike and rider; m_f, m_r: what front and rear carry on level ground; h: height of the centre
// of gravity; L: wheelbase; r: wheel radius; B: braking force of the front wheel; x: travel;
// x_rest: travel at standstill on level ground, without friction. The last term of N: as the fork
// dives the centre of gravity comes forward. All but B, x and e is a function of time alone. A tyre
// that is lifting off hands over to the air as it loses the last twentieth of its load F_n: chosen,
// so that what the front carries has no jump.
//
// Source: moments about the rear contact of a bike whose frame follows a line; checked against a
// planar whole bike (tests/outside/outside_whole_bike_test.cpp).
#pragma once

#include "models/laws/constants.hpp"
#include "models/laws/motion.hpp"
#include "models/laws/numeric.hpp"

namespace plunge {

// A tyre under this share of its static load is lifting off [1]: chosen.
inline constexpr double kLightLoad = 0.05;

template <class S>
struct Course {
  S speed{};         // v [m/s]
  S acceleration{};  // a [m/s2]
  S gravity{};       // g [m/s2]
  S sine{};          // of theta', the head angle from the horizontal
  S cosine{};
  S pitch_rate{};          // dtheta'/dt [rad/s]
  S pitch_acceleration{};  // [rad/s2]
  S grade_sine{};          // of beta
  S grade_cosine{};
  S rear_brake{};          // R [N]
  S drive{};               // D [N]
  S brake_wanted{};        // of the front wheel, before its grip [N]
  S rear_load{};           // N_r, without the part of the diving fork [N]
  S front_load{};          // N without those of B and x [N]
  S transfer{};            // F_tr without those of B and x [N]
  S transfer_by_brake{};   // dF_tr/dB [1]
  S transfer_by_travel{};  // dF_tr/dx [N/m]
  S transfer_in_air{};     // [N]
};

// The numbers of a bike that its course follows from.
template <class S>
struct BikeLine {
  S sine{};  // of the head angle
  S cosine{};
  S total_mass{};           // m [kg]
  S front_mass{};           // m_f [kg]
  S cg_lever{};             // h/L [1]
  S axle_lever{};           // (h - r)/L [1]
  S dive_lever{};           // m h/L^2 [kg/m]
  S rest_travel{};          // x_rest [m]
  S rolling{};              // c_rr m g0 [N]
  S drag{};                 // rho CdA/2 [kg/m]
  S grip{};                 // mu of tyre on ground [1]
  Divisor<S> light_load{};  // kLightLoad m_f g0: under it a tyre is lifting off [N]

  // e, from 0 in the air to 1 on the ground.
  S grounded(S tyre_force) const {
    using std::min;
    const S u = min(positive_part(tyre_force) * light_load.inverse(), S(1.0));
    return square(u) * (3.0 - 2.0 * u);
  }

  // The diving fork's part of N [N].
  S dive_load(const Course<S>& course, S x) const {
    return dive_lever * course.gravity * course.sine * (x - rest_travel);
  }

  Course<S> course(const Motion<S>& motion) const;
};

template <class S>
Course<S> BikeLine<S>::course(const Motion<S>& motion) const {
  using std::abs;
  using std::min;
  Course<S> c;
  const S v = motion.speed;
  const Grade<S>& grade = motion.grade;
  c.speed = v;
  c.acceleration = motion.acceleration;
  c.gravity = motion.gravity;
  c.sine = sine;
  c.cosine = cosine;
  c.pitch_rate = c.pitch_acceleration = c.grade_sine = S(0.0);
  c.grade_cosine = S(1.0);
  S secant2(1.0);
  S kappa(0.0);
  if (any(abs(grade.slope) + abs(grade.rate) + abs(grade.bend) > 0.0)) {
    secant2 = 1.0 + square(grade.slope);
    c.grade_cosine = inverse_root_of_one_plus(square(grade.slope));
    c.grade_sine = grade.slope * c.grade_cosine;
    c.sine = sine * c.grade_cosine - cosine * c.grade_sine;
    c.cosine = cosine * c.grade_cosine + sine * c.grade_sine;
    const S cosine2 = square(c.grade_cosine);
    const S turn = grade.rate * cosine2;
    const S turn_rate = cosine2 * (grade.bend - 2.0 * grade.slope * grade.rate * turn);
    c.pitch_rate = -turn * v;
    c.pitch_acceleration = -(turn_rate * square(v) + turn * motion.acceleration);
    kappa = square(v) * grade.rate;
  }

  const S resistance = rolling * c.grade_cosine;
  const S by_resistance = resistance * axle_lever;
  const S slows = -(total_mass * (motion.acceleration * (secant2 * c.grade_cosine) +
                                  (kGravity + kappa) * c.grade_sine) +
                    resistance + drag * square(v) * secant2);
  const S pressing = (motion.gravity + kappa) * c.grade_cosine;
  const S braking = positive_part(slows);
  c.drive = positive_part(-slows);
  c.rear_load = (total_mass - front_mass) * pressing - slows * cg_lever - by_resistance;
  c.rear_brake = positive_part(min((1.0 - motion.brake_share) * braking, grip * c.rear_load));
  c.brake_wanted = braking - c.rear_brake;
  const S moved = (c.rear_brake - c.drive) * cg_lever + by_resistance;
  c.front_load = front_mass * pressing + moved;
  c.transfer = moved * c.grade_cosine -
               front_mass * grade.slope * (pressing * c.grade_sine + motion.acceleration);
  c.transfer_by_brake = cg_lever * c.grade_cosine - c.grade_sine;
  c.transfer_by_travel = dive_lever * c.gravity * c.sine * c.grade_cosine;
  c.transfer_in_air = c.rear_brake * cg_lever;
  return c;
}

}  // namespace plunge
