#include "tools/cli/curve_figure.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include "models/setup/parameters.hpp"
#include "sim/measure/channels.hpp"
#include "sim/measure/metrics.hpp"
#include "sim/ride/ready.hpp"
#include "tools/cli/paints.hpp"
#include "tools/cli/table.hpp"

namespace plunge {
namespace {

constexpr double kSameLoad = 0.5;      // loads that print alike [N]
constexpr double kNearLoads = 0.1;     // of a load, that many share a line: chosen
constexpr double kSameTravel = 1e-6;   // [m]
constexpr std::size_t kMostLoads = 3;  // that are drawn as lines: chosen

// ---- the strip ----

StripColumn metric_column(const std::vector<CurveTable>& curves, const Label& label, bool bars) {
  StripColumn column{label.label, unit_of(label.said), {}};
  for (const CurveTable& curve : curves) {
    const double value = metric(curve.metrics, label.name);
    column.texts.push_back(in_said(value, label));
    if (bars) column.values.push_back(in_common_unit(value, label.said));
  }
  return column;
}

StripColumn setting_column(const std::vector<CurveTable>& curves, const char* name,
                           const char* label, const char* said, int decimals) {
  StripColumn column{label, said, {}};
  for (const CurveTable& curve : curves) {
    column.texts.push_back(in_unit(setting(curve, name), said, decimals));
  }
  return column;
}

StripColumn end_column(const std::vector<CurveTable>& curves, bool fast) {
  StripColumn column{"at full travel", fast ? "N fast" : "N slow", {}};
  for (const CurveTable& curve : curves) {
    column.values.push_back(fast ? curve.fast.back() : curve.slow.back());
    column.texts.push_back(in_unit(column.values.back(), "N", 0));
  }
  return column;
}

StripColumn load_column(const std::vector<CurveTable>& curves) {
  StripColumn column{"load at rest", "N", {}};
  for (const CurveTable& curve : curves) column.texts.push_back(in_unit(curve.load, "N", 0));
  return column;
}

// What is varied, but for what comes first in the labels, and what has a column of its own.
std::vector<StripColumn> varied_columns(const std::vector<CurveTable>& curves) {
  std::vector<StripColumn> columns;
  std::set<std::string> told = {"fork.pressure", "hold.sag"};
  for (const CurveTable& curve : curves) {
    for (const NamedValue& number : curve.set) {
      const bool leads = &number == &curve.set.front();
      if (leads || !told.insert(number.name).second) continue;
      StripColumn column{label_words(number.name), "", {}};
      for (const CurveTable& any : curves) {
        const auto found = std::ranges::find(any.set, number.name, &NamedValue::name);
        column.texts.push_back(
            found == any.set.end() ? "-" : say(found->value, find_parameter(number.name)->said));
      }
      columns.push_back(std::move(column));
    }
  }
  return columns;
}

bool is_varied(const std::vector<CurveTable>& curves, std::string_view name) {
  return std::ranges::any_of(curves, [&](const CurveTable& curve) {
    return std::ranges::count(curve.set, name, &NamedValue::name) > 0;
  });
}

// The loads of the riders that differ, rising.
std::vector<double> loads_of(const std::vector<CurveTable>& curves) {
  std::set<double> all;
  for (const CurveTable& curve : curves) {
    if (std::isfinite(curve.load)) all.insert(curve.load);
  }
  std::vector<double> loads;
  for (const double load : all) {
    if (loads.empty() || load - loads.back() > kSameLoad) loads.push_back(load);
  }
  return loads;
}

Panel strip_of(const std::vector<CurveTable>& curves, const std::vector<Paint>& paints, bool bar) {
  Panel panel;
  Strip& strip = panel.strip;
  strip.paints = paints;
  for (const CurveTable& curve : curves) strip.rows.push_back(curve.label);
  // A column that says something of one of them.
  const auto add = [&](StripColumn column) {
    if (std::ranges::all_of(column.texts, [](const std::string& text) { return text == "-"; })) {
      return;
    }
    strip.columns.push_back(std::move(column));
  };
  // Their labels say it where it is varied.
  if (!is_varied(curves, "fork.spacers")) {
    add(setting_column(curves, "fork.spacers", "spacers", "", 0));
  }
  for (StripColumn& column : varied_columns(curves)) add(std::move(column));
  add(metric_column(curves, in_bar(*find_metric("pressure"), bar), false));
  add(setting_column(curves, "fork.coil.rate", "coil rate", "N/mm", 2));
  add(setting_column(curves, "fork.coil.preload", "preload", "N", 0));
  if (loads_of(curves).size() > 1) add(load_column(curves));
  add(metric_column(curves, *find_metric("sag"), false));
  add(metric_column(curves, *find_metric("breakaway_force"), true));
  add(end_column(curves, false));
  add(end_column(curves, true));
  return panel;
}

// ---- curves ----

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

double slow_at(const CurveTable& curve, double travel) {
  const std::vector<double>& x = curve.travel;
  const auto above = std::ranges::lower_bound(x, travel);
  const auto k = static_cast<std::size_t>(
      std::clamp<std::ptrdiff_t>(above - x.begin(), 1, static_cast<std::ptrdiff_t>(x.size()) - 1));
  const double share = (travel - x[k - 1]) / (x[k] - x[k - 1]);
  return curve.slow[k - 1] + share * (curve.slow[k] - curve.slow[k - 1]);
}

// A line for each load, one for all where no eye would part them, none where they are many; the
// highest line says from where to where.
void mark_loads(const std::vector<double>& loads, Panel& panel) {
  if (loads.empty()) return;
  const double low = loads.front();
  const double high = loads.back();
  const bool near = high - low < kNearLoads * high;
  if (!near && loads.size() > kMostLoads) return;
  for (const double load : near ? std::vector<double>{0.5 * (low + high)} : loads) {
    panel.references.push_back({"", load});
  }
  const std::string from = loads.size() > 1 ? fmt::format("{:.0f} to ", low) : "";
  panel.references.back().label = fmt::format("the rider's load at rest, {}{:.0f} N", from, high);
}

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
    panel.spots.push_back({in_common_unit(sag, row.said), slow_at(curves[i], sag), "", paints[i]});
  }
  if (panel.spots.empty()) return;
  const std::string from = in_said(least, row);
  const std::string to = in_said(most, row);
  panel.spots.back().label =
      fmt::format("sag {}{} {}", from == to ? "" : from + " to ", to, unit_of(row.said));
}

bool share_travel(const std::vector<CurveTable>& curves) {
  return std::ranges::all_of(curves, [&](const CurveTable& curve) {
    return std::abs(curve.travel.back() - curves[0].travel.back()) < kSameTravel;
  });
}

void mark_thirds(double full, Panel& panel) {
  const double third = full / 3.0;
  panel.zones = {{0.0, third, "start", false},
                 {third, 2.0 * third, "middle", true},
                 {2.0 * third, full, "end", false}};
}

// Where the middle and the end of each begin, and the end of its travel.
void dot_thirds(const std::vector<CurveTable>& curves, const std::vector<Paint>& paints,
                Panel& panel) {
  const ChannelRow& travel = *find_channel("travel");
  for (std::size_t i = 0; i < curves.size(); ++i) {
    Series dots{"", {}, {}, Mark::points, paints[i]};
    for (const double share : {1.0 / 3.0, 2.0 / 3.0, 1.0}) {
      const double x = share * curves[i].travel.back();
      dots.x.push_back(in_common_unit(x, travel.said));
      dots.y.push_back(slow_at(curves[i], x));
    }
    panel.series.push_back(std::move(dots));
  }
}

// Slow and fast of each, into the panel of its force and that of its stiffness.
void add_curves(const std::vector<CurveTable>& curves, const std::vector<Paint>& paints,
                Panel& force, Panel& stiffness) {
  constexpr double kPerMillimetre = 1e-3;
  const std::string& said = find_channel("travel")->said;
  const bool alone = curves.size() == 1;
  for (std::size_t i = 0; i < curves.size(); ++i) {
    const CurveTable& curve = curves[i];
    for (const bool fast : {false, true}) {
      const std::vector<double>& y = fast ? curve.fast : curve.slow;
      auto [between, slope] = slopes(curve.travel, y);
      for (double& value : slope) value *= kPerMillimetre;
      const Mark mark = fast ? Mark::dashed : Mark::line;
      const std::string name = alone ? (fast ? "fast" : "slow") : (fast ? "" : curve.label);
      force.series.push_back({name, in_common_unit(curve.travel, said), y, mark, paints[i]});
      stiffness.series.push_back(
          {"", in_common_unit(std::move(between), said), std::move(slope), mark, paints[i]});
    }
  }
}

// By what is set in each, fork by fork: the first fork that has an order has the ramp, what is left
// a colour each, not that of the ramp.
std::vector<Paint> paints_by_fork(const std::vector<CurveTable>& curves) {
  std::vector<Paint> paints(curves.size());
  std::vector<std::size_t> coloured;
  bool has_ramp = false;
  for (std::size_t first = 0; first < curves.size();) {
    std::vector<std::vector<NamedValue>> variants;
    std::size_t end = first;
    while (end < curves.size() && curves[end].fork == curves[first].fork) {
      variants.push_back(curves[end++].set);
    }
    const std::vector<Paint> own = paints_of(variants);
    const bool takes_ramp = !has_ramp && std::isfinite(own.front().shade);
    for (std::size_t i = first; i < end; ++i) {
      if (takes_ramp) {
        paints[i] = own[i - first];
      } else {
        coloured.push_back(i);
      }
    }
    has_ramp = has_ramp || takes_ramp;
    first = end;
  }
  int colour = has_ramp ? 1 : 0;
  for (const std::size_t i : coloured) paints[i] = {colour++};
  return paints;
}

}  // namespace

Figure curve_figure(const std::vector<CurveTable>& curves, const std::string& title, bool bar) {
  const std::vector<Paint> paints = paints_by_fork(curves);
  const ChannelRow& travel = *find_channel("travel");
  const bool same_travel = share_travel(curves);
  const char* const which = curves.size() == 1 ? "" : "; slow, and dashed: fast";
  Panel force;
  force.title = "spring force along the legs, bumper and friction left out";
  force.height = 1.9;
  force.x_label = with_unit(travel.label, travel.said);
  force.y_label = fmt::format("force [N]{}{}", which, same_travel ? "" : "; dots: thirds");
  Panel stiffness;
  stiffness.height = 1.2;
  stiffness.x_label = force.x_label;
  stiffness.y_label = fmt::format("stiffness [N/mm]{}", which);
  add_curves(curves, paints, force, stiffness);
  mark_loads(loads_of(curves), force);
  mark_sag(curves, paints, force);
  if (same_travel) {
    for (Panel* panel : {&force, &stiffness}) {
      mark_thirds(in_common_unit(curves[0].travel.back(), travel.said), *panel);
    }
  } else {
    dot_thirds(curves, paints, force);
  }
  return {title, {strip_of(curves, paints, bar), std::move(force), std::move(stiffness)}};
}

}  // namespace plunge
