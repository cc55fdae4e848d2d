#include "tools/cli/figures.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <string_view>
#include <utility>

#include "sim/report/plot.hpp"
#include "tools/cli/curve_figure.hpp"
#include "tools/cli/paints.hpp"

namespace plunge {
namespace {

constexpr double kSlow = 0.5;        // [m/s] to which the panel of low speed goes, chosen
constexpr double kTimesAsSet = 3.0;  // force past which other clicks are not drawn, chosen

// A damper's force each way over the speeds of its directions; empty: not drawn.
struct BothWays {
  std::string label;
  std::vector<double> compression;
  std::vector<double> rebound;
  Mark mark = Mark::line;
  Paint paint = {};
};

// One line through rest, rebound left of compression, as far as `fastest` and `largest` go.
Series through_rest(const BothWays& forces, const std::vector<double>& speed, double fastest,
                    double largest) {
  Series series{forces.label, {}, {}, forces.mark, forces.paint};
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
          {colour}};
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

// Several dampers as they are set.
struct SetDampers {
  std::vector<BothWays> lines;
  bool by_force = false;  // shaded by their compression at the fastest speed
};

SetDampers as_set(const std::vector<DamperCurves>& dampers) {
  std::vector<std::vector<NamedValue>> variants;
  std::vector<double> hardest;
  for (const DamperCurves& damper : dampers) {
    variants.push_back(damper.set);
    hardest.push_back(damper.directions[0].force.back());
  }
  std::vector<Paint> paints = paints_of(variants);
  SetDampers set;
  set.by_force = look_alike(paints);
  if (set.by_force) paints = shades_by(hardest);
  for (std::size_t i = 0; i < dampers.size(); ++i) {
    const auto& [compression, rebound] = dampers[i].directions;
    set.lines.push_back(
        {dampers[i].label, compression.force, rebound.force, Mark::line, paints[i]});
  }
  return set;
}

}  // namespace

void draw_rides(const std::vector<DrawnRide>& rides, const RideFigureWords& words,
                const std::string& path) {
  draw(ride_figure(rides, words), path);
}

void draw_curves(const std::vector<CurveTable>& curves, const std::string& title, bool bar,
                 const std::string& path) {
  draw(curve_figure(curves, title, bar), path);
}

Figure damper_figure(const std::vector<DamperCurves>& dampers, const std::string& title) {
  SetDampers set = as_set(dampers);
  const bool alone = dampers.size() == 1;
  std::vector<BothWays> lines;
  if (alone) {
    lines = ends_of_adjusters(dampers.front());
    set.lines.front().label = "as set";
  }
  std::ranges::move(set.lines, std::back_inserter(lines));
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
    if (fastest != kSlow && set.by_force) panel.title += "; the darker, the more compression force";
    panel.beside = fastest != kSlow;
    panel.x_label = "speed, compression above 0 [m/s]";
    panel.y_label = "force of the damper [N]";
    for (const BothWays& line : lines) {
      panel.series.push_back(through_rest(line, speed, fastest, largest));
    }
    figure.panels.push_back(std::move(panel));
  }
  return figure;
}

void draw_dampers(const std::vector<DamperCurves>& dampers, const std::string& title,
                  const std::string& path) {
  draw(damper_figure(dampers, title), path);
}

}  // namespace plunge
