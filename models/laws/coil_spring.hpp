// Coil springs.
//
//   main:      F = F0 + k x                              extends [N]; F0 preload at x = 0
//   negative:  F = -k_n (l - x) for x < l, else 0        pulls the fork in near full extension
//
// Energies: F0 x + k x^2/2 and k_n (l - x)^2/2 (for x < l). Source: linear springs, textbook.
#pragma once

#include "models/laws/numeric.hpp"

namespace plunge {

template <class S>
struct CoilSpring {
  S rate{};     // k [N/m]
  S preload{};  // F0 [N]

  S force(S x) const { return preload + rate * x; }
  S stored_energy(S x) const { return x * (preload + 0.5 * rate * x); }
};

template <class S>
struct NegativeCoil {
  S rate{};    // k_n [N/m]
  S length{};  // l [m]

  // Positive while the coil still touches.
  S reach(S x) const { return length - x; }
  S force(S x, Mask<S> touching) const { return select(touching, -rate * reach(x), S(0.0)); }
  S stored_energy(S x) const { return 0.5 * rate * square(positive_part(reach(x))); }
};

}  // namespace plunge
