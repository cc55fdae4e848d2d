#include "tools/cli/figures.hpp"

#include <cmath>
#include <string_view>

#include "sim/measure/metrics.hpp"
#include "sim/report/plot.hpp"

namespace plunge {
namespace {

constexpr double kMillimetres = 1e3;
constexpr double kKilonewtons = 1e-3;

std::vector<double> scaled(const std::vector<double>& values, double factor) {
  std::vector<double> out(values);
  for (double& value : out) value *= factor;
  return out;
}

// A panel of one channel over distance, one line a ride.
Panel over_distance(const std::vector<const Result*>& rides, const char* name, const char* y_label,
                    double factor) {
  Panel panel;
  panel.x_label = "distance [m]";
  panel.y_label = y_label;
  for (std::size_t i = 0; i < rides.size(); ++i) {
    panel.series.push_back({rides[i]->label, channel(*rides[i], "distance"),
                            scaled(channel(*rides[i], name), factor), Mark::line,
                            static_cast<int>(i)});
  }
  return panel;
}

}  // namespace

void draw_rides(const std::vector<const Result*>& rides, const std::string& title,
                const std::string& path) {
  std::vector<const Result*> drawn;
  for (const Result* ride : rides) {
    if (!ride->time.empty()) drawn.push_back(ride);
  }
  Figure figure;
  figure.title = title;
  Panel travel = over_distance(drawn, "travel", "travel [mm]", kMillimetres);
  if (!drawn.empty()) {
    const double full = drawn.front()->setup.fork.travel;
    bool same = std::isfinite(full);
    for (const Result* ride : drawn) same = same && ride->setup.fork.travel == full;
    if (same) travel.references.push_back({"full travel", full * kMillimetres, false});
  }
  figure.panels.push_back(travel);
  figure.panels.push_back(over_distance(drawn, "fork_force", "fork force [kN]", kKilonewtons));
  figure.panels.push_back(over_distance(drawn, "axle_force", "axle force [kN]", kKilonewtons));
  figure.panels.push_back(over_distance(drawn, "hand_force", "hand force [kN]", kKilonewtons));
  if (!drawn.empty()) {
    Panel ground;
    ground.x_label = "distance [m]";
    ground.y_label = "wheel path [m]";
    ground.series.push_back({"", channel(*drawn.front(), "distance"),
                             channel(*drawn.front(), "path_height"), Mark::line, -1});
    figure.panels.push_back(ground);
  }
  draw(figure, path);
}

void draw_curves(const std::vector<CurveTable>& curves, const std::string& title,
                 const std::string& path) {
  Figure figure;
  figure.title = title;
  Panel panel;
  panel.x_label = "travel [mm]";
  panel.y_label = "force along the legs [N]";
  for (std::size_t i = 0; i < curves.size(); ++i) {
    const int colour = static_cast<int>(i);
    panel.series.push_back({curves[i].label + ", slow", scaled(curves[i].travel, kMillimetres),
                            curves[i].slow, Mark::line, colour});
    panel.series.push_back({curves[i].label + ", fast", scaled(curves[i].travel, kMillimetres),
                            curves[i].fast, Mark::dashed, colour});
  }
  figure.panels.push_back(panel);
  draw(figure, path);
}

}  // namespace plunge
