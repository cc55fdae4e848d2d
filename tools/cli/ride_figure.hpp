// The figure of rides side by side: what is set and what comes of it, the deepest stroke enlarged,
// the whole ride.
#pragma once

#include <string>
#include <vector>

#include "sim/figure/figure.hpp"
#include "tools/cli/plot_traces.hpp"

namespace plunge {

// What a workshop sets, from the rides' set-ups: spacers where no label says them, pressure, sag,
// clicks.
std::vector<StripColumn> settings_of(const std::vector<DrawnRide>& rides, bool bar);

struct RideFigureWords {
  std::string title;
  std::vector<StripColumn> settings;
};

// Peaks are marked with the values of the metrics, which were located between samples. Rides go
// over distance. A ride of minutes is drawn as bands from its low to its high values, and over time
// where all go at one pace; of more than two rides the high values alone, and the low ones of
// forces that push either way. Ground that is flat is left out. More rides than there are colours
// have shades by the travel that they use.
Figure ride_figure(const std::vector<DrawnRide>& rides, const RideFigureWords& words);

}  // namespace plunge
