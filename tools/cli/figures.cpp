#include "tools/cli/figures.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <string_view>
#include <utility>

#include "models/setup/fault.hpp"
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
    panel.series.push_back({rides[i]->label,
                            said(*rides[i], distance),
                            said(*rides[i], row),
                            Mark::line,
                            {static_cast<int>(i)}});
  }
  return panel;
}

constexpr const char* kDrawn[] = {"distance",     "travel",     "fork_force",
                                  "ground_force", "hand_force", "path_height"};
constexpr std::size_t kStretches = 2000;   // of a long ride
constexpr std::size_t kLongRide = 20'000;  // samples up to which all are drawn

const std::vector<double>& values_of(const std::vector<Channel>& channels, const char* name) {
  return std::ranges::find(channels, name, &Channel::name)->values;
}

// The places in a stretch where a drawn trace is largest or least, rising.
std::vector<std::size_t> extremes(const std::vector<Channel>& block, std::size_t first,
                                  std::size_t end) {
  std::vector<std::size_t> places;
  for (const char* name : kDrawn) {
    const std::vector<double>& values = values_of(block, name);
    const auto at = [&](std::size_t k) { return values.begin() + static_cast<std::ptrdiff_t>(k); };
    const auto [least, largest] = std::minmax_element(at(first), at(end));
    places.push_back(static_cast<std::size_t>(least - values.begin()));
    places.push_back(static_cast<std::size_t>(largest - values.begin()));
  }
  std::ranges::sort(places);
  places.erase(std::unique(places.begin(), places.end()), places.end());
  return places;
}

constexpr double kSlow = 0.5;        // [m/s] to which the panel of low speed goes, chosen
constexpr double kTimesAsSet = 3.0;  // force past which other clicks are not drawn, chosen

// A damper's force each way over the speeds of its directions; empty: not drawn.
struct BothWays {
  std::string label;
  std::vector<double> compression;
  std::vector<double> rebound;
  Mark mark = Mark::line;
  int colour = 0;
};

// One line through rest, rebound left of compression, as far as `fastest` and `largest` go.
Series through_rest(const BothWays& forces, const std::vector<double>& speed, double fastest,
                    double largest) {
  Series series{forces.label, {}, {}, forces.mark, {forces.colour}};
  const auto add = [&](double v, double force) {
    if (std::abs(v) > fastest || std::abs(force) > largest) return;
    series.x.push_back(v);
    series.y.push_back(force);
  };
  for (std::size_t k = forces.rebound.size(); k-- > 1;) add(-speed[k], -forces.rebound[k]);
  add(0.0, 0.0);
  for (std::size_t k = 1; k < forces.compression.size(); ++k) add(speed[k], forces.compression[k]);
  return series;
}

// What each adjuster of a damper does from end to end: a line for it closed, one for it open.
std::vector<BothWays> ends_of_adjusters(const DamperCurves& damper) {
  std::vector<BothWays> lines;
  int colour = 0;
  for (const Adjusts adjusts : {Adjusts::both, Adjusts::low_speed, Adjusts::high_speed}) {
    ++colour;
    for (const bool open : {false, true}) {
      const std::string_view speed = speed_of(adjusts);
      BothWays line{
          fmt::format("{}{}{}", speed, speed.empty() ? "" : " ", open ? "open" : "closed"),
          {},
          {},
          open ? Mark::dashed : Mark::line,
          colour};
      for (const DirectionCurve& curve : damper.directions) {
        for (const ClickReadings& readings : curve.adjusters) {
          if (readings.adjuster.adjusts != adjusts) continue;
          const ClickReading& end = open ? readings.clicks.back() : readings.clicks.front();
          (curve.name == "compression" ? line.compression : line.rebound) = end.force;
        }
      }
      if (!(line.compression.empty() && line.rebound.empty())) lines.push_back(std::move(line));
    }
  }
  return lines;
}

}  // namespace

void demand_drawable(std::size_t rides) {
  if (rides <= kMostDrawn) return;
  throw InputError(Fault{"--plot",
                         fmt::format("{} rides", rides),
                         fmt::format("must be at most {} in one picture", kMostDrawn),
                         {}});
}

PlotTraces::PlotTraces(const ReadyRides& all) {
  demand_drawable(all.rides.size());
  for (const ReadyRide& ride : all.rides) {
    Result drawn;
    drawn.label = ride.label;
    drawn.setup.fork.travel = ride.setup.fork.travel;
    for (const char* name : kDrawn) drawn.channels.push_back({name, "", "", {}});
    rides_.push_back(std::move(drawn));
    const std::size_t samples = most_samples(ride.setup);
    stretch_.push_back(samples > kLongRide ? samples / kStretches : 1);
  }
}

void PlotTraces::take(std::size_t ride, const std::vector<Channel>& block) {
  Result& drawn = rides_.at(ride);
  const std::size_t count = block.front().values.size();
  for (std::size_t first = 0; first < count; first += stretch_[ride]) {
    for (const std::size_t k : extremes(block, first, std::min(first + stretch_[ride], count))) {
      for (Channel& channel : drawn.channels) {
        channel.values.push_back(values_of(block, channel.name.c_str())[k]);
      }
      drawn.time.push_back(0.0);
    }
  }
}

std::vector<const Result*> PlotTraces::rides() const {
  std::vector<const Result*> rides;
  for (const Result& ride : rides_) rides.push_back(&ride);
  return rides;
}

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
    ground.series.front().paint = {};
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
    const Paint colour{static_cast<int>(i)};
    panel.series.push_back({curves[i].label + ", slow", said(curves[i].travel, travel.said),
                            curves[i].slow, Mark::line, colour});
    panel.series.push_back({curves[i].label + ", fast", said(curves[i].travel, travel.said),
                            curves[i].fast, Mark::dashed, colour});
  }
  figure.panels.push_back(panel);
  draw(figure, path);
}

void draw_dampers(const std::vector<DamperCurves>& dampers, const std::string& title,
                  const std::string& path) {
  std::vector<BothWays> lines;
  const bool alone = dampers.size() == 1;
  if (alone) lines = ends_of_adjusters(dampers.front());
  for (std::size_t i = 0; i < dampers.size(); ++i) {
    const auto& [compression, rebound] = dampers[i].directions;
    lines.push_back({alone ? "as set" : dampers[i].label,
                     compression.force,
                     rebound.force,
                     Mark::line,
                     {static_cast<int>(i)}});
  }
  const std::vector<double>& speed = dampers.front().directions[0].speed;
  Figure figure;
  figure.title = title;
  for (const double fastest : {kSlow, speed.back()}) {
    double largest = HUGE_VAL;
    if (alone) {
      largest = 0.0;
      for (const double force : through_rest(lines.back(), speed, fastest, HUGE_VAL).y) {
        largest = std::max(largest, kTimesAsSet * std::abs(force));
      }
    }
    Panel panel;
    panel.title = fastest == kSlow ? "low speed" : "all speeds";
    panel.beside = fastest != kSlow;
    panel.x_label = "speed, compression above 0 [m/s]";
    panel.y_label = "force of the damper [N]";
    for (const BothWays& line : lines) {
      panel.series.push_back(through_rest(line, speed, fastest, largest));
    }
    figure.panels.push_back(std::move(panel));
  }
  draw(figure, path);
}

}  // namespace plunge
