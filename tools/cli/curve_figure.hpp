// The figure of springs side by side: what is set, force over travel slow and fast, the stiffness
// beneath.
#pragma once

#include <string>
#include <vector>

#include "sim/figure/figure.hpp"
#include "tools/cli/spring_curves.hpp"

namespace plunge {

// Start, middle and end are the thirds of the travel: parts of the axis where all have the same
// travel, else dots on each curve. A ring is where a rider rests, whose load is a line where there
// are few of them. `bar`: pressures in bar.
Figure curve_figure(const std::vector<CurveTable>& curves, const std::string& title, bool bar);

}  // namespace plunge
