// The ends of the travel: bottom-out bumper, metal contact, top-out spring.
//
//   bumper     d = x - (L - l_b) > 0:   F = (k d + k3 d^3) (1 + chi v)       resists compression
//   metal      d = x - L > 0:           F = k_m d^1.5 (1 + chi_m v)
//   top-out    d = -x > 0:              F = -k_t d (1 - chi_t v)             pulls the fork in
//
// v: travel speed [m/s], so that d' = v at the bottom and -v at the top. Each contact only pushes:
// where fast separation would make the bracket negative the force is 0. The losses chi [s/m] make
// each cycle dissipate; what is stored is k d^2/2 + k3 d^4/4, 0.4 k_m d^2.5, k_t d^2/2.
//
// Source: Hunt & Crossley 1975, J. Appl. Mech. 42, 440 (damping proportional to the elastic
// force); exponent 1.5: Hertz. The cubic bumper is an engineering fit to an elastomer in bulk.
#pragma once

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

  S depth(S x) const { return x - start; }
  S elastic(S d) const { return d * (stiffness + cubic * d * d); }
  S force(S x, S v, Mask<S> touching) const {
    if (!any(touching)) return S(0.0);
    return select(touching, elastic(depth(x)) * contact_loss(loss, v), S(0.0));
  }
  S stored_energy(S x) const {
    const S d = positive_part(depth(x));
    return d * d * (0.5 * stiffness + 0.25 * cubic * d * d);
  }
};

template <class S>
struct MetalStop {
  S limit{};      // L [m]
  S stiffness{};  // k_m [N/m^1.5]
  S loss{};       // chi_m [s/m]

  S depth(S x) const { return x - limit; }
  // Goes on as an odd function past d = 0, so that a step may overshoot the end of the contact.
  S elastic(S d) const {
    using std::abs;
    using std::sqrt;
    return stiffness * d * sqrt(abs(d));
  }
  S force(S x, S v, Mask<S> touching) const {
    if (!any(touching)) return S(0.0);
    return select(touching, elastic(depth(x)) * contact_loss(loss, v), S(0.0));
  }
  S stored_energy(S x) const {
    const S d = positive_part(depth(x));
    return 0.4 * d * elastic(d);
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
