// The plots that the verbs draw.
#pragma once

#include <string>
#include <vector>

#include "tools/cli/damper_curves.hpp"
#include "tools/cli/ride_figure.hpp"
#include "tools/cli/spring_curves.hpp"

namespace plunge {

void draw_rides(const std::vector<DrawnRide>& rides, const RideFigureWords& words,
                const std::string& path);

// Static force over travel (curve_figure.hpp).
void draw_curves(const std::vector<CurveTable>& curves, const std::string& title, bool bar,
                 const std::string& path);

// Force of a damper over speed, compression to the right and rebound to the left, low speed beside
// all speeds: one damper as set and with each adjuster closed and open, or several, where they are
// more than there are colours in shades by their compression at the fastest speed.
Figure damper_figure(const std::vector<DamperCurves>& dampers, const std::string& title);
void draw_dampers(const std::vector<DamperCurves>& dampers, const std::string& title,
                  const std::string& path);

}  // namespace plunge
