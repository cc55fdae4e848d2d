// In what variants side by side are drawn.
#pragma once

#include <vector>

#include "sim/figure/figure.hpp"
#include "sim/measure/result.hpp"

namespace plunge {

// By what is set in each variant: a shade of the ramp where they differ in one number alone that
// rises or falls from each to the next; else a colour each.
std::vector<Paint> paints_of(const std::vector<std::vector<NamedValue>>& variants);

// Whether some of the paints are the same to the eye.
bool look_alike(const std::vector<Paint>& paints);

// Shades of the ramp by what comes of each variant, for more of them than look different: from the
// least, pale, to the most; equal ones share a shade, and what is NaN is as pale as the least.
std::vector<Paint> shades_by(const std::vector<double>& outcome);

}  // namespace plunge
