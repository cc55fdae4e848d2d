// The ends of the travel: bottom-out bumper, metal contact, top-out spring.
//
//   bumper     d = x - (L - l_b) > 0:   F = (k e + k3 e^3) (1 + chi v),      resists compression
//                                       e = min(d, l_b)
//   metal      d = x - L > 0:           F = k_m d_c^1.5 (1 + chi_m v),  d = d_c + k_m d_c^1.5/k_c
//   top-out    d = -x > 0:              F = -k_t d (1 - chi_t v)             pulls the fork in
//
// Metal on metal is a contact, squeezed by d_c, in series with a chassis and a steerer that give
// way by the rest of d. Past L the legs themselves slide no further: x counts what the chassis
// gives, so the bumper is squeezed no more, while gas and damper, which go on with x, see some
// millimetres that they would not.
//
// v: travel speed [m/s], so that d' = v at the bottom and -v at the top. Each contact only pushes:
// where fast separation would make the bracket negative the force is 0. The losses chi [s/m] make
// each cycle dissipate. Stored: k e^2/2 + k3 e^4/4 + F (d - e) with the F at e,
// 0.4 k_m d_c^2.5 + F^2/(2 k_c), k_t d^2/2.
//
// Source: Hunt & Crossley 1975, J. Appl. Mech. 42, 440 (damping proportional to the elastic
// force); exponent 1.5: Hertz. The cubic bumper is an engineering fit to an elastomer in bulk; a
// chassis that gives way like a spring, an engineering estimate.
#pragma once

#include <type_traits>

#include "models/laws/numeric.hpp"

namespace plunge {

// (1 + chi d'), at least 0.
template <class S>
S contact_loss(S loss, S closing) {
  return positive_part(1.0 + loss * closing);
}

template <class S>
struct Bumper {
  S start{};      // L - l_b [m]
  S stiffness{};  // k [N/m]
  S cubic{};      // k3 [N/m3]
  S loss{};       // chi [s/m]
  S length{};     // l_b [m]

  S depth(S x) const { return x - start; }
  S elastic(S d) const {
    const S e = squeezed(d);
    return e * (stiffness + cubic * e * e);
  }
  S force(S x, S v, Mask<S> touching) const {
    if (!any(touching)) return S(0.0);
    return select(touching, elastic(depth(x)) * contact_loss(loss, v), S(0.0));
  }
  S stored_energy(S x) const {
    const S d = positive_part(depth(x));
    const S e = squeezed(d);
    return e * e * (0.5 * stiffness + 0.25 * cubic * e * e) + elastic(d) * (d - e);
  }

 private:
  S squeezed(S d) const {
    using std::min;
    return min(d, length);
  }
};

// With r^2 = d_c/d, the contact's share, b = (k_m/k_c) sqrt(d) and s = 1/r:  b r^3 + r^2 = 1,
// s^3 = s + b,  F = k_m d^1.5 r^3 = k_m d^1.5/(s + b). Halley's steps for s begin at
// (1 + 2 b)^(1/4), which is right for small b and leads to the only root above 1.
template <class S>
struct MetalStop {
  S limit{};      // L [m]
  S stiffness{};  // k_m [N/m^1.5]
  S loss{};       // chi_m [s/m]
  S give{};       // 1/k_c of chassis and steerer [m/N]; 0: rigid

  S depth(S x) const { return x - limit; }
  // Goes on as an odd function past d = 0, so that a step may overshoot the end of the contact.
  S elastic(S d) const {
    using std::abs;
    using std::sqrt;
    const S root = sqrt(abs(d));
    const S b = stiffness * give * root;
    return stiffness * d * root / (inverse_share_root(b) + b);
  }

  // Of Halley's steps: to the last digits of a double for b up to 1e6, the force within 4e-6 for
  // any b with a pack's floats (stops_test.cpp).
  static constexpr int kSteps = std::is_same_v<Mask<S>, bool> ? 5 : 2;

  // s for a b >= 0.
  static S inverse_share_root(S b, int steps = kSteps) {
    using std::sqrt;
    S s = sqrt(sqrt(1.0 + 2.0 * b));
    for (int step = 0; step < steps; ++step) {
      const S s2 = s * s;
      const S left = s * (s2 - 1.0) - b;
      const S slope = 3.0 * s2 - 1.0;
      s = s - left * slope / (square(slope) - 3.0 * s * left);
    }
    return s;
  }
  S force(S x, S v, Mask<S> touching) const {
    if (!any(touching)) return S(0.0);
    return select(touching, elastic(depth(x)) * contact_loss(loss, v), S(0.0));
  }
  S stored_energy(S x) const {
    using std::sqrt;
    const S d = positive_part(depth(x));
    return d * elastic(d) * (0.5 - 0.1 / square(inverse_share_root(stiffness * give * sqrt(d))));
  }
};

template <class S>
struct TopOut {
  S stiffness{};  // k_t [N/m]
  S loss{};       // chi_t [s/m]

  S depth(S x) const { return -x; }
  S elastic(S d) const { return stiffness * d; }
  S force(S x, S v, Mask<S> touching) const {
    if (!any(touching)) return S(0.0);
    return select(touching, -elastic(depth(x)) * contact_loss(loss, -v), S(0.0));
  }
  S stored_energy(S x) const { return 0.5 * stiffness * square(positive_part(depth(x))); }
};

}  // namespace plunge
