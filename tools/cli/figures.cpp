#include "tools/cli/figures.hpp"

#include <cmath>
#include <string_view>

#include "models/setup/parameters.hpp"
#include "sim/measure/channels.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/report/plot.hpp"
#include "tools/cli/table.hpp"

namespace plunge {
namespace {

// Values in the unit in which people say them.
std::vector<double> said(const std::vector<double>& values, const std::string& unit) {
  const CommonUnit& common = *find_common_unit(unit);
  std::vector<double> out(values);
  for (double& value : out) value = common.from_si(value);
  return out;
}
std::vector<double> said(const Result& ride, const ChannelRow& row) {
  return said(channel(ride, row.name), row.said);
}

std::string axis_of(const ChannelRow& row) { return with_unit(row.label, row.said); }

// A panel of one channel over distance, one line a ride.
Panel over_distance(const std::vector<const Result*>& rides, const char* name) {
  const ChannelRow& distance = *find_channel("distance");
  const ChannelRow& row = *find_channel(name);
  Panel panel;
  panel.x_label = axis_of(distance);
  panel.y_label = axis_of(row);
  for (std::size_t i = 0; i < rides.size(); ++i) {
    panel.series.push_back({rides[i]->label, said(*rides[i], distance), said(*rides[i], row),
                            Mark::line, static_cast<int>(i)});
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
  Panel travel = over_distance(drawn, "travel");
  if (!drawn.empty()) {
    const double full = drawn.front()->setup.fork.travel;
    bool same = std::isfinite(full);
    for (const Result* ride : drawn) same = same && ride->setup.fork.travel == full;
    if (same)
      travel.references.push_back(
          {"full travel", said({full}, find_channel("travel")->said).front(), false});
  }
  figure.panels.push_back(travel);
  figure.panels.push_back(over_distance(drawn, "fork_force"));
  figure.panels.push_back(over_distance(drawn, "ground_force"));
  figure.panels.push_back(over_distance(drawn, "hand_force"));
  if (!drawn.empty()) {
    Panel ground = over_distance({drawn.front()}, "path_height");
    ground.series.front().label.clear();
    ground.series.front().colour = -1;
    figure.panels.push_back(ground);
  }
  draw(figure, path);
}

void draw_curves(const std::vector<CurveTable>& curves, const std::string& title,
                 const std::string& path) {
  Figure figure;
  figure.title = title;
  Panel panel;
  const ChannelRow& travel = *find_channel("travel");
  panel.x_label = axis_of(travel);
  panel.y_label = "force along the legs [N]";
  for (std::size_t i = 0; i < curves.size(); ++i) {
    const int colour = static_cast<int>(i);
    panel.series.push_back({curves[i].label + ", slow", said(curves[i].travel, travel.said),
                            curves[i].slow, Mark::line, colour});
    panel.series.push_back({curves[i].label + ", fast", said(curves[i].travel, travel.said),
                            curves[i].fast, Mark::dashed, colour});
  }
  figure.panels.push_back(panel);
  draw(figure, path);
}

}  // namespace plunge
