#include "tools/cli/figures.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <string_view>
#include <utility>

#include "models/setup/fault.hpp"
#include "models/setup/parameters.hpp"
#include "sim/measure/channels.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/report/plot.hpp"
#include "tools/cli/paints.hpp"
#include "tools/cli/table.hpp"

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

// The slope of a curve between its places, and where.
std::pair<std::vector<double>, std::vector<double>> slopes(const std::vector<double>& x,
                                                           const std::vector<double>& y) {
  std::pair<std::vector<double>, std::vector<double>> slope;
  for (std::size_t k = 1; k < x.size(); ++k) {
    slope.first.push_back(0.5 * (x[k - 1] + x[k]));
    slope.second.push_back((y[k] - y[k - 1]) / (x[k] - x[k - 1]));
  }
  return slope;
}

double value_at(const CurveTable& curve, double travel) {
  const std::vector<double>& x = curve.travel;
  const auto above = std::ranges::lower_bound(x, travel);
  const auto k = static_cast<std::size_t>(
      std::clamp<std::ptrdiff_t>(above - x.begin(), 1, static_cast<std::ptrdiff_t>(x.size()) - 1));
  const double share = (travel - x[k - 1]) / (x[k] - x[k - 1]);
  return curve.slow[k - 1] + share * (curve.slow[k] - curve.slow[k - 1]);
}

// Where the rider's load lies on each curve; the load is the same on all.
void mark_sag(const std::vector<CurveTable>& curves, const std::vector<Paint>& paints,
              Panel& panel) {
  const Label& row = *find_metric("sag");
  double least = HUGE_VAL;
  double most = -HUGE_VAL;
  for (std::size_t i = 0; i < curves.size(); ++i) {
    const double sag = metric(curves[i].metrics, "sag");
    if (!std::isfinite(sag)) continue;
    least = std::min(least, sag);
    most = std::max(most, sag);
    panel.spots.push_back({in_common_unit(sag, row.said), value_at(curves[i], sag), "", paints[i]});
  }
  if (panel.spots.empty()) return;
  const double load = panel.spots[0].y;
  panel.references.push_back({fmt::format("the rider's load at rest, {:.0f} N", load), load});
  const std::string from = in_said(least, row);
  const std::string to = in_said(most, row);
  panel.spots.back().label =
      fmt::format("sag {}{} {}", from == to ? "" : from + " to ", to, unit_of(row.said));
}

void mark_thirds(double full, Panel& panel) {
  const double third = full / 3.0;
  panel.zones = {{0.0, third, "start", false},
                 {third, 2.0 * third, "middle", true},
                 {2.0 * third, full, "end", false}};
}

Figure curve_figure(const std::vector<CurveTable>& curves, const std::string& title) {
  std::vector<std::vector<NamedValue>> variants;
  for (const CurveTable& curve : curves) variants.push_back(curve.set);
  const std::vector<Paint> paints = paints_of(variants);
  const ChannelRow& travel = *find_channel("travel");
  const bool alone = curves.size() == 1;
  const char* const which = alone ? "" : "; slow, and dashed: fast";
  Panel force;
  force.title = "spring force along the legs, bumper and friction left out";
  force.height = 1.9;
  force.x_label = with_unit(travel.label, travel.said);
  force.y_label = fmt::format("force [N]{}", which);
  Panel stiffness;
  stiffness.height = 1.2;
  stiffness.x_label = force.x_label;
  stiffness.y_label = fmt::format("stiffness [N/mm]{}", which);
  constexpr double kPerMillimetre = 1e-3;
  for (std::size_t i = 0; i < curves.size(); ++i) {
    const CurveTable& curve = curves[i];
    const std::vector<double> x = in_common_unit(curve.travel, travel.said);
    for (const bool fast : {false, true}) {
      const std::vector<double>& y = fast ? curve.fast : curve.slow;
      auto [between, slope] = slopes(curve.travel, y);
      for (double& value : slope) value *= kPerMillimetre;
      const Mark mark = fast ? Mark::dashed : Mark::line;
      const std::string name = alone ? (fast ? "fast" : "slow") : (fast ? "" : curve.label);
      force.series.push_back({name, x, y, mark, paints[i]});
      stiffness.series.push_back(
          {"", in_common_unit(std::move(between), travel.said), std::move(slope), mark, paints[i]});
    }
  }
  mark_sag(curves, paints, force);
  for (Panel* panel : {&force, &stiffness}) {
    mark_thirds(in_common_unit(curves[0].travel.back(), travel.said), *panel);
  }
  return {title, {std::move(force), std::move(stiffness)}};
}

}  // namespace

void draw_rides(const std::vector<DrawnRide>& rides, const RideFigureWords& words,
                const std::string& path) {
  draw(ride_figure(rides, words), path);
}

void draw_curves(const std::vector<CurveTable>& curves, const std::string& title,
                 const std::string& path) {
  draw(curve_figure(curves, title), path);
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
