// Hydraulic bottom-out: extra damping in compression over the last stretch of travel.
//
//   F = c (x - x_start)/l v    for x > x_start = L - l and v > 0, else 0           [N]
//
// l: its length [m], 0: none. c: damping at full travel [N.s/m]. It only takes energy out.
// Source: our own linear law (engineering estimate): the plug closes its bleed as it goes in.
#pragma once

#include "models/laws/numeric.hpp"

namespace plunge {

template <class S>
struct HydraulicStop {
  S start{};     // x_start [m]
  S gradient{};  // c/l [N.s/m2]; 0: none

  S depth(S x) const { return x - start; }

  // engaged: x past the start and the fork compressing.
  S force(S x, S v, Mask<S> engaged) const {
    return select(engaged, gradient * depth(x) * v, S(0.0));
  }
};

}  // namespace plunge
