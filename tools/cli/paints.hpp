// In what variants side by side are drawn.
#pragma once

#include <vector>

#include "sim/figure/figure.hpp"
#include "sim/measure/result.hpp"

namespace plunge {

// By what is set in each variant: a shade of the ramp where they differ in one number alone that
// rises or falls from each to the next; else a colour each.
std::vector<Paint> paints_of(const std::vector<std::vector<NamedValue>>& variants);

}  // namespace plunge
